package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"slowneedle/game/draw"
)

// action is one thing a screen can do: by key, by a click on its key cap, and
// named in the bar along the bottom.
type action struct {
	id     string
	keys   []ebiten.Key
	cap    string // word key of what stands on the key cap; empty keeps it out of the bar
	label  string // what it does, as text
	repeat bool   // goes on while the key is held
	on     bool   // what it switches is on: its cap is filled
	moves  bool   // changes only what moves: what stands still need not be drawn again
	desk   bool   // for who has a keyboard: a finger does it elsewhere on the screen
	do     func(g *Game)
}

// held says whether one of the keys starts an action in this tick: when it
// goes down, and for a repeating one again 15 times a second after 0.4 s.
func (a action) held() bool {
	for _, k := range a.keys {
		if a.now(inpututil.KeyPressDuration(k)) {
			return true
		}
	}
	return false
}

// now says whether a key or button that has been held for so many ticks starts
// the action.
func (a action) now(held int) bool {
	return held == 1 || a.repeat && held > 24 && held%4 == 0
}

// hot is a place that can be pointed at or given the focus.
type hot struct {
	id string
	r  draw.Rect
	do func(g *Game)
}

func shiftHeld() bool {
	return ebiten.IsKeyPressed(ebiten.KeyShift)
}

var enterKeys = []ebiten.Key{ebiten.KeyEnter, ebiten.KeyNumpadEnter}

// barRow is the height of a row of the key bar, in units of text.
const barRow = 36

// drawBar draws the keys of a screen along the bottom and makes their caps hot.
// What the trainer has to tell stands over them. It returns where the place for
// the screen ends.
func (g *Game) drawBar(c *draw.Canvas, acts []action) float64 {
	if c.M.Phone {
		return g.drawNotice(c, g.drawButtons(c, acts))
	}
	type item struct {
		a          action
		cap        string
		capW, full float64
		row        int
		x          float64
	}
	capSt := draw.Style{Size: 14, Color: c.Theme.Ink, Align: draw.Middle}
	labSt := draw.Style{Size: 15, Color: c.Theme.Dim}
	gap := 24.0
	var items []item
	x, row := float64(draw.Margin), 0
	for _, a := range acts {
		if a.cap == "" {
			continue
		}
		cap := g.Say(a.cap)
		cw := max(26*c.M.Text, c.Width(cap, capSt)+16)
		full := cw
		if a.label != "" {
			full += 8 + c.Width(a.label, labSt)
		}
		if x > draw.Margin && x+full > c.M.W-draw.Margin {
			x, row = draw.Margin, row+1
		}
		items = append(items, item{a, cap, cw, full, row, x})
		x += full + gap
		if a.label == "" {
			x -= gap - 6
		}
	}
	rowH := math.Max(barRow*c.M.Text, c.M.Finger)
	top := c.M.H - 22 - rowH*float64(row+1)
	c.Rule(draw.Margin, c.M.W-draw.Margin, top, 1, c.Theme.Faint)
	for _, it := range items {
		y := top + 12 + rowH*float64(it.row)
		cap := draw.R(it.x, y, it.capW, 26*c.M.Text)
		hit := math.Max(cap.H+8, c.M.Finger-1)
		g.hot("key."+it.a.id, draw.R(it.x, y+cap.H/2-hit/2, it.full, hit), it.a.do)
		st := capSt
		switch {
		case it.a.on:
			c.Fill(cap, 6, c.Theme.Ink)
			st.Color, st.Bold = c.Theme.Ground, true
		case g.hovered("key." + it.a.id):
			c.Fill(cap, 6, c.Theme.Panel)
		}
		c.Frame(cap, 6, 1.2, c.Theme.Dim)
		c.Text(cap.X+cap.W/2, y+18*c.M.Text, it.cap, st)
		c.Text(cap.Right()+8, y+18*c.M.Text, it.a.label, labSt)
	}
	return g.drawNotice(c, top)
}

// hot makes a place clickable on the screen being drawn.
func (g *Game) hot(id string, r draw.Rect, do func(g *Game)) {
	g.hots = append(g.hots, hot{id, r, do})
}

func (g *Game) hovered(id string) bool { return g.hover == id }

// pressHots lets the pointer and the focus keys choose hot places; it says
// whether it used up the tick's press or key.
func (g *Game) pressHots() bool {
	hover := ""
	for _, h := range g.hots {
		if h.r.Has(g.in.x, g.in.y) {
			hover = h.id
		}
	}
	if g.in.touch && !g.in.down {
		hover = ""
	}
	if hover != g.hover {
		g.hover, g.dirty = hover, true
	}
	if g.in.pressed && hover != "" {
		for _, h := range g.hots {
			if h.id == hover {
				g.focus = ""
				h.do(g)
				g.dirty = true
				return true
			}
		}
	}
	if inpututil.IsKeyJustPressed(ebiten.KeyTab) && len(g.hots) > 0 {
		g.moveFocus(shiftHeld())
		return true
	}
	if g.focus != "" && (action{keys: enterKeys}.held() || inpututil.IsKeyJustPressed(ebiten.KeySpace) || g.pad.held[padEnter] == 1) {
		for _, h := range g.hots {
			if h.id == g.focus {
				h.do(g)
				g.dirty = true
				return true
			}
		}
	}
	return false
}

// moveFocus gives the focus to the next hot place, or the one before; past the
// last it is put away, so that enter is the screen's own again. Where there are
// fields to type into, it goes on from the field that is being typed into, and a
// field that it comes to is the one to type into from then on.
func (g *Game) moveFocus(back bool) {
	form, _ := g.scene.(typist)
	from := g.focus
	if from == "" && form != nil {
		from = form.field()
	}
	at := -1
	for i, h := range g.hots {
		if h.id == from {
			at = i
		}
	}
	switch {
	case back && at < 0:
		at = len(g.hots) - 1
	case back:
		at--
	default:
		at++
	}
	if form != nil {
		at = (at + len(g.hots)) % len(g.hots)
	}
	g.focus = ""
	if at >= 0 && at < len(g.hots) {
		g.focus = g.hots[at].id
	}
	if form != nil && form.typeInto(g.focus) {
		g.focus = "" // the field shows by itself that it is the one
	}
	g.dirty = true
}

// takeTyped writes what was typed since the tick before. It comes ahead of the
// keys that do something: on a machine that is busy, the end of a name and enter
// come in one tick.
func (g *Game) takeTyped() {
	form, ok := g.scene.(typist)
	if !ok {
		return
	}
	g.typed = ebiten.AppendInputChars(g.typed[:0])
	for _, r := range g.typed {
		if r != ' ' || g.focus == "" { // on a button it presses
			form.write(r)
			g.dirty = true
		}
	}
}
