package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/game/draw"
)

// playScene is one exercise: what is asked is shown, the sound starts, the
// learner sets and locks.
type playScene struct {
	job  *job
	desk *desk.Desk

	playing bool
	passes  time.Time // when the card goes by itself; zero if it waits
	paused  bool
	monitor bool // the arrow keys move the monitor control
	fine    bool // steps are small without shift, for those who have no keys
	covered bool // the needle, by now

	programme bool // the programme meter stands in the needle's place
	closed    bool // judged
	pan       panel

	sel      int // the chosen slider, or needle to be trusted
	listen   int // the channel heard alone, -1 for all
	number   float64
	choice   int // -1: none yet
	dragging bool
	grip     float64 // where on the knob the drag took hold, in units
	stick    float64 // what the stick has not yet moved, dB

	lamp lampGate
	past history
	snap desk.Snapshot
	at   int64 // the position that is heard
	show *demo
	begun
}

// begun is when the lamp's clock started.
type begun struct{ clock time.Time }

// cardTime is how long a card that goes by itself is shown: long enough to
// ask for the demonstration.
const cardTime = 4 * time.Second

// atRest is what the meters show before anything is heard.
func atRest() desk.Snapshot {
	none := [2]float64{math.Inf(-1), math.Inf(-1)}
	return desk.Snapshot{NeedleDBFS: none, PeakDBFS: none, PPMDBFS: none, TruePeakDBTP: none, MomentaryLUFS: math.Inf(-1)}
}

// openJob goes to an exercise. The first of a drill waits for a key, so that
// what is asked can be read.
func (g *Game) openJob(j *job, again bool) {
	d, err := desk.New(j.desk(g.set))
	if err != nil {
		g.tell(g.Say("round.failed", g.Fault(err)))
		return
	}
	s := &playScene{job: j, desk: d, listen: -1, choice: -1, snap: atRest()}
	s.lamp.reduced = g.set.LessFlash
	s.covered = j.view().NeedleCovered
	if again {
		s.passes = time.Now().Add(cardTime)
	}
	if a := j.ask(); a.Number {
		s.number = a.Min
	}
	if j.view().PerChannel && len(j.free()) > 0 {
		s.sel = j.free()[0]
	}
	g.show(s)
}

func (*playScene) name() string { return "round" }

// begin starts the sound.
func (s *playScene) begin(g *Game) {
	if s.playing {
		return
	}
	s.playing, g.dirty = true, true
	s.clock = time.Now()
	if s.soloed() {
		s.hear(s.sel)
	}
	g.out.Pause(false)
	g.out.Start(s.desk)
	g.probe.note("begin", map[string]any{
		"drill": s.job.drill(), "family": s.job.family(), "level": s.job.level(), "aim": s.job.strips()[0].AimDB,
	})
}

// soloed reports whether the chosen channel is the one that is heard.
func (s *playScene) soloed() bool { return s.job.view().OneAtATime }

// hear chooses which channel is heard alone; -1 is all of them.
func (s *playScene) hear(channel int) {
	s.listen = channel
	s.desk.SetListen(channel)
}

// rest shows the card once more, after help was read.
func (s *playScene) rest() {
	if !s.passes.IsZero() {
		s.passes = time.Now().Add(cardTime)
	}
}

func (s *playScene) leave(g *Game) {
	if s.playing {
		g.out.Stop()
	}
}

// value is what a slider stands at.
func (s *playScene) value(i int) float64 {
	if s.job.ask().Number {
		return s.number
	}
	return s.desk.Fader(s.pan.sliders[i].channel)
}

// set moves a slider; in a demonstration nobody's hand does.
func (s *playScene) set(g *Game, i int, v float64) {
	if i < 0 || i >= len(s.pan.sliders) || s.pan.sliders[i].fixed || s.show != nil {
		return
	}
	sl := s.pan.sliders[i]
	v = sl.clamp(v)
	if v == s.value(i) {
		return
	}
	if s.job.ask().Number {
		s.number = v
	} else {
		s.desk.SetFader(sl.channel, v)
	}
	g.probe.note("fader", map[string]any{"db": v, "slider": i})
}

// small says whether a step is a tenth of a decibel.
func (s *playScene) small() bool { return s.fine || shiftHeld() }

// nudge moves the chosen slider, or the monitor control, by a step.
func (s *playScene) nudge(g *Game, db float64) {
	if s.monitor {
		s.setMonitor(g, g.set.MonitorDB+db)
		return
	}
	if s.sel >= len(s.pan.sliders) {
		return
	}
	if sl := s.pan.sliders[s.sel]; sl.fixed {
		g.tellFor(noticeTime/3, g.Say("round.stays", sl.label))
		return
	}
	s.set(g, s.sel, s.value(s.sel)+db)
}

func (s *playScene) setMonitor(g *Game, db float64) {
	g.set.MonitorDB = math.Max(desk.MonitorMin, math.Min(desk.MonitorMax, math.Round(db*10)/10))
	s.desk.SetMonitor(g.set.MonitorDB)
	g.keep()
}

// choose goes to another slider, channel or needle.
func (s *playScene) choose(g *Game, i int) {
	n := s.pan.choices()
	if n == 0 {
		return
	}
	i = (i + n) % n
	g.dirty = true
	if len(s.job.ask().Choices) > 0 {
		s.choice = i
		g.probe.note("choice", map[string]any{"choice": i})
		return
	}
	s.sel = i
	if ch := s.pan.sliders[i].channel; s.soloed() || s.listen >= 0 {
		s.hear(ch)
	}
}

func (s *playScene) pause(g *Game) {
	s.paused = !s.paused
	g.out.Pause(s.paused)
}

func (s *playScene) update(g *Game) {
	if !s.playing {
		if !s.passes.IsZero() && time.Now().After(s.passes) {
			s.begin(g)
		}
		return
	}
	s.at = g.out.Heard() - int64(s.desk.Latency())
	if snap, ok := s.desk.At(s.at); ok {
		s.snap = snap
	}
	s.past.take(s.desk)
	if n := s.job.view().NeedleSeconds; n > 0 && !s.covered && float64(s.at) >= n*audio.Rate {
		s.covered, g.dirty = true, true
	}
	if s.show != nil {
		s.show.step(g, s)
		return
	}
	s.hands(g)
	if sec := s.job.seconds(); sec > 0 && float64(s.at) >= sec*audio.Rate {
		s.lock(g)
	}
}

// hands moves the sliders with the mouse, a finger, the wheel and the stick.
func (s *playScene) hands(g *Game) {
	in := &g.in
	if in.pressed {
		for i, sl := range s.pan.sliders {
			if !sl.track().Has(in.x, in.y) {
				continue
			}
			if i != s.sel {
				s.choose(g, i)
			}
			s.dragging, s.grip = !sl.fixed, 0
			if k := sl.knob(s.value(i)); k.Has(in.x, in.y) {
				s.grip = in.y - sl.y(s.value(i))
			}
		}
	}
	if s.dragging && in.down && s.sel < len(s.pan.sliders) {
		s.set(g, s.sel, s.pan.sliders[s.sel].value(in.y-s.grip))
	}
	s.dragging = s.dragging && in.down
	if in.wheel != 0 {
		step := 0.5
		if s.small() {
			step = 0.1
		}
		s.nudge(g, math.Copysign(step, in.wheel))
	}
	if g.pad.up != 0 {
		s.stick += g.pad.up * 24 / float64(ebiten.TPS()) // full push: 24 dB a second
		if whole := math.Trunc(s.stick*10) / 10; whole != 0 {
			s.stick -= whole
			s.nudge(g, whole)
		}
	}
}

// take is the answer as it stands: what has been asked of the faders counts,
// even what the sound has not reached yet.
func (s *playScene) take() drills.Take {
	t := drills.Take{LockAt: s.desk.Position(), Moves: drills.MovesOf(s.desk.Moves())}
	at := t.LockAt
	last := map[int]float64{}
	for _, m := range t.Moves {
		at = max(at, m.At)
		last[m.Control] = m.To
	}
	t.LockAt = at
	for _, ch := range s.job.free() {
		was, moved := last[ch]
		if !moved {
			was = s.job.strips()[ch].FaderDB
		}
		if now := s.desk.Fader(ch); now != was {
			t.Moves = append(t.Moves, drills.Move{At: at, Control: ch, To: now})
		}
	}
	if a := s.job.ask(); a.Number {
		n := s.number
		t.Number = &n
	} else if len(a.Choices) > 0 {
		c := max(0, s.choice)
		t.Choice = &c
	}
	return t
}

// lock ends the exercise.
func (s *playScene) lock(g *Game) {
	if s.closed {
		return
	}
	late := s.job.seconds() > 0 && float64(s.at) >= s.job.seconds()*audio.Rate
	if len(s.job.ask().Choices) > 0 && s.choice < 0 && !late {
		g.tell(g.Say("round.choose_first"))
		return
	}
	t := s.take()
	if len(s.job.free()) > 0 && len(t.Moves) == 0 && !late {
		g.tell(g.Say("round.move_first")) // the key that was to pass the card, perhaps
		return
	}
	v, err := s.job.ex.Judge(t)
	if err != nil {
		g.tell(g.Say("round.failed", g.Fault(err)))
		if late {
			g.show(&homeScene{})
		}
		return
	}
	s.closed = true
	s.past.take(s.desk)
	g.out.Stop()
	g.record(s.job, t, v, func(g *Game) { s.judged(g, t, v) })
}

// judged goes on from a take that has been kept.
func (s *playScene) judged(g *Game, t drills.Take, v drills.Verdict) {
	s.playing = false
	next := newVerdictScene(g, s, t, v)
	if s.job.room {
		g.show(&roomScene{play: s, then: next})
		return
	}
	e := s.job.ex
	g.probe.note("verdict", map[string]any{"drill": e.Drill.ID, "seed": e.Seed, "index": e.Index, "level": e.Level, "settings": s.job.settings, "take": t, "verdict": v})
	g.show(next)
}

// places tells a probe where the hands can take hold.
func (s *playScene) places(add func(string, draw.Rect)) {
	for i, sl := range s.pan.sliders {
		id := "slider." + string(rune('0'+i))
		add(id+".knob", sl.knob(s.value(i)))
		add(id+".track", draw.R(sl.x, sl.top, 0, sl.bottom-sl.top))
	}
}
