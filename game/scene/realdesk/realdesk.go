// Package realdesk is the screen that listens at a line input: to a source of the
// learner's own, or to what comes back of a series that it plays into a real desk.
package realdesk

import (
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/input"
	"slowneedle/audio/listen"
	"slowneedle/audio/meter"
	"slowneedle/audio/output"
	"slowneedle/drills"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/sound"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Scene shows the input on needle and lamp, and what is to be done.
type Scene struct {
	scene.Base
	widget.Moving
	set     func(a *practice.Assignment, past sound.History)
	session *practice.Session
	prefs   *store.Keeper
	sound   player

	in      *input.Input
	ear     *listen.Ear
	live    *practice.Live // nil: a source of the learner's own
	started time.Time      // of the lamp's clock
	lamp    sound.LampGate
	snap    desk.Snapshot
	past    sound.History
	clips   []clip // of the last seconds
	clipped time.Time
	heard   bool        // something has come in
	judged  chan judged // what was locked is being judged; nil: nothing is
	silent  bool        // this screen came back while it was, and plays nothing yet
	stage   stage       // as shown
	view    view
}

// judged is what a lock came to, and done takes it.
type judged struct {
	done func() (*practice.Assignment, error)
	err  error
}

// clip is when the input clipped, and how much of it had by then.
type clip struct{ frame, total int64 }

// stage is how far it has come.
type stage string

const (
	waiting stage = "waiting" // nothing comes in yet
	broken  stage = "broken"  // nothing will
	own     stage = "own"     // the input is shown, to be set
	clips   stage = "clips"   // the same, and it has just clipped
	lineUp  stage = "line-up" // the tone goes out, and does not come back steadily
	lost    stage = "lost"    // the same, after the sweep did not come back
	steady  stage = "steady"  // it comes back steadily
	cue     stage = "cue"     // the sweep goes out, then the round
	playing stage = "playing" // the round can be locked
)

// player is what a series goes out on.
type player interface {
	Play(s output.Puller)
	Stop()
	Quiet() bool
}

// New begins to listen at the input that the settings choose; set goes to the verdict on
// what was set, with what the meters showed of it.
func New(b scene.Base, set func(a *practice.Assignment, past sound.History), s *practice.Session, p player) *Scene {
	scene := &Scene{Base: b, set: set, session: s, prefs: s.Prefs, sound: p}
	scene.listen()
	return scene
}

// listen opens the input; the screen begins with a source of the learner's own.
func (s *Scene) listen() {
	rig := s.rig()
	s.ear = listen.New(practice.EarSeconds, rig.LampDBFS, meter.LampHold)
	s.in = input.Open(s.prefs.Input, s.ear.Take)
	s.live, s.judged, s.heard, s.clips, s.past = nil, nil, false, nil, sound.History{}
	s.started, s.lamp = time.Now(), sound.LampGate{Reduced: s.prefs.LessFlash}
	s.stage = waiting
	s.Redraw()
}

func (s *Scene) Name() string { return "listen" }

// rig is the line-up that the needle is shown in.
func (s *Scene) rig() drills.Rig { return s.session.HearRig() }

// Leave lets input and output go.
func (s *Scene) Leave() {
	s.in.Close()
	s.sound.Stop()
}

// Suspend waits behind another screen: nothing goes out meanwhile, what comes in is
// listened to still.
func (s *Scene) Suspend() {
	if s.live != nil {
		s.live.Silence()
	}
}

// Resume goes on: with a round from its sweep on, or with the tone.
func (s *Scene) Resume() {
	switch {
	case s.live == nil || s.stage == broken:
	case s.judged != nil:
		s.silent = true // till it is known whether the round is over
	case s.live.Playing():
		s.begin()
	default:
		s.lineUp()
	}
}

// playSeries begins a series for a real desk.
func (s *Scene) playSeries() {
	s.live = s.session.PlayLive(s.ear)
	s.lineUp()
}

func (s *Scene) lineUp() {
	s.live.LineUp()
	s.sound.Play(s.live)
}

// begin plays the round that is next.
func (s *Scene) begin() {
	e, err := s.live.Begin()
	if err != nil {
		s.Tell(s.Say("round.failed", s.Fault(err)))
		return
	}
	s.sound.Play(s.live)
	s.Note("begin", map[string]any{"drill": "real-desk", "family": e.Family, "aim": e.Channels[0].AimDB})
}

// lock has judged what is set, beside the window.
func (s *Scene) lock() {
	if s.judged != nil {
		return
	}
	ch := make(chan judged, 1)
	s.judged = ch
	if live := s.live; live != nil {
		go func() {
			r, err := live.Lock()
			ch <- judged{func() (*practice.Assignment, error) { return live.Locked(r) }, err}
		}()
		return
	}
	judge := s.session.Hear(s.ear, s.clippedIn(12*audio.Rate))
	go func() {
		a, err := judge()
		ch <- judged{func() (*practice.Assignment, error) { return a, nil }, err}
	}()
}

// take takes what was judged, if it is.
func (s *Scene) take() {
	select {
	case j := <-s.judged:
		s.judged = nil
		var a *practice.Assignment
		if j.err == nil {
			a, j.err = j.done()
		}
		if j.err != nil {
			s.AskFor(widget.NoticeTime, s.sentence(j.err))
			if s.silent {
				s.silent = false
				s.Resume()
			}
			return
		}
		s.set(a, s.past)
	default:
	}
}

// send moves the level at which a series goes out: the monitor control's.
func (s *Scene) send(by float64) func() {
	return func() {
		s.prefs.Change(func(p *store.Settings) { p.MonitorDB = sound.ClampMonitor(p.MonitorDB + by) })
		s.live.SetSend(s.prefs.MonitorDB)
	}
}

func (s *Scene) Update(*hand.State) {
	for _, snap := range s.ear.Snapshots() {
		s.snap, s.heard = snap, true
		s.past.Add(snap)
		if n := len(s.clips); n == 0 || s.clips[n-1].total != snap.Clipped {
			s.clips = append(s.clips, clip{snap.At, snap.Clipped})
			if n > 0 {
				s.clipped = time.Now()
			}
		}
	}
	if s.live != nil && s.stage != broken && s.judged == nil {
		s.live.Update()
	}
	if now := s.now(); now != s.stage {
		if s.stage = now; now == broken {
			s.sound.Stop()
		}
		s.Note("listen", map[string]any{"stage": string(now), "dbfs": max(s.snap.NeedleDBFS[0], s.snap.NeedleDBFS[1], -200)})
		s.Redraw()
	}
	s.take()
}

// clipShown is for how long it is said that the input has clipped.
const clipShown = 4 * time.Second

// now is how far it has come.
func (s *Scene) now() stage {
	switch {
	case s.in.Err() != nil:
		return broken
	case !s.heard:
		return waiting
	case time.Since(s.clipped) < clipShown:
		return clips
	case s.live == nil:
		return own
	case s.live.Known():
		return playing
	case s.live.Playing():
		return cue
	case s.live.Steady():
		return steady
	case s.live.Lost():
		return lost
	}
	return lineUp
}

// clippedIn is how many of the last frames have clipped in the input.
func (s *Scene) clippedIn(frames int64) int64 {
	before := int64(0)
	for _, c := range s.clips {
		if c.frame < s.snap.At-frames {
			before = c.total
		}
	}
	return s.snap.Clipped - before
}

func (s *Scene) Actions() []hand.Action {
	enter := hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("round.lock"), Do: s.lock}
	var acts []hand.Action
	switch {
	case s.stage == broken:
		enter.Label, enter.Do = s.Say("live.retry"), func() { s.Leave(); s.listen() }
		acts = append(acts, enter)
	case s.stage == waiting:
	case s.live == nil:
		acts = append(acts, enter, hand.Action{ID: "desk", Keys: []ebiten.Key{ebiten.KeyR}, Cap: "cap.r", Label: s.Say("desk.title"), Do: s.playSeries})
	case s.live.Playing():
		acts = append(acts, enter)
	default:
		if s.live.Steady() {
			enter.Label, enter.Do = s.Say("live.begin"), s.begin
			acts = append(acts, enter)
		}
		acts = append(acts,
			hand.Action{ID: "up", Keys: []ebiten.Key{ebiten.KeyArrowUp}, Cap: "cap.up", Repeat: true, Do: s.send(1)},
			hand.Action{ID: "down", Keys: []ebiten.Key{ebiten.KeyArrowDown}, Cap: "cap.down", Label: s.Say("live.send"), Repeat: true, Do: s.send(-1)})
	}
	return append(acts, s.HelpAction(), s.LeaveAction())
}
