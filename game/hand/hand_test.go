package hand

import (
	"math"
	"slices"
	"testing"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/page"
)

// A held key that repeats starts its action at once, then again after 0.4 s, 15 times a
// second, at 60 ticks a second; one that does not repeat starts it once.
func TestHeldKeys(t *testing.T) {
	starts := func(a Action) (at []int) {
		for tick := 1; tick <= 60; tick++ {
			if a.starts(tick) {
				at = append(at, tick)
			}
		}
		return at
	}
	if got := starts(Action{}); !slices.Equal(got, []int{1}) {
		t.Errorf("a key that does not repeat starts its action at %v", got)
	}
	got := starts(Action{Repeat: true})
	if len(got) != 1+9 || got[0] != 1 || got[1] < 24 || got[1] > 28 || got[2]-got[1] != 4 {
		t.Errorf("a key that repeats starts its action at %v", got)
	}
}

// Presses that fall into one frame are handed on one a tick, in their order, each with
// the shift key of its own time; a tick that is busy gets none.
func TestKeysWaitForTheirTick(t *testing.T) {
	var k keyboard
	k.add(ebiten.KeyA, false)
	k.add(ebiten.KeyShiftLeft, true) // does nothing alone
	k.add(ebiten.KeyB, true)
	k.next(true)
	if k.Went(ebiten.KeyA) || !k.busy() {
		t.Error("a press is handed to a tick that is busy, or is lost")
	}
	for _, want := range []struct {
		key   ebiten.Key
		shift bool
	}{{ebiten.KeyA, false}, {ebiten.KeyB, true}} {
		if k.next(false); !k.Went(want.key) || ShiftHeld() != want.shift {
			t.Errorf("the tick has %v with shift %v, want %v with %v", k.now.key, ShiftHeld(), want.key, want.shift)
		}
	}
	if k.next(false); k.Went(ebiten.KeyB) || k.busy() || ShiftHeld() {
		t.Error("a key that is up is held still")
	}
}

// The stick does nothing near its middle, moves finely beside it, alike both ways, and
// is at its end where it ends.
func TestStick(t *testing.T) {
	last := 0.0
	for v := 0.0; v <= 1; v += 0.01 {
		got := deadened(v)
		if got < last || got > v || math.Abs(got+deadened(-v)) > 1e-12 {
			t.Fatalf("at %.2f the stick is %.3f, after %.3f, and %.3f the other way", v, got, last, deadened(-v))
		}
		if v < deadStick && got != 0 {
			t.Fatalf("at %.2f, in the dead middle, the stick is %.3f", v, got)
		}
		last = got
	}
	if got := deadened(1); math.Abs(got-1) > 1e-12 {
		t.Errorf("at its end the stick is %.3f", got)
	}
}

// A button of the pad starts the action it is for; where no screen has that, the pad's
// cross moves the focus.
func TestPad(t *testing.T) {
	at := func(id string) int {
		return slices.IndexFunc(padButtons[:], func(b struct {
			button ebiten.StandardGamepadButton
			starts []string
			focus  int
		}) bool {
			return slices.Contains(b.starts, id)
		})
	}
	for _, c := range []struct {
		button, act string
		acts        bool
		focus       int
	}{{"enter", "enter", true, 0}, {"up", "enter", false, -1}, {"right", "right", true, 0}, {"right", "", false, 1}, {"left", "less", true, 0}} {
		var in State
		in.Pad.held[at(c.button)] = 1
		done := false
		a := Areas{list: []hitArea{{name: "first"}, {name: "second"}, {name: "third"}}, Focus: "second"}
		a.Run(&in, []Action{{ID: c.act, Do: func() { done = true }}}, nil)
		want := map[int]string{-1: "first", 0: "second", 1: "third"}[c.focus]
		if done != c.acts || a.Focus != want {
			t.Errorf("the button for %s with the action %q: done %v, focus on %q, want %v and %q", c.button, c.act, done, a.Focus, c.acts, want)
		}
	}
}

// form is one with a single field.
type form struct{ field, text string }

func (f *form) Field() string { return f.field }
func (f *form) TypeInto(name string) bool {
	if name == "name" {
		f.field = name
	}
	return name == "name"
}
func (f *form) Write(r rune)     { f.text += string(r) }
func (f *form) Fill(text string) { f.text = text }

// The focus goes through the areas as they were added, those of the bar last, and past
// the last to none; in a form it goes round, and a field that it comes to is typed into.
func TestFocus(t *testing.T) {
	var a Areas
	for _, name := range []string{"key.enter", "one", "name", "two"} {
		a.Add(name, draw.Rect{}, func() {})
	}
	a.Order()
	through := func(back bool, f Form) (all []string) {
		for range 5 {
			a.MoveFocus(back, f)
			all = append(all, a.Focus)
		}
		a.Focus = ""
		return all
	}
	if got, want := through(false, nil), []string{"one", "name", "two", "key.enter", ""}; !slices.Equal(got, want) {
		t.Errorf("on: %q, want %q", got, want)
	}
	if got, want := through(true, nil), []string{"key.enter", "two", "name", "one", ""}; !slices.Equal(got, want) {
		t.Errorf("back: %q, want %q", got, want)
	}
	f := &form{field: "name"}
	if got, want := through(false, f), []string{"two", "key.enter", "one", "", "two"}; !slices.Equal(got, want) {
		t.Errorf("in a form: %q, want %q", got, want)
	}
}

// A press goes to what lies on top where it is made; a finger that is up points at
// nothing. What is typed goes into the field, but a space presses a button that has the
// focus, and what the page tells of is done by its name.
func TestPressing(t *testing.T) {
	var a Areas
	var pressed []string
	for _, name := range []string{"under", "over"} {
		a.Add(name, draw.R(0, 0, 10, 10), func() { pressed = append(pressed, name) })
	}
	in := &State{}
	in.X, in.Y, in.Pressed, in.Down = 5, 5, true, true
	if !a.Point(in) || !a.Hovered("over") || !a.Press(in, nil) {
		t.Error("what lies on top is not pressed")
	}
	in.Touch, in.Down, in.Pressed = true, false, false
	if !a.Point(in) || a.Hovered("over") || a.Press(in, nil) {
		t.Error("a finger that is up points at something, or presses it")
	}
	a.Focus = "under"
	in.keyboard = keyboard{now: press{key: ebiten.KeySpace}, held: 1}
	f := &form{field: "name"}
	in.typed = []rune("é ")
	if !a.Write(in, f) || f.text != "é" || !a.Press(in, f) {
		t.Errorf("typed into the field: %q", f.text)
	}
	in.keyboard = keyboard{}
	in.Control = page.Event{Kind: page.Fill, Name: "name", Text: "Moonrake"}
	if !a.Press(in, f) || f.text != "Moonrake" || a.Focus != "" {
		t.Errorf("filled by the page: %q, focus on %q", f.text, a.Focus)
	}
	in.Control = page.Event{Kind: page.Press, Name: "under"}
	a.Press(in, f)
	if want := []string{"over", "under", "under"}; !slices.Equal(pressed, want) {
		t.Errorf("pressed: %q, want %q", pressed, want)
	}
}

// What happens on a page between two ticks is taken in its order up to the second press
// of a pointer or the second control: what follows waits for a tick of its own. A finger
// that is up again within the tick has pressed all the same.
func TestEventsOfThePage(t *testing.T) {
	m := draw.Metrics{W: 1000, H: 500}
	var s State
	taken := 0
	for _, e := range []page.Event{
		{Kind: page.KeyDown, Name: "KeyA"}, {Kind: page.KeyDown, Name: "nonsense"}, {Kind: page.Typed, Text: "aé"}, {Kind: page.Wheel, Y: 2}, {Kind: page.Wheel, Y: 1},
		{Kind: page.PointerDown, X: 0.5, Y: 0.5, Touch: true}, {Kind: page.PointerUp, X: 0.6, Y: 0.5},
	} {
		if !s.take(e, m) {
			break
		}
		taken++
	}
	if taken != 6 || !s.Pressed || s.X != 500 || s.Y != 250 || !s.Touch || s.Wheel != 3 || string(s.typed) != "aé" || !s.keyboard.down[ebiten.KeyA] {
		t.Errorf("%d events are taken: pressed %v at %g, %g, wheel %g, typed %q", taken, s.Pressed, s.X, s.Y, s.Wheel, string(s.typed))
	}
	s.Pressed = false // the next tick
	if !s.take(page.Event{Kind: page.PointerUp, X: 0.6, Y: 0.5}, m) || s.Down || s.Pressed || s.X != 600 {
		t.Error("a finger that is up is down still")
	}
	if !s.take(page.Event{Kind: page.Press, Name: "start"}, m) || s.take(page.Event{Kind: page.Press, Name: "other"}, m) || s.Control.Name != "start" {
		t.Errorf("two controls in one tick: %q", s.Control.Name)
	}
	if s.take(page.Event{Kind: page.KeyUp, Name: "KeyA"}, m); s.keyboard.down[ebiten.KeyA] {
		t.Error("a key that is up is down still")
	}
	s.take(page.Event{Kind: page.KeyDown, Name: "KeyB"}, m)
	if s.take(page.Event{Kind: page.Left}, m); s.keyboard.down[ebiten.KeyB] || s.Down {
		t.Error("a page that was left holds a key still")
	}
}

// A press beside a field, which takes the focus from it, presses what it is on, in
// whatever order the two come.
func TestPressBesideAField(t *testing.T) {
	press, leave := page.Event{Kind: page.PointerDown, X: 0.5, Y: 0.5}, page.Event{Kind: page.Focus}
	m := draw.Measure(1000, 800, 1, 1)
	for _, events := range [][]page.Event{{press, leave, {Kind: page.PointerUp, X: 0.5, Y: 0.5}}, {leave, press}} {
		pressed := 0
		var a Areas
		a.Add("start", draw.R(0, 0, m.W, m.H), func() { pressed++ })
		s := State{events: events}
		for range 3 {
			s.Pressed, s.Control = false, page.Event{}
			s.readPage(m)
			a.Point(&s)
			a.Press(&s, nil)
		}
		if pressed != 1 || len(s.events) > 0 {
			t.Errorf("%v: pressed %d times, %d events left; want once, and none", events, pressed, len(s.events))
		}
	}
}
