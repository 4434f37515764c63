package game

import (
	"fmt"
	"slices"

	"github.com/hajimehoshi/ebiten/v2"
)

// joinScene asks for what a class is joined with.
type joinScene struct {
	base
	to     joinGuide
	form   *join
	finger bool   // letters are shown to be touched
	told   string // what a probe knows
}

// joinGuide is where joining leads to.
type joinGuide interface {
	guide
	Sheet()
	PlaySeries() // the class's next round, or its hand-in
}

// fieldPlaces are the names of the fields.
var fieldPlaces = [...]string{"field.code", "field.who", "field.server"}

func (s *joinScene) Name() string { return "join" }

// Field, TypeInto and Write make the screen a form.
func (s *joinScene) Field() string { return fieldPlaces[s.form.at] }

func (s *joinScene) TypeInto(name string) bool {
	i := slices.Index(fieldPlaces[:], name)
	if i >= 0 {
		s.form.at = i
	}
	return i >= 0
}

func (s *joinScene) Write(r rune) { s.form.write(r) }

func (s *joinScene) Actions() []action {
	label := s.Say("class.begin")
	switch {
	case s.form.goesOn():
		label = s.Say("class.go_on")
	case s.form.drop:
		label = s.Say("class.drop")
	case s.form.alone:
		label = s.Say("class.alone")
	}
	move := func(by int) func() {
		return func() { s.form.at = (s.form.at + by + s.form.fields()) % s.form.fields() }
	}
	help := s.helpAction(s.to) // its letter belongs to the fields
	help.keys = []ebiten.Key{ebiten.KeyF1}
	help.cap = "cap.f1"
	return []action{
		{id: "enter", keysOnly: true, keys: enterKeys, cap: "cap.enter", label: label, do: s.enter},
		{id: "up", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", do: move(-1)},
		{id: "down", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: s.Say("class.field"), do: move(1)},
		{id: "back", keysOnly: true, keys: []ebiten.Key{ebiten.KeyBackspace}, cap: "cap.backspace", label: s.Say("class.rub"), repeat: true, do: s.form.rub},
		help,
		{id: "sheet", keys: []ebiten.Key{ebiten.KeyF2}, cap: "cap.f2", label: s.Say("sheet.make"), do: s.to.Sheet},
		s.leaveAction(s.to),
	}
}

// enter goes on with what has been typed.
func (s *joinScene) enter() {
	if s.form.enter() {
		s.to.PlaySeries()
	}
}

func (s *joinScene) Update(in *state) {
	if in.pressed && s.finger != in.touch {
		s.finger = in.touch
		s.redraw()
	}
	if now := fmt.Sprint(s.form.at, s.form.text); s.told != now {
		s.told = now
		line, right, wrong := s.form.check(s.form.at)
		s.note("typed", map[string]any{"field": s.form.at, "text": s.form.text[s.form.at], "says": line, "right": right, "wrong": wrong})
	}
	changed, play := s.form.update()
	if changed {
		s.redraw()
	}
	if play {
		s.to.PlaySeries()
	}
}
