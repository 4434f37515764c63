package round

import (
	"image/color"
	"math"

	"slowneedle/drills"
	"slowneedle/game/draw"
)

// figure is one line of the verdict's numbers.
type figure struct {
	name, value string
	c           color.NRGBA
}

// figures are the numbers of a verdict as its drill lists them.
func (s *Verdict) figures(c *draw.Canvas) []figure {
	tones := map[drills.Tone]color.NRGBA{
		drills.ToneNone: c.Theme.Ink, drills.ToneGood: c.Theme.Teal, drills.ToneWarn: c.Theme.Amber, drills.ToneBad: c.Theme.Brick,
	}
	var all []figure
	for _, f := range s.A.Figures(s.Verdict) {
		all = append(all, figure{s.Put(f.Name), s.Figure(f), tones[f.Tone]})
	}
	return all
}

// drawNumbers lists the verdict's figures.
func (s *Verdict) drawNumbers(c *draw.Canvas, r draw.Rect) {
	rows := s.figures(c)
	if c.M.Portrait && s.halves(c, rows, r.W) || c.M.Landscape && r.H < 1.4*c.M.Least*float64(len(rows)) {
		s.drawNumbersTwice(c, r, rows)
		return
	}
	step := math.Min(r.H/float64(len(rows)), 56)
	size := math.Max(math.Min(20/math.Sqrt(c.M.Text), step*0.5/c.M.Text), c.M.Least/c.M.Text)
	for i, row := range rows {
		y := r.Y + step*(float64(i)+0.62)
		key := draw.Style{Size: math.Max(size*0.8, math.Min(size, c.M.Least/c.M.Text)), Color: c.Theme.Dim}
		name := row.name
		c.Text(r.X, y, name, key)
		c.Fit(r.Right(), y, r.W-c.Width(name, key)-12, row.value, draw.Style{Size: size, Color: row.c, Bold: true, Align: draw.Right})
		c.Rule(r.X, r.Right(), r.Y+step*float64(i+1)-step*0.08, 1, c.Theme.Faint)
	}
}

// twiceGap is the gap between two columns of figures, twiceText their size.
const twiceGap, twiceText = 28.0, 14.0

// halves reports whether the figures fit in half of a width.
func (s *Verdict) halves(c *draw.Canvas, rows []figure, w float64) bool {
	st := draw.Style{Size: math.Max(twiceText, c.M.Least/c.M.Text)}
	for _, row := range rows {
		name, value := c.Width(row.name, st), c.Width(row.value, draw.Style{Size: st.Size, Bold: true})
		if name+value+8 > (w-twiceGap)/2 {
			return false
		}
	}
	return true
}

// drawNumbersTwice lists them in two columns.
func (s *Verdict) drawNumbersTwice(c *draw.Canvas, r draw.Rect, rows []figure) {
	const gap = twiceGap
	w := (r.W - gap) / 2
	lines := (len(rows) + 1) / 2
	step := math.Min(r.H/float64(lines), 40*c.M.Text)
	st := draw.Style{Size: math.Max(twiceText, c.M.Least/c.M.Text), Color: c.Theme.Dim}
	for i, row := range rows {
		x, y := r.X+(w+gap)*float64(i/lines), r.Y+step*float64(i%lines)
		name := row.name
		base := y + step*0.5 + st.Size*c.M.Text*0.35
		c.Fit(x, base, w-c.Width(row.value, draw.Style{Size: st.Size, Bold: true})-8, name, st)
		value := draw.Style{Size: st.Size * 1.1, Color: row.c, Bold: true, Align: draw.Right}
		if room := w - c.Width(name, st) - 8; c.Width(row.value, value) > room {
			value.Size = st.Size
		}
		c.Text(x+w, base, row.value, value)
		c.Rule(x, x+w, y+step, 1, c.Theme.Faint)
	}
}
