// Package round is the screens of an exercise: the round itself, its verdict, and
// between them, before a class, the question what it thinks.
package round

import (
	"math"
	"strconv"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/output"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/sound"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Scene is one exercise: what is asked is shown on a card, the sound starts,
// the learner sets and locks.
type Scene struct {
	scene.Base
	widget.Moving
	to      guide
	session *practice.Session
	sound   player
	p       *practice.Play
	view    panel
	hand    grip
	meters  meters

	stage       stage
	autoStartAt time.Time // when the card starts the sound unasked; zero if it waits
	counted     int       // seconds that it shows until then
	paused      bool
	noted       float64 // seconds heard when the session was last told of them
	result      *Result // once it is locked and kept, while what follows is played
}

// stage is how far an exercise has come.
type stage int

const (
	onCard     stage = iota // the sound has not started
	playing                 // it has
	locked                  // the take is on its way to the disk
	performing              // what follows the lock is played
)

// sounding reports whether something is played.
func (s *Scene) sounding() bool { return s.stage == playing || s.stage == performing }

// guide is where a round leads to.
type guide interface {
	Next(a *practice.Assignment)  // what follows an assignment
	Again(a *practice.Assignment) // another in place of one that was only shown
	Judged(r *Result)
	Estimate(r *Result, keep func(r *Result, goOn bool)) // asks how far off the learner thinks to be
}

// player is what the sound of a round plays on.
type player interface {
	Play(s output.Puller)
	Pause(hold bool)
	Stop()
	Heard() int64
	Quiet() bool // there is no device
}

// Result is how an exercise ended.
type Result struct {
	A       *practice.Assignment
	Take    drills.Take
	Verdict drills.Verdict
	// Programme is set where the programme meter was looked at: then task, solution
	// and verdict speak in its marks.
	Programme bool
	Estimate  *float64 // how far off in dB the learner thought to be; nil: they were not asked
	Remark    string   // from the learner's own past, no part of the verdict; empty if there is none
	past      sound.History
	heard     []progress.Interval // how much of each kind of damage the learner hears, after a choice by ear
}

// meters are what is shown of the sound: as it is heard now, and since the start.
type meters struct {
	started time.Time // of the lamp's clock
	lamp    sound.LampGate
	past    sound.History
	snap    desk.Snapshot
	at      int64            // the position that is heard
	stages  []sound.LampGate // of the lamps of stages

	covered   bool // the needle, by now
	programme bool // the programme meter stands in the needle's place
}

// grip is how the hands hold a control.
type grip struct {
	dragging bool
	offset   float64 // where on the knob the drag took hold, in units
	stick    float64 // what the stick has not yet moved, dB
	monitor  bool    // the arrow keys move the monitor control
	fine     bool    // steps are small without shift, for those who have no keys
}

// cardTime is how long a card that starts the sound unasked is shown: long
// enough to ask for the demonstration.
const cardTime = 4 * time.Second

// atRest is what the meters show before anything is heard.
func atRest() desk.Snapshot {
	none := [2]float64{math.Inf(-1), math.Inf(-1)}
	return desk.Snapshot{NeedleDBFS: none, PeakDBFS: none, PPMDBFS: none}
}

// New makes the screen of an assignment. The first of a drill waits for
// a key, so that what is asked can be read.
func New(b scene.Base, to guide, s *practice.Session, sound player, a *practice.Assignment) (*Scene, error) {
	s.Resume(a)
	p, err := practice.NewPlay(a, s.Prefs.Settings)
	if err != nil {
		return nil, err
	}
	scene := &Scene{Base: b, to: to, session: s, sound: sound, p: p}
	scene.meters.covered = a.View.NeedleCovered
	scene.meters.snap = atRest()
	scene.meters.lamp.Reduced, scene.meters.lamp.Large = s.Prefs.LessFlash, scene.lampAlone()
	scene.meters.stages = stageLamps(len(p.Controls), s.Prefs.LessFlash)
	if a.Again {
		scene.autoStartAt = time.Now().Add(cardTime)
	}
	return scene, nil
}

// startsIn is how many seconds are left until the card starts the sound unasked.
func (s *Scene) startsIn() int {
	return max(0, int(math.Ceil(time.Until(s.autoStartAt).Seconds())))
}

func (s *Scene) Name() string { return "round" }

// Drill is the ID of the drill it is an exercise of.
func (s *Scene) Drill() string { return s.p.A.Drill.ID }

// LargeText reports whether a class looks on.
func (s *Scene) LargeText() bool { return s.p.A.Classroom }

// begin starts the sound.
func (s *Scene) begin() {
	if s.stage != onCard {
		return
	}
	s.stage = playing
	s.Redraw()
	s.meters.started = time.Now()
	s.p.Begin()
	s.sound.Play(s.p.Desk)
	a := s.p.A
	s.Note("begin", map[string]any{"drill": a.Drill.ID, "family": a.Family, "level": a.Level, "aim": a.Channels[0].AimDB, "controls": s.p.Controls})
}

// Suspend pauses the sound.
func (s *Scene) Suspend() {
	if s.sounding() {
		s.sound.Pause(true)
	}
}

// Resume lets the sound continue, or shows the card for its full time again.
func (s *Scene) Resume() {
	switch {
	case s.sounding():
		s.sound.Pause(s.paused)
	case !s.autoStartAt.IsZero():
		s.autoStartAt = time.Now().Add(cardTime)
	}
}

func (s *Scene) Leave() {
	if s.stage == playing {
		s.session.Left(s.p.A, s.heardSeconds())
	}
	if s.sounding() {
		s.sound.Stop()
	}
}

// heardSeconds is how much of the round has been heard.
func (s *Scene) heardSeconds() float64 { return float64(max(s.meters.at, 0)) / audio.Rate }

// set moves a control.
func (s *Scene) set(i int, v float64) {
	if s.p.Set(i, v) {
		s.Done(s.Told())
		s.Note("fader", map[string]any{"db": s.p.Value(i), "slider": i})
	}
}

// small reports whether steps are small.
func (s *Scene) small() bool { return s.hand.fine || hand.ShiftHeld() }

// nudge moves the chosen control, or the monitor control, by a step.
func (s *Scene) nudge(by float64) {
	i := s.p.Chosen
	switch {
	case s.hand.monitor:
		s.setMonitor(s.session.Prefs.MonitorDB + by)
	case i >= len(s.p.Controls):
	case s.p.Controls[i].Fixed && s.stages():
		s.TellFor(widget.NoticeTime/3, s.Say("round.no_control", s.Part(s.p.Controls[i].Label)))
	case s.p.Controls[i].Fixed:
		s.TellFor(widget.NoticeTime/3, s.Say("round.stays", s.p.Controls[i].Label))
	default: // by a step at least
		s.set(i, s.p.Value(i)+math.Copysign(math.Max(math.Abs(by), s.p.Controls[i].Step), by))
	}
}

func (s *Scene) setMonitor(db float64) {
	s.session.Prefs.Change(func(p *store.Settings) { p.MonitorDB = sound.ClampMonitor(db) })
	s.p.Desk.SetMonitor(s.session.Prefs.MonitorDB)
}

// choose goes to another control or answer.
func (s *Scene) choose(i int) {
	s.p.Choose(i)
	s.Redraw()
	if s.p.Choice >= 0 {
		s.Note("choice", map[string]any{"choice": s.p.Choice})
	}
}

func (s *Scene) pause() {
	s.paused = !s.paused
	s.sound.Pause(s.paused)
}

func (s *Scene) Update(in *hand.State) {
	switch s.stage {
	case onCard:
		if left := s.startsIn(); !s.autoStartAt.IsZero() && left != s.counted {
			s.counted = left
			s.Redraw()
		}
		if !s.autoStartAt.IsZero() && time.Now().After(s.autoStartAt) {
			s.begin()
		}
		return
	case locked:
		return
	}
	m := &s.meters
	m.at = s.sound.Heard() - int64(s.p.Desk.Latency())
	if snap, ok := s.p.Desk.At(m.at); ok {
		m.snap = snap
	}
	m.past.Take(s.p.Desk, s.compared())
	s.p.Desk.SetGuide(s.guided())
	if s.stage == performing {
		if m.at >= int64(s.p.A.After.Len()) {
			s.judged()
		}
		return
	}
	if heard := s.heardSeconds(); heard >= s.noted+5 { // a page that is loaded again does not tell
		s.noted = heard
		s.session.Left(s.p.A, heard)
	}
	if n := s.p.A.View.NeedleSeconds; n > 0 && !s.meters.covered && float64(m.at) >= n*audio.Rate {
		s.meters.covered = true
		s.Redraw()
	}
	if s.p.Demo != nil {
		over := s.p.Demo.Over
		if s.p.ShowStep(m.at) {
			s.Redraw()
		}
		if s.p.Demo.Over && !over {
			s.Note("shown", map[string]any{"drill": s.p.A.Drill.ID})
		}
		return
	}
	s.move(in)
	if s.p.Late(m.at) {
		s.lock()
	}
}

// guided is how far the needle that is set stands from its target, in dB, for those who
// hear it instead of seeing it; NaN where it is not to be heard.
func (s *Scene) guided() float64 {
	v := s.p.A.View
	if !s.session.Prefs.HearNeedle || s.meters.covered || v.Needles > 0 || len(s.view.faces) == 0 {
		return math.NaN()
	}
	reading := math.Inf(-1)
	for i, d := range s.view.faces {
		if !v.PerChannel || i == s.p.Chosen || len(s.view.faces) == 1 {
			for _, source := range d.sources {
				reading = math.Max(reading, s.level(source))
			}
		}
	}
	target := s.p.A.TargetVU()
	if v.TargetCovered { // it is to be worked out: heard against 0 VU
		target = 0
	}
	return reading - s.p.A.Rig.ReferenceDBFS - target
}

// compared is how many channels are set one against the other, none where their sum
// is what counts.
func (s *Scene) compared() int {
	if !s.p.A.View.OneAtATime || s.asks() {
		return 0
	}
	return len(s.p.A.Channels)
}

// Sliders are where the controls stand, for those who hear them.
func (s *Scene) Sliders() map[string]page.Slider {
	if s.stage == onCard {
		return nil
	}
	all := map[string]page.Slider{}
	for i, c := range s.p.Controls {
		v := s.p.Value(i)
		all["slider."+strconv.Itoa(i)+".knob"] = page.Slider{Least: c.Min, Most: c.Max, Step: c.Step, Value: v, Words: s.Say("unit.db", s.Signed(v, 1))}
	}
	return all
}

// move moves the controls with the mouse, a finger, the wheel and the stick.
func (s *Scene) move(in *hand.State) {
	h := &s.hand
	if in.Pressed {
		for i := range s.view.sliders {
			sl := &s.view.sliders[i]
			if !sl.Track().Has(in.X, in.Y) {
				continue
			}
			if i != s.p.Chosen {
				s.choose(i)
			}
			h.dragging, h.offset = !s.p.Controls[i].Fixed, 0
			if k := sl.Knob(s.p.Value(i)); k.Has(in.X, in.Y) {
				h.offset = sl.Along(in.X, in.Y) - sl.Stand(s.p.Value(i))
			}
		}
	}
	for i, c := range s.p.Controls {
		if in.Control.Name != "slider."+strconv.Itoa(i)+".knob" {
			continue
		}
		if i != s.p.Chosen { // the keys move the fader that the page has the focus on
			s.choose(i)
		}
		if in.Control.Kind == page.Slide && !c.Fixed {
			s.set(i, in.Control.Value)
		}
	}
	if h.dragging && in.Down && s.p.Chosen < len(s.view.sliders) {
		sl := &s.view.sliders[s.p.Chosen]
		s.set(s.p.Chosen, sl.Value(sl.Along(in.X, in.Y)-h.offset))
	}
	h.dragging = h.dragging && in.Down
	if in.Wheel != 0 {
		step := 0.5
		if s.small() {
			step = 0.1
		}
		s.nudge(math.Copysign(step, in.Wheel))
	}
	if in.Pad.Up != 0 {
		h.stick += in.Pad.Up * 24 / float64(ebiten.TPS()) // full push: 24 dB a second
		if whole := math.Trunc(h.stick*10) / 10; whole != 0 {
			h.stick -= whole
			s.nudge(whole)
		}
	}
}

// lock ends the exercise.
func (s *Scene) lock() {
	if s.stage != playing {
		return
	}
	t := s.p.Take()
	if key := s.p.Missing(t, s.meters.at); key != "" {
		s.AskFor(widget.NoticeTime, s.Say(key))
		return
	}
	s.stage = locked
	s.meters.past.Take(s.p.Desk, s.compared())
	s.sound.Stop()
	s.session.Judge(s.p.A, t, func(v drills.Verdict, err error) {
		if err != nil {
			s.Tell(s.Say("round.failed", s.Fault(err)))
			s.To.Home()
			return
		}
		r := &Result{A: s.p.A, Take: t, Verdict: v, Programme: s.meters.programme, past: s.meters.past}
		if s.session.AsksEstimate(r.A) {
			s.to.Estimate(r, s.keep)
			return
		}
		s.keep(r, true)
	})
}

// keep keeps the take and goes on to its verdict, unless the learner goes elsewhere.
func (s *Scene) keep(r *Result, goOn bool) {
	s.session.Record(r.A, r.Take, r.Verdict, r.Estimate, func() {
		if goOn {
			r.Remark = s.session.Remark(r.A)
			if r.Verdict.Odd != "" {
				for _, kind := range drills.OddKinds() {
					heard, _ := s.session.Records.Book.Threshold(kind)
					r.heard = append(r.heard, heard)
				}
			}
			if s.result = r; r.A.After == nil || r.A.NoVerdict || !s.perform() {
				s.to.Judged(r)
			}
		}
	})
}

// perform plays what follows the lock, with the fader where it was locked and all
// meters in sight. It reports whether it can be played.
func (s *Scene) perform() bool {
	a := s.p.A
	c := a.DeskConfig(s.session.Prefs.Settings)
	c.Channels[0].Sound, c.Channels[0].FaderDB = a.After, a.Setting(s.result.Take, 0)
	d, err := desk.New(c)
	if err != nil {
		return false
	}
	s.stage, s.p.Desk, s.paused = performing, d, false
	m := &s.meters
	m.past, m.snap, m.at, m.covered = sound.History{}, atRest(), 0, false
	s.sound.Play(d)
	s.Redraw()
	s.Note("take", nil)
	return true
}

// judged goes on to the verdict.
func (s *Scene) judged() {
	s.sound.Stop()
	s.stage = locked
	s.to.Judged(s.result)
}

func (s *Scene) Actions() []hand.Action {
	switch {
	case s.stage == performing:
		return s.watchActions(s.Say("round.take_over"), s.judged)
	case s.stage == onCard:
		return s.cardActions()
	case s.p.Demo != nil:
		return s.watchActions(s.Say("round.try"), func() { s.to.Again(s.p.A) })
	}
	var acts []hand.Action
	if len(s.p.Controls) > 0 || s.hand.monitor {
		acts = append(acts, s.moveActions()...)
	}
	acts = append(acts, s.chooseActions()...)
	if !s.p.A.Drill.FixedLength {
		acts = append(acts, hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("round.lock"), Do: s.lock})
	}
	if s.p.A.Drill.EitherMeter {
		label := s.Say("round.programme")
		if s.meters.programme {
			label = s.Say("round.vu")
		}
		acts = append(acts, hand.Action{ID: "meter", Keys: []ebiten.Key{ebiten.KeyN}, Cap: "cap.n", Label: label, Do: func() { s.meters.programme = !s.meters.programme }})
	}
	space, mon := s.Say("round.pause"), s.Say("round.monitor")
	if s.paused {
		space = s.Say("round.hear")
	}
	leave := s.LeaveAction()
	if s.hand.monitor {
		mon = s.Say("round.fader")
		leave.Label, leave.Do = mon, func() { s.hand.monitor = false }
	}
	return append(acts,
		hand.Action{ID: "space", Keys: []ebiten.Key{ebiten.KeySpace}, Cap: "cap.space", Label: space, Do: s.pause},
		hand.Action{ID: "monitor", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyM}, Cap: "cap.m", Label: mon, Do: func() { s.hand.monitor = !s.hand.monitor }},
		s.HelpAction(),
		leave,
	)
}

func (s *Scene) cardActions() []hand.Action {
	acts := []hand.Action{
		{ID: "enter", Keys: append([]ebiten.Key{ebiten.KeySpace}, hand.EnterKeys...), Cap: "cap.enter", Label: s.Say("round.begin"), Do: s.begin},
	}
	if s.p.A.Series == nil && s.p.A.Form == "" { // whose answers are the learner's own
		acts = append(acts, hand.Action{ID: "show", Keys: []ebiten.Key{ebiten.KeyW}, Cap: "cap.w", Label: s.Say("round.show_me"), Do: func() {
			s.p.ShowMe()
			s.begin()
		}})
	}
	return append(acts, s.HelpAction(), s.LeaveAction())
}

// moveActions are the keys of the chosen control.
func (s *Scene) moveActions() []hand.Action {
	usual, fine, page := 1.0, 0.1, 3.0
	if ask := s.p.A.Ask; ask.Number && !s.hand.monitor {
		fine, page = ask.Step, 5
	}
	if s.hand.fine {
		usual = fine
	}
	step := usual
	if hand.ShiftHeld() {
		step = fine
	}
	label := s.Say("round.step", s.Short(usual))
	if s.hand.monitor {
		label = s.Say("round.monitor") + ", " + label
	}
	by := func(db float64) func() { return func() { s.nudge(db) } }
	return []hand.Action{
		{ID: "up", Keys: []ebiten.Key{ebiten.KeyArrowUp}, Cap: "cap.up", Repeat: true, Dynamic: true, Do: by(step)},
		{ID: "down", Keys: []ebiten.Key{ebiten.KeyArrowDown}, Cap: "cap.down", Label: label, Repeat: true, Dynamic: true, Do: by(-step)},
		{ID: "fine", Cap: "cap.shift", Label: s.Say("round.step", s.Short(fine)), On: s.hand.fine, Do: func() { s.hand.fine = !s.hand.fine }},
		{ID: "pageup", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyPageUp}, Cap: "cap.pageup", Repeat: true, Dynamic: true, Do: by(page)},
		{ID: "pagedown", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyPageDown}, Cap: "cap.pagedown", Label: s.Say("round.step", s.Short(page)), Repeat: true, Dynamic: true, Do: by(-page)},
	}
}

// chooseActions are the keys that go from channel to channel, or needle to
// needle.
func (s *Scene) chooseActions() []hand.Action {
	if s.p.Choices() < 2 {
		return nil
	}
	label, now := s.Say("round.channel"), s.p.Chosen
	switch {
	case len(s.p.A.Ask.Choices) > 0:
		label, now = s.Say("round.choose"), s.p.Choice
		if s.p.A.ByEar() {
			label = s.Say("round.choose_sound")
		}
	case s.stages():
		label = s.Say("round.stage")
	}
	acts := []hand.Action{
		{ID: "left", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowLeft}, Cap: "cap.left", Repeat: true, Do: func() { s.choose(max(now, 0) - 1) }},
		{ID: "right", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowRight}, Cap: "cap.right", Label: label, Repeat: true, Do: func() { s.choose(now + 1) }},
	}
	// The channels' own letters and figures work too.
	for i := range s.p.Choices() {
		keys := []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i), ebiten.KeyNumpad1 + ebiten.Key(i)}
		acts = append(acts, hand.Action{ID: "pick", Keys: keys, Do: func() { s.choose(i) }})
	}
	if s.p.A.View.Listen && !s.p.A.View.OneAtATime {
		hear := s.Say("round.hear_one")
		if s.p.Solo >= 0 {
			hear = s.Say("round.hear_sum")
		}
		acts = append(acts, hand.Action{ID: "listen", Keys: []ebiten.Key{ebiten.KeyL}, Cap: "cap.l", Label: hear, Do: s.p.ToggleSolo})
	}
	return acts
}

// watchActions are the keys where nothing is set, and enter goes on.
func (s *Scene) watchActions(label string, goOn func()) []hand.Action {
	return []hand.Action{
		{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: label, Do: goOn},
		{ID: "space", Keys: []ebiten.Key{ebiten.KeySpace}, Cap: "cap.space", Label: s.Say("round.pause"), Do: s.pause},
		s.HelpAction(),
		s.LeaveAction(),
	}
}
