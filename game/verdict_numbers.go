package game

import (
	"image/color"
	"math"

	"slowneedle/drills"
)

// figure is one line of the verdict's numbers.
type figure struct {
	key, value string
	c          color.NRGBA
}

// tone picks the colour of a verdict.
func (c *canvas) tone(right, spoiled bool) color.NRGBA {
	switch {
	case right:
		return c.th.teal
	case spoiled:
		return c.th.brick
	}
	return c.th.ink
}

// figures are the numbers of a verdict as its drill lists them.
func (s *verdictScene) figures(g *Game, c *canvas) []figure {
	var all []figure
	for _, f := range s.job.ex.Figures(s.verdict, s.damage) {
		tone := map[drills.Tone]color.NRGBA{
			drills.ToneNone: c.th.ink, drills.ToneGood: c.th.teal, drills.ToneWarn: c.th.amber, drills.ToneBad: c.th.brick,
		}[f.Tone]
		all = append(all, figure{g.put(f.Name), g.figure(f), tone})
	}
	return all
}

// figure writes the value of a figure with its unit.
func (g *Game) figure(f drills.Figure) string {
	n := g.number(f.Value, f.Decimals)
	if f.Signed {
		n = g.signed(f.Value, f.Decimals)
	}
	if f.Text.Code != "" {
		return g.put(f.Text)
	}
	switch f.Unit {
	case drills.UnitNone:
		return n
	case drills.UnitSeconds:
		return g.seconds(f.Value)
	case drills.UnitSamples:
		return g.say("verdict.samples", int64(f.Value))
	}
	return g.say("unit."+string(f.Unit), n)
}

// drawNumbers lists the verdict's figures.
func (s *verdictScene) drawNumbers(g *Game, c *canvas, r rect) {
	rows := s.figures(g, c)
	if c.m.upright && s.halves(g, c, rows, r.w) || c.m.lying && r.h < 1.4*c.m.least*float64(len(rows)) {
		s.drawNumbersTwice(g, c, r, rows)
		return
	}
	step := math.Min(r.h/float64(len(rows)), 56)
	size := math.Max(math.Min(20/math.Sqrt(c.m.text), step*0.5/c.m.text), c.m.least/c.m.text)
	for i, row := range rows {
		y := r.y + step*(float64(i)+0.62)
		key := style{size: math.Max(size*0.8, math.Min(size, c.m.least/c.m.text)), c: c.th.dim}
		name := row.key
		c.text(r.x, y, name, key)
		c.fit(r.right(), y, r.w-c.width(name, key)-12, row.value, style{size: size, c: row.c, bold: true, align: right})
		c.rule(r.x, r.right(), r.y+step*float64(i+1)-step*0.08, 1, c.th.faint)
	}
}

// twiceGap is the gap between two columns of figures, twiceText their size.
const twiceGap, twiceText = 28.0, 14.0

// halves says whether the figures fit in half of a width.
func (s *verdictScene) halves(g *Game, c *canvas, rows []figure, w float64) bool {
	st := style{size: math.Max(twiceText, c.m.least/c.m.text)}
	for _, row := range rows {
		name, value := c.width(row.key, st), c.width(row.value, style{size: st.size, bold: true})
		if name+value+8 > (w-twiceGap)/2 {
			return false
		}
	}
	return true
}

// drawNumbersTwice lists them in two columns.
func (s *verdictScene) drawNumbersTwice(g *Game, c *canvas, r rect, rows []figure) {
	const gap = twiceGap
	w := (r.w - gap) / 2
	lines := (len(rows) + 1) / 2
	step := math.Min(r.h/float64(lines), 40*c.m.text)
	st := style{size: math.Max(twiceText, c.m.least/c.m.text), c: c.th.dim}
	for i, row := range rows {
		x, y := r.x+(w+gap)*float64(i/lines), r.y+step*float64(i%lines)
		name := row.key
		base := y + step*0.5 + st.size*c.m.text*0.35
		c.fit(x, base, w-c.width(row.value, style{size: st.size, bold: true})-8, name, st)
		value := style{size: st.size * 1.1, c: row.c, bold: true, align: right}
		if room := w - c.width(name, st) - 8; c.width(row.value, value) > room {
			value.size = st.size
		}
		c.text(x+w, base, row.value, value)
		c.rule(x, x+w, y+step, 1, c.th.faint)
	}
}

// seconds writes a duration in the interface's words.
func (g *Game) seconds(s float64) string {
	if s < 60 {
		return g.say("unit.s", g.short(s))
	}
	return g.say("unit.min_s", int(s)/60, int(s)%60)
}
