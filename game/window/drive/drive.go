// Package drive is what tests of the window and tests of the browser edition have in
// common: what the trainer says it does, waiting for it, walks through its screens, and
// what every screen must keep to.
package drive

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"slowneedle/drills"
)

// Patience is how long anything on the screen may take on a busy machine.
const Patience = 60 * time.Second

// Event is one line of what the trainer says it does.
type Event map[string]any

// Is reports whether the event has a name.
func (e Event) Is(name string) bool { return e["event"] == name }

// Str is a text of the event, empty if it has none under that key.
func (e Event) Str(key string) string { s, _ := e[key].(string); return s }

// Num is a number of the event, 0 if it has none under that key.
func (e Event) Num(key string) float64 { f, _ := e[key].(float64); return f }

// On reports whether the event is that a screen was drawn.
func (e Event) On(screen string) bool { return e.Is("screen") && e.Str("scene") == screen }

// Box is a place on a screen, in points.
type Box struct{ X, Y, W, H float64 }

// Places are those that can be pressed on a screen.
func (e Event) Places() map[string]Box {
	all := map[string]Box{}
	places, _ := e["places"].(map[string]any)
	for id, v := range places {
		all[id] = box(v, 0)
	}
	return all
}

// Text is one that stands on a screen, with the size of its letters in points.
type Text struct {
	Words string
	Box
	Size float64
}

// Texts are what is written on a screen.
func (e Event) Texts() (all []Text) {
	list, _ := e["texts"].([]any)
	for _, v := range list {
		words, _ := v.([]any)[0].(string)
		all = append(all, Text{words, box(v, 1), number(v, 5)})
	}
	return all
}

// Says reports whether a text that contains a part stands on a screen.
func (e Event) Says(part string) bool {
	for _, t := range e.Texts() {
		if strings.Contains(t.Words, part) {
			return true
		}
	}
	return false
}

func number(list any, i int) float64 {
	f, _ := list.([]any)[i].(float64)
	return f
}

func box(list any, i int) Box {
	return Box{number(list, i), number(list, i+1), number(list, i+2), number(list, i+3)}
}

// Box returns a place of a screen that must be there.
func (e Event) Box(t testing.TB, id string) Box {
	t.Helper()
	b, ok := e.Places()[id]
	if !ok {
		t.Fatalf("the screen %q has no place %q: %v", e.Str("scene"), id, e["places"])
	}
	return b
}

// Place returns the middle of a place of a screen.
func (e Event) Place(t testing.TB, id string) (x, y float64) {
	t.Helper()
	b := e.Box(t, id)
	return b.X + b.W/2, b.Y + b.H/2
}

// Hands are what a learner does to a trainer that runs, and how a test sees what comes of it.
type Hands interface {
	// Down and Up press and release a key, named as the X Window System names keysyms:
	// Return, Prior, a.
	Down(key string)
	Up(key string)
	// Click presses at a place, in points, until what it does has happened.
	Click(x, y float64, until func() Event) Event
	// Write types a text.
	Write(text string)
	// Events returns what the trainer has said since the last call. If that is nothing it
	// waits a moment.
	Events() []Event
	// Shot leaves a picture of what is shown.
	Shot(name string)
}

// Trainer is one that runs and is driven by a test.
type Trainer struct {
	Hands
	T     testing.TB
	All   []Event // that were read
	Seen  int     // of those, used up by Next
	Shift bool    // the shift key is held throughout
	idle  int     // used up by LetGo
	stage int     // used up by Listens
}

// Next waits for an event that ok accepts, among those not yet used up.
func (d *Trainer) Next(what string, ok func(Event) bool) Event {
	d.T.Helper()
	return d.From(&d.Seen, what, ok)
}

// From waits for an event from an index on and moves the index past it.
func (d *Trainer) From(at *int, what string, ok func(Event) bool) Event {
	d.T.Helper()
	for deadline := time.Now().Add(Patience); ; {
		for *at < len(d.All) {
			e := d.All[*at]
			*at++
			if ok(e) {
				return e
			}
		}
		if time.Now().After(deadline) {
			d.Shot("trouble")
			d.T.Fatalf("no %s within %v; so far: %v", what, Patience, d.summary())
		}
		d.Poll()
	}
}

// Poll reads what the trainer has said since, without using it up.
func (d *Trainer) Poll() {
	d.T.Helper()
	d.All = append(d.All, d.Events()...)
}

// Restarted is to be called when the trainer was started again: what it said before is over.
func (d *Trainer) Restarted() { d.Seen, d.idle, d.stage = len(d.All), len(d.All), len(d.All) }

// summary lists what has happened, for a test that failed.
func (d *Trainer) summary() (all []string) {
	for _, e := range d.All {
		if !e.Is("pace") {
			all = append(all, fmt.Sprint(e["event"], " ", e["scene"], " ", e["ms"]))
		}
	}
	return all
}

// Event waits for one of a name.
func (d *Trainer) Event(name string) Event {
	d.T.Helper()
	return d.Next(name, func(e Event) bool { return e.Is(name) })
}

// Screen waits until a screen stands.
func (d *Trainer) Screen(name string) Event {
	d.T.Helper()
	return d.Next("screen "+name, func(e Event) bool { return e.On(name) })
}

// Listens waits until the screen that listens has come to a stage.
func (d *Trainer) Listens(stage string) Event {
	d.T.Helper()
	return d.From(&d.stage, "listening: "+stage, func(e Event) bool { return e.Is("listen") && e.Str("stage") == stage })
}

// Notice waits for a sentence that contains a part and returns it; it may have been said already.
func (d *Trainer) Notice(part string) string {
	d.T.Helper()
	at := 0
	text := d.From(&at, "a sentence with "+part, func(e Event) bool { return e.Is("notice") && strings.Contains(e.Str("text"), part) }).Str("text")
	if strings.Contains(text, "\n") {
		d.T.Errorf("said more than a sentence: %q", text)
	}
	return text
}

// GoOn lets the trainer run for some seconds, told by its own clock.
func (d *Trainer) GoOn(seconds float64) {
	d.T.Helper()
	d.Poll()
	from, at := d.All[len(d.All)-1].Num("ms"), len(d.All)
	d.From(&at, "time gone", func(e Event) bool { return e.Is("pace") && e.Num("ms")-from > 1000*seconds })
}

// Press holds a key down until what it does has happened.
func (d *Trainer) Press(key string, until func() Event) Event {
	d.T.Helper()
	d.Down(key)
	e := until()
	if d.Shift {
		d.Up(key)
	} else {
		d.Rest(func() { d.Up(key) })
	}
	return e
}

// Rest releases what is held last and waits until the trainer has seen that.
func (d *Trainer) Rest(release func()) {
	d.T.Helper()
	d.idle = d.Seen
	release()
	d.LetGo()
}

// LetGo waits until the trainer has seen that nothing is held any more: a press that
// follows within one of its frames would look like the same one.
func (d *Trainer) LetGo() {
	d.T.Helper()
	d.From(&d.idle, "rest of the hands", func(e Event) bool { return e.Is("idle") })
}

// To presses a key that leads to a screen.
func (d *Trainer) To(key, screen string) Event {
	d.T.Helper()
	return d.Press(key, func() Event { return d.Screen(screen) })
}

// For presses a key after which the trainer says an event of a name.
func (d *Trainer) For(key, event string) Event {
	d.T.Helper()
	return d.Press(key, func() Event { return d.Event(event) })
}

// ClickOn clicks on a place of a screen, which leads to another or to itself.
func (d *Trainer) ClickOn(screen Event, place, leads string) Event {
	d.T.Helper()
	x, y := screen.Place(d.T, place)
	return d.Click(x, y, func() Event { return d.Screen(leads) })
}

// Begin starts the sound of the round whose card stands, and returns the event that tells of
// it and the screen.
func (d *Trainer) Begin() (begun, round Event) {
	d.T.Helper()
	round = d.Press("Return", func() Event { begun = d.Event("begin"); return d.Screen("round") })
	return begun, round
}

// Controls are those of a round that has begun.
func (d *Trainer) Controls(begun Event) (all []drills.Control) {
	d.T.Helper()
	data, err := json.Marshal(begun["controls"])
	if err == nil {
		err = json.Unmarshal(data, &all)
	}
	if err != nil {
		d.T.Fatal(err)
	}
	return all
}

// Louder moves the fader up by so many times 3 dB.
func (d *Trainer) Louder(times int) {
	d.T.Helper()
	for range times {
		d.For("Prior", "fader")
	}
}

// InRound goes from the first screen to a round and starts its sound.
func (d *Trainer) InRound() (begun, round Event) {
	d.T.Helper()
	d.To("Return", "round")
	return d.Begin()
}

// Lock ends the round and returns the verdict and its screen.
func (d *Trainer) Lock() (verdict, screen Event) {
	d.T.Helper()
	screen = d.Press("Return", func() Event { verdict = d.Event("verdict"); return d.Screen("verdict") })
	return verdict, screen
}

// GoesOn goes on from a verdict, to the next card or to the summary of a practice.
func (d *Trainer) GoesOn() Event {
	d.T.Helper()
	return d.Press("Return", func() Event {
		return d.Next("what follows", func(e Event) bool { return e.On("summary") || e.On("round") })
	})
}

// Named types a name into the field that waits for it.
func (d *Trainer) Named(name string) {
	d.T.Helper()
	d.Write(name)
	d.Next("the name", func(e Event) bool { return e.Is("typed") && e.Str("text") == name })
	d.LetGo()
}
