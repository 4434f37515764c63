package hand

import (
	"slices"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"slowneedle/game/draw"
	"slowneedle/game/page"
)

// State is what the hands do in one tick.
type State struct {
	pointer
	keyboard
	Pad pad
	// Control is what was done in this tick to a control that the page mirrors; its
	// kind is empty if nothing was.
	Control page.Event
	Filled  int // the number of the last text from a field of the page
	typed   []rune
	events  []page.Event // of the page, not handled yet
}

// Read reads the state of this tick in a window of a size.
func (s *State) Read(m draw.Metrics) {
	s.typed = s.typed[:0]
	s.Pad.read()
	if page.Browser {
		s.Pressed, s.Wheel, s.Control = false, 0, page.Event{}
		s.readPage(m)
		return
	}
	s.pointer.read(m.Unit)
	s.keyboard.read(s.Pressed)
	s.typed = ebiten.AppendInputChars(s.typed)
}

// Busy reports whether something is held, or was and is still to be handed on.
func (s *State) Busy() bool {
	return s.Down || s.keyboard.busy() || s.Pad.busy() || len(s.events) > 0
}

// pointer is the mouse or the first finger, in units.
type pointer struct {
	X, Y    float64
	Down    bool // held now
	Pressed bool // went down in this tick
	Touch   bool // a finger
	Wheel   float64
	finger  ebiten.TouchID
	fingers []ebiten.TouchID
}

// read reads the state of this tick.
func (p *pointer) read(unit float64) {
	p.Pressed = false
	_, p.Wheel = ebiten.Wheel()
	if p.Touch {
		if inpututil.IsTouchJustReleased(p.finger) {
			p.Down = false
			return
		}
		if p.Down {
			x, y := ebiten.TouchPosition(p.finger)
			p.X, p.Y = float64(x)/unit, float64(y)/unit
			return
		}
		p.Touch = false
	}
	p.fingers = inpututil.AppendJustPressedTouchIDs(p.fingers[:0])
	if len(p.fingers) > 0 {
		p.Touch, p.finger, p.Down, p.Pressed = true, p.fingers[0], true, true
		x, y := ebiten.TouchPosition(p.finger)
		p.X, p.Y = float64(x)/unit, float64(y)/unit
		return
	}
	x, y := ebiten.CursorPosition()
	p.X, p.Y = float64(x)/unit, float64(y)/unit
	p.Pressed = inpututil.IsMouseButtonJustPressed(ebiten.MouseButtonLeft)
	p.Down = ebiten.IsMouseButtonPressed(ebiten.MouseButtonLeft)
}

// pad reads the gamepads: how far the stick is pushed up, -1 to 1 with a dead
// middle, and for how many ticks each of its buttons has been held.
type pad struct {
	ids  []ebiten.GamepadID
	Up   float64
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
	p.Up, p.held = 0, [len(padButtons)]int{}
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
			p.Up = stick
		}
	}
}

// busy reports whether a button is held or the stick is pushed.
func (p *pad) busy() bool {
	return p.Up != 0 || p.held != [len(padButtons)]int{}
}

// starts reports whether a button starts an action in this tick.
func (p *pad) starts(a Action) bool {
	for i, b := range padButtons {
		if slices.Contains(b.starts, a.ID) && a.starts(p.held[i]) {
			return true
		}
	}
	return false
}

// moves is which way the buttons move the focus in this tick: 1 on, -1 back,
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
