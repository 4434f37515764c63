// Package hand is what the hands do: keyboard, pointer, touch and gamepad, the
// actions of a screen, and its areas that are pressed or have the focus. It owns
// the input of this tick.
package hand

import (
	"slices"

	"github.com/hajimehoshi/ebiten/v2"
)

// Action is one thing a screen can do: by key, by a click on its key cap, and
// named in the bar along the bottom.
type Action struct {
	ID       string
	Keys     []ebiten.Key
	Cap      string // word key of what stands on the key cap; empty keeps it out of the bar
	Label    string // what it does, as text
	Repeat   bool   // goes on while the key is held
	On       bool   // what it switches is on: its cap is filled
	Dynamic  bool   // changes only what moves: the static layer need not be drawn again
	KeysOnly bool   // needs a keyboard: a finger does it elsewhere on the screen
	Do       func()
}

// held reports whether one of the keys starts an action in this tick: when it
// goes down, and for a repeating one again 15 times a second after 0.4 s.
func (a Action) held(in *State) bool {
	return slices.Contains(a.Keys, in.keyboard.now.key) && a.starts(in.keyboard.held)
}

// starts reports whether a key or button that has been held for so many ticks
// starts the action.
func (a Action) starts(held int) bool {
	return held == 1 || a.Repeat && held > 24 && held%4 == 0
}

// EnterKeys are the two keys that choose.
var EnterKeys = []ebiten.Key{ebiten.KeyEnter, ebiten.KeyNumpadEnter}

// Run starts the first of the actions whose key or button is pressed in this
// tick, or else moves the focus. It reports whether the static layer must be
// drawn again.
func (a *Areas) Run(in *State, all []Action, f Form) bool {
	for _, act := range all {
		if act.held(in) || in.Pad.starts(act) {
			act.Do()
			return !act.Dynamic
		}
	}
	if way := in.Pad.moves(); way != 0 {
		a.MoveFocus(way < 0, f)
		return true
	}
	return false
}
