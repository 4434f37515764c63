package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills"
)

// roundScene is one round: the rig is shown, the sound starts, the learner
// sets the fader and locks.
type roundScene struct {
	round    *drills.Round
	desk     *desk.Desk
	number   int // of the session, from 1
	starts   time.Time
	playing  bool
	paused   bool
	monitor  bool // the arrow keys move the monitor control
	dragging bool
	grip     float64 // where on the knob the drag took hold, in units
	stick    float64 // what the stick has not yet moved, dB
	lamp     lampGate
	past     history
	snap     desk.Snapshot

	face  face
	fader faderPlace
	bulb  lampPlace
	foot  rect
	shown shown
	clock time.Time // for the lamp
}

// cardTime is how long the rig is shown before the sound starts.
const cardTime = 1500 * time.Millisecond

// startRound goes to the next round.
func startRound(g *Game) {
	r, err := g.nextRound()
	if err != nil {
		g.tell(g.say("round.failed", err.Error()))
		return
	}
	cfg := r.Desk(g.set.MonitorDB)
	if g.set.LessFlash {
		cfg.LampHold = reducedHold
	}
	d, err := desk.New(cfg)
	if err != nil {
		g.tell(g.say("round.failed", err.Error()))
		return
	}
	s := &roundScene{round: r, desk: d, number: g.index, starts: time.Now().Add(cardTime), clock: time.Now()}
	s.lamp.reduced = g.set.LessFlash
	g.show(s)
}

// nextRound makes the round that follows, of the family and rig asked for.
func (g *Game) nextRound() (*drills.Round, error) {
	set := drills.Settings{Family: g.set.Family, Rig: g.chosenRig()}
	index := g.index
	g.index++
	if g.set.Family == source.Own && g.own != nil {
		return g.ownRound(index, set)
	}
	return drills.NewRound(g.seed, index, set)
}

func (*roundScene) name() string { return "round" }

func (s *roundScene) actions(g *Game) []action {
	if !s.playing {
		go1 := func(g *Game) { s.begin(g) }
		return []action{
			{id: "enter", keys: append([]ebiten.Key{ebiten.KeySpace}, enterKeys...), cap: "cap.enter", label: g.say("round.begin"), do: go1},
			helpAction(g),
			leaveAction(g),
		}
	}
	step, label := 1.0, g.say("round.step")
	if shiftHeld() {
		step = 0.1
	}
	if s.monitor {
		label = g.say("round.step_monitor")
	}
	space := g.say("round.pause")
	if s.paused {
		space = g.say("round.hear")
	}
	mon := g.say("round.monitor")
	if s.monitor {
		mon = g.say("round.fader")
	}
	return []action{
		{id: "up", keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", repeat: true, moves: true, do: func(g *Game) { s.nudge(g, step) }},
		{id: "down", keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: label, repeat: true, moves: true, do: func(g *Game) { s.nudge(g, -step) }},
		{id: "fine", cap: "cap.shift", label: g.say("round.fine"), do: func(*Game) {}},
		{id: "pageup", keys: []ebiten.Key{ebiten.KeyPageUp}, cap: "cap.pageup", repeat: true, moves: true, do: func(g *Game) { s.nudge(g, 3) }},
		{id: "pagedown", keys: []ebiten.Key{ebiten.KeyPageDown}, cap: "cap.pagedown", label: g.say("round.page"), repeat: true, moves: true, do: func(g *Game) { s.nudge(g, -3) }},
		{id: "enter", keys: enterKeys, cap: "cap.enter", label: g.say("round.lock"), do: s.lock},
		{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: space, do: s.pause},
		{id: "monitor", keys: []ebiten.Key{ebiten.KeyM}, cap: "cap.m", label: mon, do: func(*Game) { s.monitor = !s.monitor }},
		helpAction(g),
		leaveAction(g),
	}
}

func leaveAction(g *Game) action {
	return action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.say("key.leave"), do: func(g *Game) { g.show(&homeScene{}) }}
}

// begin starts the sound.
func (s *roundScene) begin(g *Game) {
	if s.playing {
		return
	}
	s.playing, g.dirty = true, true
	s.clock = time.Now()
	g.out.Pause(false)
	g.out.Start(s.desk)
	g.probe.note("begin", map[string]any{"seed": s.round.Seed, "index": s.round.Index, "family": s.round.Family, "aim": s.round.AimDB})
}

// rest shows the rig once more before the sound starts, after help was read.
func (s *roundScene) rest() { s.starts = time.Now().Add(cardTime) }

func (s *roundScene) leave(g *Game) {
	if s.playing {
		g.out.Stop()
	}
}

// nudge moves the fader, or the monitor control, by a step in dB.
func (s *roundScene) nudge(g *Game, db float64) {
	if s.monitor {
		s.setMonitor(g, g.set.MonitorDB+db)
		return
	}
	s.setFader(g, s.desk.Fader(0)+db)
}

func (s *roundScene) setFader(g *Game, db float64) {
	db = clampFader(db)
	if db != s.desk.Fader(0) {
		s.desk.SetFader(0, db)
		g.probe.note("fader", map[string]any{"db": db})
	}
}

func (s *roundScene) setMonitor(g *Game, db float64) {
	g.set.MonitorDB = math.Max(monitorMin, math.Min(monitorMax, math.Round(db*10)/10))
	s.desk.SetMonitor(g.set.MonitorDB)
	g.keep()
}

func (s *roundScene) pause(g *Game) {
	s.paused = !s.paused
	g.out.Pause(s.paused)
}

func (s *roundScene) update(g *Game) {
	if !s.playing {
		if time.Now().After(s.starts) {
			s.begin(g)
		}
		return
	}
	heard := g.out.Heard() - int64(s.desk.Latency())
	if snap, ok := s.desk.At(heard); ok {
		s.snap = snap
	}
	s.past.take(s.desk)
	s.hands(g)
}

// hands moves the fader with the mouse, a finger, the wheel and the stick.
func (s *roundScene) hands(g *Game) {
	in := &g.in
	if in.pressed && s.fader.track().has(in.x, in.y) {
		s.dragging, s.grip = true, 0
		if k := s.fader.knob(s.desk.Fader(0)); k.has(in.x, in.y) {
			s.grip = in.y - s.fader.y(s.desk.Fader(0))
		}
	}
	if s.dragging {
		if in.down {
			s.setFader(g, s.fader.db(in.y-s.grip))
		} else {
			s.dragging = false
		}
	}
	if in.wheel != 0 {
		step := 0.5
		if shiftHeld() {
			step = 0.1
		}
		s.nudge(g, math.Copysign(step, in.wheel))
	}
	if g.pad.up != 0 {
		s.stick += g.pad.up * 24 / float64(ebiten.TPS()) // full push: 24 dB a second
		if whole := math.Trunc(s.stick*10) / 10; whole != 0 {
			s.stick -= whole
			s.setFader(g, s.desk.Fader(0)+whole)
		}
	}
}

// lock ends the round: what has been asked of the fader counts, even what the
// sound has not reached yet.
func (s *roundScene) lock(g *Game) {
	t := drills.Take{LockAt: s.desk.Position(), Moves: s.desk.Moves()}
	at, last := t.LockAt, desk.FaderMin
	if n := len(t.Moves); n > 0 {
		at, last = max(at, t.Moves[n-1].At), t.Moves[n-1].FaderDB
	}
	t.LockAt = at
	if now := s.desk.Fader(0); now != last {
		t.Moves = append(t.Moves, desk.Move{At: at, FaderDB: now})
	}
	v, err := drills.Judge(s.round, t)
	if err != nil {
		g.tell(g.say("round.failed", err.Error()))
		return
	}
	s.past.take(s.desk)
	g.out.Stop()
	g.probe.note("verdict", map[string]any{
		"seed": s.round.Seed, "index": s.round.Index, "family": s.round.Family, "rig": s.round.Rig,
		"asked_family": g.set.Family, "asked_rig": g.chosenRig(), "take": t, "verdict": v,
	})
	s.playing = false
	g.show(newVerdictScene(g, s, t, v))
}

// places tells a probe where the hands can take hold.
func (s *roundScene) places(add func(string, rect)) {
	add("fader.knob", s.fader.knob(s.desk.Fader(0)))
	add("fader.track", rect{s.fader.x, s.fader.top, 0, s.fader.bottom - s.fader.top})
}
