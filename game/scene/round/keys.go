package round

import (
	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/hand"
)

func (s *Scene) Actions() []hand.Action {
	switch {
	case s.stage == onCard:
		return s.cardActions()
	case s.p.Demo != nil:
		return s.demoActions()
	}
	var acts []hand.Action
	if len(s.p.Controls) > 0 || s.monitor {
		acts = append(acts, s.moveActions()...)
	}
	acts = append(acts, s.chooseActions()...)
	if !s.p.A.View.FixedLength {
		acts = append(acts, hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("round.lock"), Do: s.lock})
	}
	if s.eitherMeter() {
		label := s.Say("round.programme")
		if s.programme {
			label = s.Say("round.vu")
		}
		acts = append(acts, hand.Action{ID: "meter", Keys: []ebiten.Key{ebiten.KeyN}, Cap: "cap.n", Label: label, Do: func() { s.programme = !s.programme }})
	}
	space, mon := s.Say("round.pause"), s.Say("round.monitor")
	if s.paused {
		space = s.Say("round.hear")
	}
	leave := s.LeaveAction(s.to)
	if s.monitor {
		mon = s.Say("round.fader")
		leave.Label, leave.Do = mon, func() { s.monitor = false }
	}
	return append(acts,
		hand.Action{ID: "space", Keys: []ebiten.Key{ebiten.KeySpace}, Cap: "cap.space", Label: space, Do: s.pause},
		hand.Action{ID: "monitor", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyM}, Cap: "cap.m", Label: mon, Do: func() { s.monitor = !s.monitor }},
		s.HelpAction(s.to),
		leave,
	)
}

func (s *Scene) cardActions() []hand.Action {
	acts := []hand.Action{
		{ID: "enter", Keys: append([]ebiten.Key{ebiten.KeySpace}, hand.EnterKeys...), Cap: "cap.enter", Label: s.Say("round.begin"), Do: s.begin},
	}
	if s.p.A.Series == nil { // whose answers are the learner's own
		acts = append(acts, hand.Action{ID: "show", Keys: []ebiten.Key{ebiten.KeyW}, Cap: "cap.w", Label: s.Say("round.show_me"), Do: func() {
			s.p.ShowMe()
			s.begin()
		}})
	}
	return append(acts, s.HelpAction(s.to), s.LeaveAction(s.to))
}

// moveActions are the keys of the chosen control.
func (s *Scene) moveActions() []hand.Action {
	usual, fine, page := 1.0, 0.1, 3.0
	if ask := s.p.A.Ask; ask.Number && !s.monitor {
		fine, page = ask.Step, 5
	}
	if s.fine {
		usual = fine
	}
	step := usual
	if hand.ShiftHeld() {
		step = fine
	}
	label := s.Say("round.step", s.Short(usual))
	if s.monitor {
		label = s.Say("round.monitor") + ", " + label
	}
	by := func(db float64) func() { return func() { s.nudge(db) } }
	return []hand.Action{
		{ID: "up", Keys: []ebiten.Key{ebiten.KeyArrowUp}, Cap: "cap.up", Repeat: true, Dynamic: true, Do: by(step)},
		{ID: "down", Keys: []ebiten.Key{ebiten.KeyArrowDown}, Cap: "cap.down", Label: label, Repeat: true, Dynamic: true, Do: by(-step)},
		{ID: "fine", Cap: "cap.shift", Label: s.Say("round.step", s.Short(fine)), On: s.fine, Do: func() { s.fine = !s.fine }},
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
	if len(s.p.A.Ask.Choices) > 0 {
		label, now = s.Say("round.choose"), s.p.Choice
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

func (s *Scene) demoActions() []hand.Action {
	return []hand.Action{
		{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("round.try"), Do: func() { s.to.Next(s.p.A) }},
		{ID: "space", Keys: []ebiten.Key{ebiten.KeySpace}, Cap: "cap.space", Label: s.Say("round.pause"), Do: s.pause},
		s.HelpAction(s.to),
		s.LeaveAction(s.to),
	}
}
