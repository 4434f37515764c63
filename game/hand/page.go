package hand

import (
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/page"
)

// readPage reads what has happened on the page since, up to the second press, of the
// pointer or of a control: what follows waits for the next tick, so that no tap is lost and
// each is where it was made. A press beside a field takes the focus from it.
func (s *State) readPage(m draw.Metrics) {
	s.events = append(s.events, page.Events()...)
	done := 0
	for _, e := range s.events {
		if !s.take(e, m) {
			break
		}
		done++
	}
	s.events = append(s.events[:0], s.events[done:]...)
	s.next(s.Pressed || s.Control.Kind != "")
}

// take handles an event of the page, or reports that it must wait.
func (s *State) take(e page.Event, m draw.Metrics) bool {
	if s.keyboard.down == nil {
		s.keyboard.down = map[ebiten.Key]bool{}
	}
	switch e.Kind {
	case page.KeyDown, page.KeyUp:
		// The names of the standard, but for those of letters: KeyA.
		var key ebiten.Key
		if key.UnmarshalText([]byte(strings.TrimPrefix(e.Name, "Key"))) != nil {
			return true
		}
		if s.keyboard.down[key] = e.Kind == page.KeyDown; e.Kind == page.KeyDown {
			s.add(key, e.Shift)
		}
	case page.Typed:
		s.typed = append(s.typed, []rune(e.Text)...)
	case page.PointerDown, page.PointerMove, page.PointerUp:
		if s.Pressed || s.Control.Kind != "" && e.Kind == page.PointerDown {
			return false
		}
		s.X, s.Y, s.Touch = e.X*m.W, e.Y*m.H, e.Touch
		s.Pressed = e.Kind == page.PointerDown
		s.Down = s.Pressed || s.Down && e.Kind == page.PointerMove
	case page.Wheel:
		s.Wheel += e.Y
	case page.Left:
		clear(s.keyboard.down)
		s.Down = false
	default: // done to a mirrored control
		if s.Pressed || s.Control.Kind != "" {
			return false
		}
		s.Control = e
		if e.Kind == page.Fill {
			s.Filled = int(e.Value)
		}
	}
	return true
}
