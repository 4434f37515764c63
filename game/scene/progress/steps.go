package progress

import (
	"math"
	"slices"
	"strings"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// mastered is what the grid of steps has in it: a drill's row, family by family.
type mastered struct {
	book  *progress.Book
	takes int // in the book, when it was worked out
	rows  map[string][]progress.Mastery
}

// masteries are worked out when there is another take.
func (s *Scene) masteries(book *progress.Book) map[string][]progress.Mastery {
	m := &s.mastered
	if m.book == book && m.takes == book.Len() {
		return m.rows
	}
	*m = mastered{book, book.Len(), map[string][]progress.Mastery{}}
	now := time.Now()
	for _, d := range drills.Drills() {
		for _, f := range source.Generated() {
			m.rows[d.ID] = append(m.rows[d.ID], book.Mastery(progress.Key{Drill: d.ID, Family: f}, now))
		}
	}
	return m.rows
}

// stepsPlace is where the parts of the grid of steps stand between a top and the bar,
// and how many rows of drills have room.
type stepsPlace struct {
	head, rows, foot draw.Rect
	legend           draw.Block
	fit              int
}

func (s *Scene) placeSteps(c *draw.Canvas, book *progress.Book, top, bar float64) stepsPlace {
	small := draw.Style{Size: 14, Color: c.Theme.Dim}
	least := math.Max(c.Lead(small), c.M.Finger)
	r := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-10)
	var p stepsPlace
	p.head, r = r.CutTop(c.Lead(small) + 4)
	p.legend = c.Block(s.Say("progress.steps_legend", ladder.Top), r.W, small)
	all := least * float64(len(drills.Drills()))
	if heard, known := s.thresholds(book); heard != "" {
		both := c.Block(heard+"\n"+s.Say("progress.steps_legend", ladder.Top), r.W, small)
		// They come before what is not known yet.
		if known && both.Height() < r.H/3 || both.Height()+all <= r.H {
			p.legend = both
		}
	}
	p.foot, p.rows = r.CutBottom(p.legend.Height())
	if spare := p.rows.H - all; spare >= c.Lead(small) && !s.namesFit(c, r.W) {
		more, rows := p.rows.CutTop(c.Lead(small))
		p.head.H, p.rows = p.head.H+more.H, rows
	}
	p.fit = max(1, int(p.rows.H/least))
	return p
}

// drawSteps is the grid of drill by family: a bar as long as the step is high,
// solid where the ladder has settled and an outline before, and a wedge where the error
// grows or shrinks beyond chance. A drill leads to its
// errors. Where not all have room there are pages.
func (s *Scene) drawSteps(c *draw.Canvas, book *progress.Book, p stepsPlace) {
	th, all, list := c.Theme, s.masteries(book), drills.Drills()
	small := draw.Style{Size: 14, Color: th.Dim}
	c.Print(p.foot.X, p.foot.Y+p.legend.Lead-4, p.legend)
	s.first, s.next = widget.PageOf(len(list), p.fit, s.first)
	list = list[s.first:s.next]

	r := p.rows
	name := draw.Style{Size: 17 / math.Sqrt(c.M.Text), Color: th.Ink}
	names := r.W * nameShare
	s.drawFamilies(c, p.head, small)
	high := math.Min(r.H/float64(len(list)), math.Max(54*c.M.Text, 1.5*c.M.Finger))
	for i, d := range list {
		row := draw.R(r.X, r.Y+high*float64(i), r.W, high)
		c.Rule(row.X, row.Right(), row.Y, 1, th.Faint)
		c.FitLines(row.X, row.Y+row.H/2, names-12, s.DrillName(d.ID), name)
		for j, cell := range familyColumns(row) {
			if slices.Contains(d.Families, source.Generated()[j]) {
				s.drawStep(c, cell, all[d.ID][j])
			}
		}
		s.Hit(c, "steps."+d.ID, s.DrillName(d.ID), row, func() {
			if s.drill = d.ID; d.NoError {
				s.drill = ""
			}
			s.errors = true
		})
	}
}

// nameShare is how much of the grid's width the names of the drills take.
const nameShare = 0.26

// familyColumns are the columns of the families in a row of the grid.
func familyColumns(row draw.Rect) []draw.Rect {
	cells, _ := row.CutRight(row.W * (1 - nameShare))
	return cells.Columns(len(source.Generated()), 14)
}

// namesFit reports whether each family's name fits its column of a grid of a width.
func (s *Scene) namesFit(c *draw.Canvas, w float64) bool {
	for j, column := range familyColumns(draw.R(0, 0, w, 0)) {
		if c.Width(s.Say("family."+string(source.Generated()[j])), draw.Style{Size: 14}) > column.W {
			return false
		}
	}
	return true
}

// drawFamilies names the columns: in turns on two lines where the head is that high, in
// short where a name still has no room.
func (s *Scene) drawFamilies(c *draw.Canvas, head draw.Rect, st draw.Style) {
	lines := int(head.H / c.Lead(st))
	columns := familyColumns(head)
	for j, column := range columns {
		room := head.Right() - column.X
		if j+lines < len(columns) {
			room = columns[j+lines].X - column.X - 14
		}
		c.Fit(column.X, head.Y+c.Size(st)+c.Lead(st)*float64(j%lines), room, s.FamilyIn(c, source.Generated()[j], room, st), st)
	}
}

// thresholds tells from how much of each kind of damage on the learner hears it, in the
// drill that asks for it; empty if that was never played. It reports whether any is known.
func (s *Scene) thresholds(book *progress.Book) (text string, known bool) {
	var all []string
	played := false
	for _, kind := range drills.OddKinds() {
		i, answers := book.Threshold(kind)
		played = played || answers > 0
		name := s.Say("odd." + string(kind))
		if !i.OK {
			all = append(all, s.Say("progress.unheard", name, answers, progress.MinThreshold))
			continue
		}
		known = true
		all = append(all, s.Say("progress.heard_from", name, s.Number(i.Value, 1), s.Number(i.Lo, 1), s.Number(i.Hi, 1)))
	}
	if !played {
		return "", false
	}
	return s.Say("progress.heard", strings.Join(all, " · ")), known
}

// drawStep is a cell of the grid.
func (s *Scene) drawStep(c *draw.Canvas, r draw.Rect, m progress.Mastery) {
	th, number := c.Theme, draw.Style{Size: 14, Color: c.Theme.Ink}
	room := c.Width("24", number) + 6
	high := math.Min(18*c.M.Text, r.H*0.5)
	track := draw.R(r.X, r.Y+(r.H-high)/2, r.W-room, high)
	base := r.Y + r.H/2 + c.Size(number)*0.36
	if m.Takes == 0 {
		c.Fill(track, 4, th.Panel)
		number.Color = th.Dim
		c.Text(track.Right()+6, base, "–", number)
		return
	}
	c.Fill(track, 4, th.Panel)
	bar := track
	bar.W = math.Max(8, track.W*float64(m.Step)/ladder.Top)
	if m.Settled {
		c.Fill(bar, 4, th.Teal)
	} else {
		c.Frame(bar.Grow(-1), 4, 2, th.Teal)
	}
	c.Text(track.Right()+6, base, s.Number(float64(m.Step), 0), number)
	x, y, k := track.Right()-10, track.Y+track.H/2, math.Min(5, track.H/4)
	switch t, _ := m.Trend(); {
	case bar.Right() > x-10:
	case t.Excludes(0) && t.Value < 0:
		c.Wedge(x-k, y-k, x+k, y-k, x, y+k, th.Teal)
	case t.Excludes(0):
		c.Wedge(x-k, y+k, x+k, y+k, x, y-k, th.Brick)
	}
}
