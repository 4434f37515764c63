package hand

import (
	"slices"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"slowneedle/game/page"
)

// keyboard is what the keys do. Each press is handed to a tick of its own, in the
// order in which they came, so that none is lost when several fall into one frame.
type keyboard struct {
	waiting []press
	now     press               // handed on last
	held    int                 // ticks since then while its key is down; 0 when it is up
	down    map[ebiten.Key]bool // in a browser
	just    []ebiten.Key
}

// press is a key that went down.
type press struct {
	key   ebiten.Key
	shift bool
}

// shift is whether a shift key counts as held in this tick.
var shift bool

// ShiftHeld reports whether a shift key is held, or was when the key went down that
// this tick is about.
func ShiftHeld() bool { return shift }

// read adds what the keys have done since, on the desktop, and hands on the next
// press unless the tick is busy with something else.
func (k *keyboard) read(busy bool) {
	k.just = inpututil.AppendJustPressedKeys(k.just[:0])
	shift := shiftSeen(ebiten.KeyShiftLeft) || shiftSeen(ebiten.KeyShiftRight)
	for _, key := range k.just {
		k.add(key, shift)
	}
	k.next(busy)
}

// shiftSeen reports whether a shift key is down, or was at some time since the last
// tick.
func shiftSeen(key ebiten.Key) bool {
	return ebiten.IsKeyPressed(key) || inpututil.IsKeyJustReleased(key)
}

// add puts a press behind the others. Shift and its like do nothing alone.
func (k *keyboard) add(key ebiten.Key, shift bool) {
	switch key {
	case ebiten.KeyShiftLeft, ebiten.KeyShiftRight, ebiten.KeyControlLeft, ebiten.KeyControlRight,
		ebiten.KeyAltLeft, ebiten.KeyAltRight, ebiten.KeyMetaLeft, ebiten.KeyMetaRight:
		return
	}
	k.waiting = append(k.waiting, press{key, shift})
}

// next hands the next press to this tick, unless that is busy with something else.
func (k *keyboard) next(busy bool) {
	shift = k.shiftDown()
	switch {
	case len(k.waiting) > 0 && !busy:
		k.now, k.held = k.waiting[0], 1
		k.waiting = slices.Delete(k.waiting, 0, 1)
		shift = k.now.shift
	case k.held > 0 && k.isDown(k.now.key):
		k.held++
	default:
		k.held = 0
	}
}

func (k *keyboard) shiftDown() bool {
	return k.isDown(ebiten.KeyShiftLeft) || k.isDown(ebiten.KeyShiftRight)
}

func (k *keyboard) isDown(key ebiten.Key) bool {
	if page.Browser {
		return k.down[key]
	}
	return ebiten.IsKeyPressed(key)
}

// Went reports whether a key went down in this tick.
func (k *keyboard) Went(key ebiten.Key) bool { return k.held == 1 && k.now.key == key }

// busy reports whether a key is down, or was and is still to be handed on.
func (k *keyboard) busy() bool { return k.held > 0 || len(k.waiting) > 0 || k.shiftDown() }
