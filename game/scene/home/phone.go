package home

import (
	"math"

	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// drawPhone is the first screen on a phone: the choices as chips where they all
// have room, otherwise a row each, and the big button.
func (s *Scene) drawPhone(c *draw.Canvas, bar float64) {
	point := c.M.Finger / draw.FingerPoints
	wide := c.M.W - 2*draw.Margin
	title := draw.Style{Size: 40 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}
	sub := draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: c.Theme.Dim}
	y := 22*point + title.Size*c.M.Text*0.72
	c.Text(draw.Margin, y, "slowneedle", title)
	about := s.Say("home.job")
	if s.Session.Records.Book.Len() > 0 {
		about = s.Say("home.takes", s.Session.Records.Book.Len())
	}
	if c.M.Landscape { // beside the name
		x := draw.Margin + c.Width("slowneedle", title) + 24
		if lines := c.Wrap(about, c.M.W-draw.Margin-x, sub); len(lines) < 3 {
			at := y - c.Lead(sub)*float64(len(lines)-1)/2
			for _, l := range lines {
				c.Text(x, at, l, sub)
				at += c.Lead(sub)
			}
		}
		y += 12 * point
		left := (wide - 32) * 0.56
		s.drawPicks(c, draw.R(draw.Margin, y, left, bar-y-4*point))
		s.drawBegin(c, draw.R(draw.Margin+left+32, y, wide-left-32, bar-y-8*point))
		return
	}
	foot := c.M.Finger*1.5 + 40*point
	lines := c.Wrap(about, wide, sub)
	free := bar - foot - y - 20*point - c.Lead(sub)*float64(len(lines))
	if free < s.chipsHigh(c, wide) && len(lines) > 1 {
		lines = nil // what it is about gives way to what there is to choose
	}
	y += 8 * point
	for _, l := range lines {
		y += c.Lead(sub)
		c.Text(draw.Margin, y, l, sub)
	}
	y += 10 * point
	place := draw.R(draw.Margin, y, wide, bar-foot-y)
	if high := s.chipsHigh(c, wide); place.H >= high {
		s.drawChips(c, place, math.Min(14*point, (place.H-high)/3))
	} else {
		s.drawPicks(c, place)
	}
	s.drawBegin(c, draw.R(draw.Margin, bar-foot, wide, foot-10*point))
}

// pickTitle is the height of what stands over a group of chips, in units of text.
const pickTitle = 26

// chipsHigh is the height that all chips need under their titles.
func (s *Scene) chipsHigh(c *draw.Canvas, wide float64) float64 {
	high := 0.0
	for _, p := range s.picks() {
		rows, x := 1, 0.0
		for _, ch := range p.all {
			w := widget.ChipWidth(c, ch)
			if x > 0 && x+w > wide {
				rows, x = rows+1, 0
			}
			x += w + 10
		}
		high += pickTitle*c.M.Text + (c.M.Finger+10)*float64(rows)
	}
	return high
}

func (s *Scene) drawChips(c *draw.Canvas, r draw.Rect, gap float64) {
	y := r.Y
	for _, p := range s.picks() {
		c.Text(r.X, y+(pickTitle-8)*c.M.Text, p.title, draw.Style{Size: 15, Color: c.Theme.Dim})
		y = s.Chips(c, p.id, r.X, y+pickTitle*c.M.Text, r.W, p.all, p.chosen, p.choose) + 10 + gap
	}
}

// drawPicks is a row for each choice, with arrows.
func (s *Scene) drawPicks(c *draw.Canvas, r draw.Rect) {
	picks := s.picks()
	row := math.Min(c.M.Finger*1.7, r.H/float64(len(picks)))
	room := 0.0
	for _, p := range picks {
		for _, ch := range p.all {
			room = math.Max(room, widget.ValueWidth(c, ch.Label, row))
		}
	}
	for i, p := range picks {
		at := draw.R(r.X, r.Y+row*float64(i), r.W, row)
		now := widget.ChoiceLabel(p.all, p.chosen)
		wide := math.Max(math.Min(room, r.W*0.74), widget.ValueWidth(c, now, row))
		s.DrawRow(c, widget.ListRow{Name: p.id, Label: p.title, Value: now}, false, at, wide, func(by int) { p.choose(widget.NextChoice(p.all, p.chosen, by)) })
	}
}

// drawBegin is the big button, and what it starts.
func (s *Scene) drawBegin(c *draw.Canvas, r draw.Rect) {
	point := c.M.Finger / draw.FingerPoints
	st := draw.Style{Size: 24, Bold: true}
	bh := c.M.Finger * 1.4
	b := draw.R(r.X, r.Y+(r.H-bh)/2, c.Width(s.Say("home.start_big"), st)+40*point, bh)
	type line struct {
		text string
		st   draw.Style
	}
	x, w := b.Right()+16*point, r.Right()-b.Right()-16*point
	if c.M.Landscape {
		x, w = r.X, r.W
	}
	var lines []line
	add := func(text string, st draw.Style) {
		if text == "" {
			return
		}
		for _, l := range c.Wrap(text, w, st) {
			lines = append(lines, line{l, st})
		}
	}
	if s.Silent() {
		add(s.Say("sound.none"), draw.Style{Size: 15, Color: c.Theme.Amber})
	}
	what, why := s.startWords()
	add(what, draw.Style{Size: 16, Color: c.Theme.Ink})
	add(why, draw.Style{Size: 15, Color: c.Theme.Dim})
	lead := c.Lead(draw.Style{Size: 15})
	mid := r.Y + r.H/2
	if c.M.Landscape { // over the lines
		b.W = r.W
		b.Y = r.Y + math.Max(0, (r.H-bh-10*point-lead*float64(len(lines)))/2)
		mid = b.Bottom() + 10*point + lead*float64(len(lines))/2
	}
	y := mid - lead*float64(len(lines))/2 + lead*0.74
	for _, l := range lines {
		c.Text(x, y, l.text, l.st)
		y += lead
	}
	s.Button(c, "start", b, s.Say("home.start_big"), 24, true, s.To.Start)
}
