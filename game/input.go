package game

import (
	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"
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
func (p *pointer) read(m metrics) {
	p.pressed, p.released = false, false
	_, p.wheel = ebiten.Wheel()
	if p.touch {
		if inpututil.IsTouchJustReleased(p.finger) {
			p.down, p.released = false, true
			return
		}
		if p.down {
			x, y := ebiten.TouchPosition(p.finger)
			p.x, p.y = float64(x)/m.unit, float64(y)/m.unit
			return
		}
		p.touch = false
	}
	p.fingers = inpututil.AppendJustPressedTouchIDs(p.fingers[:0])
	if len(p.fingers) > 0 {
		p.touch, p.finger, p.down, p.pressed = true, p.fingers[0], true, true
		x, y := ebiten.TouchPosition(p.finger)
		p.x, p.y = float64(x)/m.unit, float64(y)/m.unit
		return
	}
	x, y := ebiten.CursorPosition()
	p.x, p.y = float64(x)/m.unit, float64(y)/m.unit
	p.pressed = inpututil.IsMouseButtonJustPressed(ebiten.MouseButtonLeft)
	p.released = inpututil.IsMouseButtonJustReleased(ebiten.MouseButtonLeft)
	p.down = ebiten.IsMouseButtonPressed(ebiten.MouseButtonLeft)
}

// pad reads the gamepads: how far the stick is pushed up, -1 to 1 with a dead
// middle, and whether the buttons for enter and escape went down.
type pad struct {
	ids           []ebiten.GamepadID
	up            float64
	enter, escape bool
}

const deadStick = 0.18

func (p *pad) read() {
	p.up, p.enter, p.escape = 0, false, false
	p.ids = ebiten.AppendGamepadIDs(p.ids[:0])
	for _, id := range p.ids {
		var v float64
		if ebiten.IsStandardGamepadLayoutAvailable(id) {
			v = -ebiten.StandardGamepadAxisValue(id, ebiten.StandardGamepadAxisLeftStickVertical)
			p.enter = p.enter || inpututil.IsStandardGamepadButtonJustPressed(id, ebiten.StandardGamepadButtonRightBottom)
			p.escape = p.escape || inpututil.IsStandardGamepadButtonJustPressed(id, ebiten.StandardGamepadButtonRightRight)
		} else {
			v = -ebiten.GamepadAxisValue(id, 1)
			p.enter = p.enter || inpututil.IsGamepadButtonJustPressed(id, ebiten.GamepadButton0)
			p.escape = p.escape || inpututil.IsGamepadButtonJustPressed(id, ebiten.GamepadButton1)
		}
		if stick := deadened(v); stick != 0 {
			p.up = stick
		}
	}
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
