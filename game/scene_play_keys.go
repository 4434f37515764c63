package game

import (
	"github.com/hajimehoshi/ebiten/v2"
)

func (s *playScene) Actions() []action {
	switch {
	case s.stage == onCard:
		return s.cardActions()
	case s.p.demo != nil:
		return s.demoActions()
	}
	var acts []action
	if len(s.p.controls) > 0 || s.monitor {
		acts = append(acts, s.moveActions()...)
	}
	acts = append(acts, s.chooseActions()...)
	if !s.p.a.View.FixedLength {
		acts = append(acts, action{id: "enter", keys: enterKeys, cap: "cap.enter", label: s.Say("round.lock"), do: s.lock})
	}
	if s.eitherMeter() {
		label := s.Say("round.programme")
		if s.programme {
			label = s.Say("round.vu")
		}
		acts = append(acts, action{id: "meter", keys: []ebiten.Key{ebiten.KeyN}, cap: "cap.n", label: label, do: func() { s.programme = !s.programme }})
	}
	space, mon := s.Say("round.pause"), s.Say("round.monitor")
	if s.paused {
		space = s.Say("round.hear")
	}
	leave := s.leaveAction(s.to)
	if s.monitor {
		mon = s.Say("round.fader")
		leave.label, leave.do = mon, func() { s.monitor = false }
	}
	return append(acts,
		action{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: space, do: s.pause},
		action{id: "monitor", keysOnly: true, keys: []ebiten.Key{ebiten.KeyM}, cap: "cap.m", label: mon, do: func() { s.monitor = !s.monitor }},
		s.helpAction(s.to),
		leave,
	)
}

func (s *playScene) cardActions() []action {
	acts := []action{
		{id: "enter", keys: append([]ebiten.Key{ebiten.KeySpace}, enterKeys...), cap: "cap.enter", label: s.Say("round.begin"), do: s.begin},
	}
	if s.p.a.series == nil { // whose answers are the learner's own
		acts = append(acts, action{id: "show", keys: []ebiten.Key{ebiten.KeyW}, cap: "cap.w", label: s.Say("round.show_me"), do: func() {
			s.p.showMe()
			s.begin()
		}})
	}
	return append(acts, s.helpAction(s.to), s.leaveAction(s.to))
}

// moveActions are the keys of the chosen control.
func (s *playScene) moveActions() []action {
	usual, fine, page := 1.0, 0.1, 3.0
	if ask := s.p.a.Ask; ask.Number && !s.monitor {
		fine, page = ask.Step, 5
	}
	if s.fine {
		usual = fine
	}
	step := usual
	if shiftHeld() {
		step = fine
	}
	label := s.Say("round.step", s.Short(usual))
	if s.monitor {
		label = s.Say("round.monitor") + ", " + label
	}
	by := func(db float64) func() { return func() { s.nudge(db) } }
	return []action{
		{id: "up", keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", repeat: true, dynamic: true, do: by(step)},
		{id: "down", keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: label, repeat: true, dynamic: true, do: by(-step)},
		{id: "fine", cap: "cap.shift", label: s.Say("round.step", s.Short(fine)), on: s.fine, do: func() { s.fine = !s.fine }},
		{id: "pageup", keysOnly: true, keys: []ebiten.Key{ebiten.KeyPageUp}, cap: "cap.pageup", repeat: true, dynamic: true, do: by(page)},
		{id: "pagedown", keysOnly: true, keys: []ebiten.Key{ebiten.KeyPageDown}, cap: "cap.pagedown", label: s.Say("round.step", s.Short(page)), repeat: true, dynamic: true, do: by(-page)},
	}
}

// chooseActions are the keys that go from channel to channel, or needle to
// needle.
func (s *playScene) chooseActions() []action {
	if s.p.choices() < 2 {
		return nil
	}
	label, now := s.Say("round.channel"), s.p.chosen
	if len(s.p.a.Ask.Choices) > 0 {
		label, now = s.Say("round.choose"), s.p.choice
	}
	acts := []action{
		{id: "left", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", repeat: true, do: func() { s.choose(max(now, 0) - 1) }},
		{id: "right", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowRight}, cap: "cap.right", label: label, repeat: true, do: func() { s.choose(now + 1) }},
	}
	// The channels' own letters and figures work too.
	for i := range s.p.choices() {
		keys := []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i), ebiten.KeyNumpad1 + ebiten.Key(i)}
		acts = append(acts, action{id: "pick", keys: keys, do: func() { s.choose(i) }})
	}
	if s.p.a.View.Listen && !s.p.a.View.OneAtATime {
		hear := s.Say("round.hear_one")
		if s.p.solo >= 0 {
			hear = s.Say("round.hear_sum")
		}
		acts = append(acts, action{id: "listen", keys: []ebiten.Key{ebiten.KeyL}, cap: "cap.l", label: hear, do: s.p.toggleSolo})
	}
	return acts
}

func (s *playScene) demoActions() []action {
	return []action{
		{id: "enter", keys: enterKeys, cap: "cap.enter", label: s.Say("round.try"), do: func() { s.to.Next(s.p.a) }},
		{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: s.Say("round.pause"), do: s.pause},
		s.helpAction(s.to),
		s.leaveAction(s.to),
	}
}
