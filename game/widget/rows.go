package widget

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
)

// MoveActions move among n rows, of which one is chosen.
func (s *Screen) MoveActions(n, at int, choose func(i int)) []hand.Action {
	move := func(by int) func() { return func() { choose((at + by + n) % n) } }
	return []hand.Action{
		{ID: "up", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowUp}, Cap: "cap.up", Repeat: true, Do: move(-1)},
		{ID: "down", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowDown}, Cap: "cap.down", Label: s.Say("settings.choose"), Repeat: true, Do: move(1)},
	}
}

// RowActions move among rows and change the chosen one.
func (s *Screen) RowActions(rows []ListRow, at int, choose func(i int)) []hand.Action {
	change := func(by int) func() { return func() { rows[at].change(by) } }
	return append(s.MoveActions(len(rows), at, choose),
		hand.Action{ID: "less", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowLeft}, Cap: "cap.left", Repeat: true, Do: change(-1)},
		hand.Action{ID: "more", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowRight}, Cap: "cap.right", Label: s.Say("settings.change"), Repeat: true, Do: change(1)})
}

// MoreAction goes to the next page of what has no room on one.
func (s *Screen) MoreAction(next func()) hand.Action {
	return hand.Action{ID: "half", Keys: []ebiten.Key{ebiten.KeyPageDown}, Cap: "cap.pagedown", Label: s.Say("settings.more"), Do: next}
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

// ValueWidth is the width a value takes between its arrows, with them.
func ValueWidth(c *draw.Canvas, value string, h float64) float64 {
	return c.Width(value, rowValue(c)) + 2*arrowSide(c, h) + 24
}

// MarkRow marks a row as the chosen one.
func MarkRow(c *draw.Canvas, r draw.Rect) {
	c.Fill(draw.R(r.X, r.Y+2, r.W, r.H-4), 8, c.Theme.Panel)
	c.Fill(draw.R(r.X, r.Y+2, 5, r.H-4), 2, c.Theme.Ink)
}

// ListRow is a row that can be set: its name as a control and in words, its value, and the
// step that arrows beside it take; nil: it is fixed.
type ListRow struct {
	Name, Label, Value string
	Step               func(by int)
}

// change takes a step, where there is one.
func (r ListRow) change(by int) {
	if r.Step != nil {
		r.Step(by)
	}
}

// PageOf splits n rows into pages of at most so many, as even as they can be, and is
// the one that a row is on: its first row, and the first of the next.
func PageOf(n, most, row int) (from, to int) {
	pages := (n + most - 1) / most
	for i := range pages {
		if from, to = i*n/pages, (i+1)*n/pages; row < to {
			break
		}
	}
	return from, to
}

// DrawRows draws rows in columns from the top of a place, none higher than most, with
// their arrows under each other.
func (s *Screen) DrawRows(c *draw.Canvas, rows []ListRow, chosen int, r draw.Rect, columns int, most float64) {
	lines := (len(rows) + columns - 1) / columns
	h := math.Min(most, r.H/float64(lines))
	cols := r.Columns(columns, 34)
	room := 0.0 // for a value between its arrows
	if c.M.Finger == 0 {
		room = math.Max(220, cols[0].W/2) // most values need less: their arrows stay under the pointer that changes them
	}
	for _, row := range rows {
		room = math.Max(room, ValueWidth(c, row.Value, h))
	}
	room = math.Min(room, math.Max(cols[0].W*0.7, 2*arrowSide(c, h)+40))
	for i, row := range rows {
		at := draw.R(cols[i/lines].X, r.Y+h*float64(i%lines), cols[0].W, h)
		s.DrawRow(c, row, i == chosen, at, room)
	}
}

// DrawRow draws a row; room is the width of its value with the arrows.
func (s *Screen) DrawRow(c *draw.Canvas, row ListRow, chosen bool, r draw.Rect, room float64) {
	th := c.Theme
	mid := r.Y + r.H/2
	name, value := draw.Style{Size: 17, Color: th.Dim}, rowValue(c)
	if c.M.Phone {
		name.Size = 15
	}
	if chosen {
		MarkRow(c, r)
		name.Color = th.Ink
	}
	b := arrowSide(c, r.H)
	if row.Step == nil {
		value.Color, value.Bold = th.Dim, false
	}
	c.Rule(r.X, r.Right(), r.Bottom(), 1, th.Faint)
	c.FitLines(r.X+14, mid, r.W-room-26, row.Label, name)
	c.Fit(r.Right()-room/2, mid+c.Size(value)*0.35, room-2*b-8, row.Value, value)
	if row.Step != nil {
		s.Sign(c, row.Name+".less", draw.R(r.Right()-room, mid-b/2, b, b), "‹", s.Say("row.less", row.Label), 20, false, func() { row.Step(-1) })
		s.Sign(c, row.Name+".more", draw.R(r.Right()-b, mid-b/2, b, b), "›", s.Say("row.more", row.Label), 20, false, func() { row.Step(1) })
	}
}
