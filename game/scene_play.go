package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
)

// playScene is one exercise: what is asked is shown on a card, the sound starts,
// the learner sets and locks.
type playScene struct {
	base
	to      playGuide
	session *session
	prefs   *keeper
	sound   *player
	p       *play
	view    panel
	hand    grip
	meters  meters

	stage       stage
	autoStartAt time.Time // when the card starts the sound unasked; zero if it waits
	paused      bool
	monitor     bool // the arrow keys move the monitor control
	fine        bool // steps are small without shift, for those who have no keys
	covered     bool // the needle, by now
	programme   bool // the programme meter stands in the needle's place
}

// stage is how far an exercise has come.
type stage int

const (
	onCard  stage = iota // the sound has not started
	playing              // it has
	locked               // the take is on its way to the disk
)

// playGuide is where an exercise leads to.
type playGuide interface {
	guide
	Next(a *assignment) // what follows an assignment
	Judged(r *result)
}

// result is how an exercise ended.
type result struct {
	a       *assignment
	take    drills.Take
	verdict drills.Verdict
	past    history
}

// meters are what is shown of the sound: as it is heard now, and since the start.
type meters struct {
	started time.Time // of the lamp's clock
	lamp    lampGate
	past    history
	snap    desk.Snapshot
	at      int64 // the position that is heard
}

// grip is how the hands hold a control.
type grip struct {
	dragging bool
	offset   float64 // where on the knob the drag took hold, in units
	stick    float64 // what the stick has not yet moved, dB
}

// cardTime is how long a card that starts the sound unasked is shown: long
// enough to ask for the demonstration.
const cardTime = 4 * time.Second

// atRest is what the meters show before anything is heard.
func atRest() desk.Snapshot {
	none := [2]float64{math.Inf(-1), math.Inf(-1)}
	return desk.Snapshot{NeedleDBFS: none, PeakDBFS: none, PPMDBFS: none}
}

// newPlayScene makes the screen of an assignment. The first of a drill waits for
// a key, so that what is asked can be read.
func newPlayScene(b base, to playGuide, s *session, sound *player, a *assignment) (*playScene, error) {
	p, err := newPlay(a, s.prefs.settings)
	if err != nil {
		return nil, err
	}
	scene := &playScene{base: b, to: to, session: s, prefs: s.prefs, sound: sound, p: p, covered: a.View.NeedleCovered}
	scene.meters.snap = atRest()
	scene.meters.lamp.reduced = s.prefs.LessFlash
	if a.again {
		scene.autoStartAt = time.Now().Add(cardTime)
	}
	return scene, nil
}

func (s *playScene) Name() string { return "round" }

// LargeText reports whether a class looks on.
func (s *playScene) LargeText() bool { return s.p.a.classroom }

// begin starts the sound.
func (s *playScene) begin() {
	if s.stage != onCard {
		return
	}
	s.stage = playing
	s.redraw()
	s.meters.started = time.Now()
	s.p.begin()
	s.sound.play(s.p.desk)
	a := s.p.a
	s.note("begin", map[string]any{"drill": a.Drill.ID, "family": a.Family, "level": a.Level, "aim": a.Strips[0].AimDB})
}

// Suspend lets the sound wait.
func (s *playScene) Suspend() {
	if s.stage == playing {
		s.sound.Pause(true)
	}
}

// Resume lets the sound go on, or shows the card once more.
func (s *playScene) Resume() {
	switch {
	case s.stage == playing:
		s.sound.Pause(s.paused)
	case !s.autoStartAt.IsZero():
		s.autoStartAt = time.Now().Add(cardTime)
	}
}

func (s *playScene) Leave() {
	if s.stage == playing {
		s.sound.Stop()
	}
}

// set moves a control.
func (s *playScene) set(i int, v float64) {
	if s.p.set(i, v) {
		s.note("fader", map[string]any{"db": s.p.value(i), "slider": i})
	}
}

// small reports whether steps are small.
func (s *playScene) small() bool { return s.fine || shiftHeld() }

// nudge moves the chosen control, or the monitor control, by a step.
func (s *playScene) nudge(by float64) {
	i := s.p.chosen
	switch {
	case s.monitor:
		s.setMonitor(s.prefs.MonitorDB + by)
	case i >= len(s.p.controls):
	case s.p.controls[i].Fixed:
		s.tellFor(noticeTime/3, s.Say("round.stays", s.p.controls[i].Label))
	default:
		s.set(i, s.p.value(i)+by)
	}
}

func (s *playScene) setMonitor(db float64) {
	s.prefs.change(func(p *settings) { p.MonitorDB = clampMonitor(db) })
	s.p.desk.SetMonitor(s.prefs.MonitorDB)
}

// choose goes to another control or answer.
func (s *playScene) choose(i int) {
	s.p.choose(i)
	s.redraw()
	if s.p.choice >= 0 {
		s.note("choice", map[string]any{"choice": s.p.choice})
	}
}

func (s *playScene) pause() {
	s.paused = !s.paused
	s.sound.Pause(s.paused)
}

func (s *playScene) Update(in *state) {
	switch s.stage {
	case onCard:
		if !s.autoStartAt.IsZero() && time.Now().After(s.autoStartAt) {
			s.begin()
		}
		return
	case locked:
		return
	}
	m := &s.meters
	m.at = s.sound.Heard() - int64(s.p.desk.Latency())
	if snap, ok := s.p.desk.At(m.at); ok {
		m.snap = snap
	}
	m.past.take(s.p.desk)
	if n := s.p.a.View.NeedleSeconds; n > 0 && !s.covered && float64(m.at) >= n*audio.Rate {
		s.covered = true
		s.redraw()
	}
	if s.p.demo != nil {
		over := s.p.demo.over
		if s.p.showStep(m.at) {
			s.redraw()
		}
		if s.p.demo.over && !over {
			s.note("shown", map[string]any{"drill": s.p.a.Drill.ID})
		}
		return
	}
	s.move(in)
	if s.p.late(m.at) {
		s.lock()
	}
}

// move moves the controls with the mouse, a finger, the wheel and the stick.
func (s *playScene) move(in *state) {
	h := &s.hand
	if in.pressed {
		for i := range s.view.sliders {
			sl := &s.view.sliders[i]
			if !sl.track().Has(in.x, in.y) {
				continue
			}
			if i != s.p.chosen {
				s.choose(i)
			}
			h.dragging, h.offset = !s.p.controls[i].Fixed, 0
			if k := sl.knob(s.p.value(i)); k.Has(in.x, in.y) {
				h.offset = in.y - sl.y(s.p.value(i))
			}
		}
	}
	if h.dragging && in.down && s.p.chosen < len(s.view.sliders) {
		s.set(s.p.chosen, s.view.sliders[s.p.chosen].value(in.y-h.offset))
	}
	h.dragging = h.dragging && in.down
	if in.wheel != 0 {
		step := 0.5
		if s.small() {
			step = 0.1
		}
		s.nudge(math.Copysign(step, in.wheel))
	}
	if in.pad.up != 0 {
		h.stick += in.pad.up * 24 / float64(ebiten.TPS()) // full push: 24 dB a second
		if whole := math.Trunc(h.stick*10) / 10; whole != 0 {
			h.stick -= whole
			s.nudge(whole)
		}
	}
}

// lock ends the exercise.
func (s *playScene) lock() {
	if s.stage != playing {
		return
	}
	t := s.p.take()
	if key := s.p.missing(t, s.meters.at); key != "" {
		s.tell(s.Say(key))
		return
	}
	v, err := s.p.a.Judge(t)
	if err != nil {
		s.tell(s.Say("round.failed", s.Fault(err)))
		if s.p.late(s.meters.at) {
			s.to.Home()
		}
		return
	}
	s.stage = locked
	s.meters.past.take(s.p.desk)
	s.sound.Stop()
	r := &result{a: s.p.a, take: t, verdict: v, past: s.meters.past}
	s.session.record(r.a, t, v, func() { s.to.Judged(r) })
}
