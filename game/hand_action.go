package game

import (
	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"
)

// action is one thing a screen can do: by key, by a click on its key cap, and
// named in the bar along the bottom.
type action struct {
	id       string
	keys     []ebiten.Key
	cap      string // word key of what stands on the key cap; empty keeps it out of the bar
	label    string // what it does, as text
	repeat   bool   // goes on while the key is held
	on       bool   // what it switches is on: its cap is filled
	dynamic  bool   // changes only what moves: the static layer need not be drawn again
	keysOnly bool   // needs a keyboard: a finger does it elsewhere on the screen
	do       func()
}

// held reports whether one of the keys starts an action in this tick: when it
// goes down, and for a repeating one again 15 times a second after 0.4 s.
func (a action) held() bool {
	for _, k := range a.keys {
		if a.starts(inpututil.KeyPressDuration(k)) {
			return true
		}
	}
	return false
}

// starts reports whether a key or button that has been held for so many ticks
// starts the action.
func (a action) starts(held int) bool {
	return held == 1 || a.repeat && held > 24 && held%4 == 0
}

// shiftHeld reports whether a shift key is held.
func shiftHeld() bool { return ebiten.IsKeyPressed(ebiten.KeyShift) }

// enterKeys are the two keys that choose.
var enterKeys = []ebiten.Key{ebiten.KeyEnter, ebiten.KeyNumpadEnter}

// do starts the first of the actions whose key or button is pressed in this
// tick, or else moves the focus. It reports whether the static layer must be
// drawn again.
func (a *areas) run(in *state, all []action, f form) bool {
	for _, act := range all {
		if act.held() || in.pad.starts(act) {
			act.do()
			return !act.dynamic
		}
	}
	if way := in.pad.moves(); way != 0 {
		a.moveFocus(way < 0, f)
		return true
	}
	return false
}
