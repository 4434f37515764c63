// Package class is the screens of a class: joining it, making a sheet for it, and
// handing in.
package class

import (
	"fmt"
	"slices"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
)

// Join asks for what a class is joined with.
type Join struct {
	scene.Base
	Form   *practice.Join
	Start  bool   // it is the learners' page of a class: no sheets are made there
	Finger bool   // letters are shown to be touched
	told   string // what a probe knows
}

// fieldPlaces are the names of the fields.
var fieldPlaces = [...]string{"field.code", "field.who", "field.server"}

func (s *Join) Name() string { return "join" }

// Field, TypeInto and Write make the screen a form.
func (s *Join) Field() string { return fieldPlaces[s.Form.At] }

func (s *Join) TypeInto(name string) bool {
	i := slices.Index(fieldPlaces[:], name)
	if i >= 0 {
		s.Form.At = i
	}
	return i >= 0
}

func (s *Join) Write(r rune)     { s.Form.Write(r) }
func (s *Join) Fill(text string) { s.Form.Fill(text) }

func (s *Join) Actions() []hand.Action {
	label := s.Say("class.begin")
	switch {
	case s.Form.GoesOn():
		label = s.Say("class.go_on")
	case s.Form.Drop:
		label = s.Say("class.drop")
	case s.Form.Alone:
		label = s.Say("class.alone")
	}
	move := func(by int) func() {
		return func() { s.Form.At = (s.Form.At + by + s.Form.Fields()) % s.Form.Fields() }
	}
	help := s.HelpAction() // its letter belongs to the fields
	help.Keys = []ebiten.Key{ebiten.KeyF1}
	help.Cap = "cap.f1"
	acts := []hand.Action{
		{ID: "enter", KeysOnly: true, Keys: hand.EnterKeys, Cap: "cap.enter", Label: label, Do: s.enter},
		{ID: "up", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowUp}, Cap: "cap.up", Do: move(-1)},
		{ID: "down", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowDown}, Cap: "cap.down", Label: s.Say("class.field"), Do: move(1)},
		{ID: "back", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyBackspace}, Cap: "cap.backspace", Label: s.Say("class.rub"), Repeat: true, Do: s.Form.Rub},
	}
	if names := s.Form.Names; len(names) > 0 {
		acts = append(acts, hand.Action{ID: "name", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowRight}, Cap: "cap.right", Label: names[0], Do: func() { s.Form.Take(names[0]) }})
	}
	acts = append(acts, help)
	if !s.Start && s.Form.Class == nil {
		acts = append(acts, hand.Action{ID: "sheet", Keys: []ebiten.Key{ebiten.KeyF2}, Cap: "cap.f2", Label: s.Say("sheet.make"), Do: s.To.Sheet})
	}
	return append(acts, s.LeaveAction())
}

// title is the class's, once it is known, and what joining it means.
func (s *Join) title() (title, sub string) {
	if c := s.Form.Class; c != nil && c.Title != "" {
		return c.Title, s.Say("class.join") + " · " + s.Say("class.join_sub")
	}
	return s.Say("class.join"), s.Say("class.join_sub")
}

// enter goes on with what has been typed.
func (s *Join) enter() {
	if s.Form.Enter() {
		s.To.PlaySeries()
	}
}

func (s *Join) Update(in *hand.State) {
	if in.Pressed && s.Finger != in.Touch {
		s.Finger = in.Touch
		s.Redraw()
	}
	if now := fmt.Sprint(s.Form.At, s.Form.Text); s.told != now {
		s.told = now
		line, right, wrong := s.Form.Check(s.Form.At)
		s.Note("typed", map[string]any{"field": s.Form.At, "text": s.Form.Text[s.Form.At], "says": line, "right": right, "wrong": wrong})
	}
	changed, play := s.Form.Update()
	if changed {
		s.Redraw()
	}
	if play {
		s.To.PlaySeries()
	}
}
