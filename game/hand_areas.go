package game

import (
	"sort"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"slowneedle/game/draw"
)

// hitArea is a place that can be pressed, or given the focus and then pressed
// by a key.
type hitArea struct {
	name  string
	place draw.Rect
	do    func()
}

// areas are the hit areas of a screen, which of them is pointed at, and which
// has the focus. The zero value has none.
type areas struct {
	list  []hitArea
	hover string
	focus string
}

// form is a screen with fields to type into: Field is the name of the one that
// is being typed into, TypeInto makes it another one if the name is a field's,
// and Write puts a character there.
type form interface {
	Field() string
	TypeInto(name string) bool
	Write(r rune)
}

// clear forgets the areas, to be added again by the next drawing.
func (a *areas) clear() { a.list = a.list[:0] }

// leave forgets what is pointed at and what has the focus: another screen comes.
func (a *areas) leave() { a.hover, a.focus = "", "" }

// add makes a place on the screen one that can be pressed.
func (a *areas) add(name string, place draw.Rect, do func()) {
	a.list = append(a.list, hitArea{name, place, do})
}

// hovered reports whether an area is pointed at.
func (a *areas) hovered(name string) bool { return a.hover == name }

// focused is the place of the area that has the focus, if one has.
func (a *areas) focused() (place draw.Rect, ok bool) {
	for _, h := range a.list {
		if h.name == a.focus {
			return h.place, true
		}
	}
	return draw.Rect{}, false
}

// order puts the areas in the order in which the focus goes through them: as
// they were added, those of the key bar last.
func (a *areas) order() {
	sort.SliceStable(a.list, func(i, j int) bool {
		return !strings.HasPrefix(a.list[i].name, "key.") && strings.HasPrefix(a.list[j].name, "key.")
	})
}

// point updates what is pointed at and reports whether that has changed.
func (a *areas) point(in *state) bool {
	hover := ""
	for _, h := range a.list {
		if h.place.Has(in.x, in.y) {
			hover = h.name
		}
	}
	if in.touch && !in.down {
		hover = ""
	}
	changed := hover != a.hover
	a.hover = hover
	return changed
}

// press lets the pointer and the focus keys press areas. It reports whether it
// used up the tick's press or key. f is the screen's form, nil if it has none.
func (a *areas) press(in *state, f form) bool {
	if in.pressed && a.hover != "" {
		a.focus = ""
		return a.pressed(a.hover)
	}
	if inpututil.IsKeyJustPressed(ebiten.KeyTab) && len(a.list) > 0 {
		a.moveFocus(shiftHeld(), f)
		return true
	}
	if a.focus != "" && (action{keys: enterKeys}.held() || inpututil.IsKeyJustPressed(ebiten.KeySpace) || in.pad.held[padEnter] == 1) {
		return a.pressed(a.focus)
	}
	return false
}

// pressed does what an area is for and reports whether there is such an area.
func (a *areas) pressed(name string) bool {
	for _, h := range a.list {
		if h.name == name {
			h.do()
			return true
		}
	}
	return false
}

// moveFocus gives the focus to the next area, or the one before; past the last
// no area has it, so that enter is the screen's own again. In a form it goes on
// from the field that is being typed into, and a field that it comes to is the
// one to type into from then on.
func (a *areas) moveFocus(back bool, f form) {
	from := a.focus
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
	a.focus = ""
	if at >= 0 && at < len(a.list) {
		a.focus = a.list[at].name
	}
	if f != nil && f.TypeInto(a.focus) {
		a.focus = "" // the field is marked as the one that is typed into
	}
}

// write gives a form what was typed in this tick, and reports whether that was
// anything. It comes ahead of the keys that do something: on a machine that is
// busy, the end of a name and enter come in one tick.
func (a *areas) write(in *state, f form) bool {
	written := false
	for _, r := range in.typed {
		if r != ' ' || a.focus == "" { // on a button it presses
			f.Write(r)
			written = true
		}
	}
	return written
}
