package game

import (
	"slices"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"slowneedle/game/draw"
)

// pointer is the mouse or the first finger, in units.
type pointer struct {
	x, y     float64
	down     bool // held now
	pressed  bool // went down in this tick
	released bool // went up in this tick
	touch    bool // a finger
	wheel    float64
	finger   ebiten.TouchID
	fingers  []ebiten.TouchID
}

// read takes in this tick's state.
func (p *pointer) read(m draw.Metrics) {
	p.pressed, p.released = false, false
	_, p.wheel = ebiten.Wheel()
	if p.touch {
		if inpututil.IsTouchJustReleased(p.finger) {
			p.down, p.released = false, true
			return
		}
		if p.down {
			x, y := ebiten.TouchPosition(p.finger)
			p.x, p.y = float64(x)/m.Unit, float64(y)/m.Unit
			return
		}
		p.touch = false
	}
	p.fingers = inpututil.AppendJustPressedTouchIDs(p.fingers[:0])
	if len(p.fingers) > 0 {
		p.touch, p.finger, p.down, p.pressed = true, p.fingers[0], true, true
		x, y := ebiten.TouchPosition(p.finger)
		p.x, p.y = float64(x)/m.Unit, float64(y)/m.Unit
		return
	}
	x, y := ebiten.CursorPosition()
	p.x, p.y = float64(x)/m.Unit, float64(y)/m.Unit
	p.pressed = inpututil.IsMouseButtonJustPressed(ebiten.MouseButtonLeft)
	p.released = inpututil.IsMouseButtonJustReleased(ebiten.MouseButtonLeft)
	p.down = ebiten.IsMouseButtonPressed(ebiten.MouseButtonLeft)
}

// pad reads the gamepads: how far the stick is pushed up, -1 to 1 with a dead
// middle, and for how many ticks each of its buttons has been held.
type pad struct {
	ids  []ebiten.GamepadID
	up   float64
	held [len(padButtons)]int
}

const deadStick = 0.18

// padButtons are the buttons of the standard layout that do something, by the
// actions they start.
var padButtons = [...]struct {
	button ebiten.StandardGamepadButton
	starts []string
	focus  int // where no screen has such an action: it moves the focus on, or back
}{
	{ebiten.StandardGamepadButtonRightBottom, []string{"enter"}, 0},
	{ebiten.StandardGamepadButtonRightRight, []string{"esc"}, 0},
	{ebiten.StandardGamepadButtonRightLeft, []string{"space"}, 0},
	{ebiten.StandardGamepadButtonRightTop, []string{"help"}, 0},
	{ebiten.StandardGamepadButtonLeftTop, []string{"up"}, -1},
	{ebiten.StandardGamepadButtonLeftBottom, []string{"down"}, 1},
	{ebiten.StandardGamepadButtonLeftLeft, []string{"left", "less"}, -1},
	{ebiten.StandardGamepadButtonLeftRight, []string{"right", "more"}, 1},
	{ebiten.StandardGamepadButtonFrontTopRight, []string{"pageup"}, 0},
	{ebiten.StandardGamepadButtonFrontTopLeft, []string{"pagedown"}, 0},
}

// padEnter is the place in padButtons of the one that chooses.
const padEnter = 0

func (p *pad) read() {
	p.up, p.held = 0, [len(padButtons)]int{}
	p.ids = ebiten.AppendGamepadIDs(p.ids[:0])
	for _, id := range p.ids {
		var v float64
		if ebiten.IsStandardGamepadLayoutAvailable(id) {
			v = -ebiten.StandardGamepadAxisValue(id, ebiten.StandardGamepadAxisLeftStickVertical)
			for i, b := range padButtons {
				p.held[i] = max(p.held[i], inpututil.StandardGamepadButtonPressDuration(id, b.button))
			}
		} else {
			v = -ebiten.GamepadAxisValue(id, 1)
			for i, b := range []ebiten.GamepadButton{ebiten.GamepadButton0, ebiten.GamepadButton1} { // enter, esc
				p.held[i] = max(p.held[i], inpututil.GamepadButtonPressDuration(id, b))
			}
		}
		if stick := deadened(v); stick != 0 {
			p.up = stick
		}
	}
}

// busy says whether a button is held or the stick is pushed.
func (p *pad) busy() bool {
	return p.up != 0 || p.held != [len(padButtons)]int{}
}

// starts says whether a button starts an action in this tick.
func (p *pad) starts(a action) bool {
	for i, b := range padButtons {
		if slices.Contains(b.starts, a.id) && a.now(p.held[i]) {
			return true
		}
	}
	return false
}

// moves says which way the buttons move the focus in this tick: 1 on, -1 back,
// 0 not at all.
func (p *pad) moves() int {
	for i, b := range padButtons {
		if p.held[i] == 1 && b.focus != 0 {
			return b.focus
		}
	}
	return 0
}

// deadened removes the stick's dead middle and bends its travel, so that small
// pushes are fine moves.
func deadened(v float64) float64 {
	switch {
	case v > deadStick:
		v = (v - deadStick) / (1 - deadStick)
		return v * v
	case v < -deadStick:
		v = (-v - deadStick) / (1 - deadStick)
		return -v * v
	}
	return 0
}
