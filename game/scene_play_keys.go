package game

import (
	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/drills"
)

func leaveAction(g *Game) action {
	return action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.Say("key.leave"), do: func(g *Game) { g.show(&homeScene{}) }}
}

func (s *playScene) actions(g *Game) []action {
	switch {
	case !s.playing:
		return s.cardActions(g)
	case s.show != nil:
		return s.show.actions(g, s)
	}
	var acts []action
	if len(s.pan.sliders) > 0 || s.monitor {
		acts = append(acts, s.moveActions(g)...)
	}
	acts = append(acts, s.chooseActions(g)...)
	if !s.job.view().FixedLength {
		acts = append(acts, action{id: "enter", keys: enterKeys, cap: "cap.enter", label: g.Say("round.lock"), do: s.lock})
	}
	if s.eitherMeter() {
		label := g.Say("round.programme")
		if s.programme {
			label = g.Say("round.vu")
		}
		acts = append(acts, action{id: "meter", keys: []ebiten.Key{ebiten.KeyN}, cap: "cap.n", label: label, do: func(*Game) { s.programme = !s.programme }})
	}
	space, mon := g.Say("round.pause"), g.Say("round.monitor")
	if s.paused {
		space = g.Say("round.hear")
	}
	leave := leaveAction(g)
	if s.monitor {
		mon = g.Say("round.fader")
		leave.label, leave.do = mon, func(*Game) { s.monitor = false }
	}
	return append(acts,
		action{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: space, do: s.pause},
		action{id: "monitor", desk: true, keys: []ebiten.Key{ebiten.KeyM}, cap: "cap.m", label: mon, do: func(*Game) { s.monitor = !s.monitor }},
		helpAction(g),
		leave,
	)
}

func (s *playScene) cardActions(g *Game) []action {
	acts := []action{
		{id: "enter", keys: append([]ebiten.Key{ebiten.KeySpace}, enterKeys...), cap: "cap.enter", label: g.Say("round.begin"), do: s.begin},
	}
	if s.job.series == nil { // whose answers are the learner's own
		acts = append(acts, action{id: "show", keys: []ebiten.Key{ebiten.KeyW}, cap: "cap.w", label: g.Say("round.show_me"), do: func(g *Game) {
			s.show = &demo{take: s.job.ex.ShowMe()}
			s.begin(g)
		}})
	}
	return append(acts, helpAction(g), leaveAction(g))
}

// moveActions are the keys of the chosen slider.
func (s *playScene) moveActions(g *Game) []action {
	step, page := 1.0, 3.0
	if s.small() {
		step = 0.1
	}
	if a := s.job.ask(); a.Number && !s.monitor {
		step = max(step, a.Step)
		if !s.small() {
			step = 1
		}
		page = 5
	}
	label := g.Say("round.step")
	if s.monitor {
		label = g.Say("round.step_monitor")
	}
	by := func(db float64) func(*Game) { return func(g *Game) { s.nudge(g, db) } }
	fine := g.Say("round.fine", g.Short(0.1))
	if s.job.ask().Number {
		fine = g.Say("round.fine", g.Short(s.job.ask().Step))
	}
	return []action{
		{id: "up", keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", repeat: true, moves: true, do: by(step)},
		{id: "down", keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: label, repeat: true, moves: true, do: by(-step)},
		{id: "fine", cap: "cap.shift", label: fine, on: s.fine, do: func(*Game) { s.fine = !s.fine }},
		{id: "pageup", desk: true, keys: []ebiten.Key{ebiten.KeyPageUp}, cap: "cap.pageup", repeat: true, moves: true, do: by(page)},
		{id: "pagedown", desk: true, keys: []ebiten.Key{ebiten.KeyPageDown}, cap: "cap.pagedown", label: g.Say("round.page", g.Short(page)), repeat: true, moves: true, do: by(-page)},
	}
}

// chooseActions are the keys that go from channel to channel, or needle to
// needle.
func (s *playScene) chooseActions(g *Game) []action {
	if s.pan.choices() < 2 {
		return nil
	}
	label, now := g.Say("round.channel"), s.sel
	if len(s.job.ask().Choices) > 0 {
		label, now = g.Say("round.choose"), s.choice
		if now < 0 {
			now = -1
		}
	}
	acts := []action{
		{id: "left", desk: true, keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", repeat: true, do: func(g *Game) { s.choose(g, max(now, 0)-1) }},
		{id: "right", desk: true, keys: []ebiten.Key{ebiten.KeyArrowRight}, cap: "cap.right", label: label, repeat: true, do: func(g *Game) { s.choose(g, now+1) }},
	}
	// The channels' own letters and figures work too.
	for i := range s.pan.choices() {
		keys := []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i), ebiten.KeyNumpad1 + ebiten.Key(i)}
		acts = append(acts, action{id: "pick", keys: keys, do: func(g *Game) { s.choose(g, i) }})
	}
	if s.job.view().Listen && !s.soloed() {
		hear := g.Say("round.hear_one")
		if s.listen >= 0 {
			hear = g.Say("round.hear_sum")
		}
		acts = append(acts, action{id: "listen", keys: []ebiten.Key{ebiten.KeyL}, cap: "cap.l", label: hear, do: func(*Game) {
			if s.listen >= 0 {
				s.hear(-1)
			} else {
				s.hear(s.pan.sliders[s.sel].channel)
			}
		}})
	}
	return acts
}

// demo plays a take that is right in the learner's place.
type demo struct {
	take drills.Take
	next int
	over bool
}

// step moves the faders as the sound reaches the take's moves.
func (d *demo) step(g *Game, s *playScene) {
	pos := s.desk.Position()
	for d.next < len(d.take.Moves) && d.take.Moves[d.next].At <= pos {
		m := d.take.Moves[d.next]
		s.desk.SetFader(m.Control, m.To)
		if m.Control != s.sel && m.Control < len(s.pan.sliders) {
			s.sel, g.dirty = m.Control, true
			if s.soloed() {
				s.hear(m.Control)
			}
		}
		d.next++
	}
	if d.over || s.at < d.take.LockAt {
		return
	}
	d.over, g.dirty = true, true
	if d.take.Number != nil {
		s.number = *d.take.Number
	}
	if d.take.Choice != nil {
		s.choice = *d.take.Choice
	}
	g.probe.note("shown", map[string]any{"drill": s.job.drill()})
}

func (d *demo) actions(g *Game, s *playScene) []action {
	return []action{
		{id: "enter", keys: enterKeys, cap: "cap.enter", label: g.Say("round.try"), do: startNext},
		{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: g.Say("round.pause"), do: s.pause},
		helpAction(g),
		leaveAction(g),
	}
}
