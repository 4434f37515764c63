package home

import (
	"math"
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
)

// part is one drill of the practice that is due, or a recording of the learner's own.
type part struct {
	name, rounds string
	about        string      // what it asks; empty of a recording
	steps        [][2]string // families, and the step that it is on with each
}

// drawPlan shows what comes in the practice that is due and, where there is one, how the
// last went.
func (s *Scene) drawPlan(c *draw.Canvas, r draw.Rect, parts []part) {
	th := c.Theme
	c.Fill(r, 12, th.Panel)
	in := r.Inset(24, 14)
	if last := s.Session.Records.Last(); len(last.Done) > 0 {
		var foot draw.Rect
		foot, in = in.CutBottom(math.Min(in.H*0.36, 70+90*c.M.Text))
		s.drawLast(c, foot.Inset(-16, 0), last)
		c.Rule(in.X, in.Right(), foot.Y-6, 1, th.Faint)
		_, in = in.CutBottom(10)
	}
	head := draw.Style{Size: 14, Color: th.Dim}
	title := s.Say("home.plan")
	if s.Prefs.Family == source.Own {
		title = s.Say("own.title")
	}
	top, in := in.CutTop(c.Lead(head))
	c.Fit(top.X, top.Y+c.Size(head), top.W, title, head)
	whole, name := in.H, draw.Style{Size: 20, Color: th.Ink, Bold: true}
	for _, p := range parts {
		high := whole / float64(max(2, len(parts)))
		if p.about == "" {
			high = 1.6 * c.Lead(name)
		}
		if in.H < math.Max(high-1, c.Lead(name)) {
			return
		}
		var row draw.Rect
		row, in = in.CutTop(high)
		p.draw(c, row, name)
	}
}

// draw writes a part; what has no room of what it asks and of its steps is left out.
func (p part) draw(c *draw.Canvas, r draw.Rect, name draw.Style) {
	value := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Right}
	dim := draw.Style{Size: 15, Color: c.Theme.Dim}
	y := r.Y + c.Size(name)*1.1
	line := func(left string, leftStyle draw.Style, right string) {
		l, w := c.Share(r.W-12, left, leftStyle, right, value)
		c.Fit(r.X, y, l, left, leftStyle)
		c.Fit(r.Right(), y, w, right, value)
	}
	line(p.name, name, p.rounds)
	y += c.Lead(name)
	about := c.Block(p.about, r.W, dim)
	if p.about != "" && y+about.Height()+c.Lead(dim)*float64(len(p.steps)) <= r.Bottom() {
		y = c.Print(r.X, y, about) + 6
	}
	for _, step := range p.steps {
		if y > r.Bottom()-6 {
			return
		}
		c.Rule(r.X, r.Right(), y+7, 1, c.Theme.Faint)
		line(step[0], dim, step[1])
		y += c.Lead(dim) + 3
	}
}

// coming is what comes: drills with their sources, or the recordings that rounds are made
// from.
func (s *Scene) coming() (all []part) {
	if s.Prefs.Family == source.Own {
		for _, rec := range s.Session.Own.List {
			all = append(all, part{name: rec.Name})
		}
		return all
	}
	r := s.Session.Records
	turns := r.Due(s.Prefs.Drill, s.Prefs.Family).Ahead
	var ids []string
	for _, t := range turns {
		if !slices.Contains(ids, t.Drill) {
			ids = append(ids, t.Drill)
		}
	}
	for _, id := range ids {
		var families []source.Family
		rounds := 0
		for _, t := range turns {
			if t.Drill != id {
				continue
			}
			if rounds++; !slices.Contains(families, t.Family) {
				families = append(families, t.Family)
			}
		}
		all = append(all, part{s.DrillName(id), s.Say("home.plan_rounds", rounds), s.Explain(id), s.steps(id, families)})
	}
	return all
}

// steps are families with the step that a drill is on with each.
func (s *Scene) steps(drill string, families []source.Family) (all [][2]string) {
	for _, f := range families {
		step := s.Session.Records.Book.Ladder(progress.Key{Drill: drill, Family: f}, time.Now()).Now()
		all = append(all, [2]string{s.Say("family." + string(f)), s.Say("home.step", step)})
	}
	return all
}
