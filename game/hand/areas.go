package hand

import (
	"sort"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/page"
)

// hitArea is a place that can be pressed, or given the focus and then pressed
// by a key.
type hitArea struct {
	name  string
	place draw.Rect
	do    func()
}

// Areas are the hit areas of a screen, which of them is pointed at, and which
// has the focus. The zero value has none.
type Areas struct {
	list  []hitArea
	hover string
	Focus string
}

// Form is a screen with fields to type into: Field is the name of the one that
// is being typed into, TypeInto makes it another one if the name is a field's,
// Write puts a character there, and Fill makes a text what stands there.
type Form interface {
	Field() string
	TypeInto(name string) bool
	Write(r rune)
	Fill(text string)
}

// Clear forgets the areas, to be added again by the next drawing.
func (a *Areas) Clear() { a.list = a.list[:0] }

// Leave forgets what is pointed at and what has the focus: another screen comes.
func (a *Areas) Leave() { a.hover, a.Focus = "", "" }

// Add makes a place on the screen one that can be pressed.
func (a *Areas) Add(name string, place draw.Rect, do func()) {
	a.list = append(a.list, hitArea{name, place, do})
}

// Hovered reports whether an area is pointed at.
func (a *Areas) Hovered(name string) bool { return a.hover == name }

// Focused is the place of the area that has the focus, if one has.
func (a *Areas) Focused() (place draw.Rect, ok bool) {
	for _, h := range a.list {
		if h.name == a.Focus {
			return h.place, true
		}
	}
	return draw.Rect{}, false
}

// Order puts the areas in the order in which the focus goes through them: as
// they were added, those of the key bar last.
func (a *Areas) Order() {
	sort.SliceStable(a.list, func(i, j int) bool {
		return !strings.HasPrefix(a.list[i].name, "key.") && strings.HasPrefix(a.list[j].name, "key.")
	})
}

// Point updates what is pointed at and reports whether that has changed.
func (a *Areas) Point(in *State) bool {
	hover := ""
	for _, h := range a.list {
		if h.place.Has(in.X, in.Y) {
			hover = h.name
		}
	}
	if in.Touch && !in.Down {
		hover = ""
	}
	changed := hover != a.hover
	a.hover = hover
	return changed
}

// Press lets the pointer, the focus keys and the page's controls press areas. It reports whether it
// used up the tick's press or key. f is the screen's form, nil if it has none.
func (a *Areas) Press(in *State, f Form) bool {
	switch in.Control.Kind {
	case page.Press:
		return a.pressed(in.Control.Name)
	case page.Focus, page.Fill:
		a.Focus = in.Control.Name
		if f != nil && f.TypeInto(a.Focus) {
			a.Focus = ""
			if in.Control.Kind == page.Fill {
				f.Fill(in.Control.Text)
			}
		}
		return true
	}
	if in.Pressed && a.hover != "" {
		a.Focus = ""
		return a.pressed(a.hover)
	}
	if in.Went(ebiten.KeyTab) && len(a.list) > 0 {
		a.MoveFocus(ShiftHeld(), f)
		return true
	}
	if a.Focus != "" && (Action{Keys: EnterKeys}.held(in) || in.Went(ebiten.KeySpace) || in.Pad.held[padEnter] == 1) {
		return a.pressed(a.Focus)
	}
	return false
}

// pressed does what an area is for and reports whether there is such an area.
func (a *Areas) pressed(name string) bool {
	for _, h := range a.list {
		if h.name == name {
			h.do()
			return true
		}
	}
	return false
}

// MoveFocus gives the focus to the next area, or the one before; past the last
// no area has it, so that enter is the screen's own again. In a form it goes on
// from the field that is being typed into, and a field that it comes to is the
// one to type into from then on.
func (a *Areas) MoveFocus(back bool, f Form) {
	from := a.Focus
	if from == "" && f != nil {
		from = f.Field()
	}
	at := -1
	for i, h := range a.list {
		if h.name == from {
			at = i
		}
	}
	switch {
	case back && at < 0:
		at = len(a.list) - 1
	case back:
		at--
	default:
		at++
	}
	if f != nil && len(a.list) > 0 {
		at = (at + len(a.list)) % len(a.list)
	}
	a.Focus = ""
	if at >= 0 && at < len(a.list) {
		a.Focus = a.list[at].name
	}
	if f != nil && f.TypeInto(a.Focus) {
		a.Focus = "" // the field is marked as the one that is typed into
	}
}

// Write gives a form what was typed in this tick, and reports whether that was
// anything. It comes ahead of the keys that do something: on a machine that is
// busy, the end of a name and enter come in one tick.
func (a *Areas) Write(in *State, f Form) bool {
	written := false
	for _, r := range in.typed {
		if r != ' ' || a.Focus == "" { // on a button it presses
			f.Write(r)
			written = true
		}
	}
	return written
}
