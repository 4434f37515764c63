package game

import (
	"math"

	"slowneedle/game/draw"

	"github.com/hajimehoshi/ebiten/v2"
)

// rowActions move among rows that can be set, and change the chosen one.
func (s *screen) rowActions(move, change func(by int) func()) []action {
	return []action{
		{id: "up", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", repeat: true, do: move(-1)},
		{id: "down", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: s.Say("settings.choose"), repeat: true, do: move(1)},
		{id: "less", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", repeat: true, do: change(-1)},
		{id: "more", keysOnly: true, keys: []ebiten.Key{ebiten.KeyArrowRight}, cap: "cap.right", label: s.Say("settings.change"), repeat: true, do: change(1)},
	}
}

// rowValue is how the value of a row is written.
func rowValue(c *draw.Canvas) draw.Style {
	st := draw.Style{Size: 18, Color: c.Theme.Ink, Align: draw.Middle, Bold: true}
	if c.M.Phone {
		st.Size = 16
	}
	return st
}

// arrowSide is the side of the arrows in a row of a height.
func arrowSide(c *draw.Canvas, h float64) float64 {
	if c.M.Finger > 0 {
		return math.Min(c.M.Finger, h-3)
	}
	return math.Min(34*c.M.Text, h-10)
}

// valueWidth is the width a value takes between its arrows, with them.
func valueWidth(c *draw.Canvas, value string, h float64) float64 {
	return c.Width(value, rowValue(c)) + 2*arrowSide(c, h) + 24
}

// markRow marks a row as the chosen one.
func markRow(c *draw.Canvas, r draw.Rect) {
	c.Fill(draw.R(r.X, r.Y+2, r.W, r.H-4), 8, c.Theme.Panel)
	c.Fill(draw.R(r.X, r.Y+2, 5, r.H-4), 2, c.Theme.Ink)
}

// listRow is a row that can be set: its name as a control and in words, and its
// value, which arrows beside it change, unless it is fixed.
type listRow struct {
	name, label, value string
	fixed              bool
}

// rowList are rows of which one is chosen.
type rowList struct {
	rows   []listRow
	chosen int
	change func(i, by int)
}

// drawRows draws rows where place puts each, with their arrows under each other.
func (s *screen) drawRows(c *draw.Canvas, list rowList, place func(i int) draw.Rect) {
	room := 0.0 // for a value between its arrows
	if c.M.Finger == 0 {
		room = 220
	}
	for i, row := range list.rows {
		room = math.Max(room, valueWidth(c, row.value, place(i).H))
	}
	for i, row := range list.rows {
		s.drawRow(c, row, i == list.chosen, place(i), room, func(by int) { list.change(i, by) })
	}
}

// drawRow draws a row whose arrows are room apart.
func (s *screen) drawRow(c *draw.Canvas, row listRow, chosen bool, r draw.Rect, room float64, change func(by int)) {
	th := c.Theme
	mid := r.Y + r.H/2
	name, value := draw.Style{Size: 17, Color: th.Dim}, rowValue(c)
	if c.M.Phone {
		name.Size = 15
	}
	if chosen {
		markRow(c, r)
		name.Color = th.Ink
	}
	b := arrowSide(c, r.H)
	if row.fixed {
		value.Color, value.Bold = th.Dim, false
	}
	c.Rule(r.X, r.Right(), r.Bottom(), 1, th.Faint)
	c.FitLines(r.X+14, mid, r.W-room-26, row.label, name)
	c.Text(r.Right()-room/2, mid+6*c.M.Text, row.value, value)
	if !row.fixed {
		s.button(c, row.name+".less", draw.R(r.Right()-room, mid-b/2, b, b), "‹", 20, false, func() { change(-1) })
		s.button(c, row.name+".more", draw.R(r.Right()-b, mid-b/2, b, b), "›", 20, false, func() { change(1) })
	}
}
