package widget

import (
	"image/color"
	"math"
	"slices"

	"slowneedle/audio/chain"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// The ends of a level diagram's scale in dBu.
const levelsTop, levelsFoot = 30.0, -135.0

// DrawLevels draws a level diagram: level and peaks through the stages of a chain,
// between the noise and the points above which each clips, as they were set and,
// in dashes, in the best setting. There is a node and a name for each stage. What is
// playing, if anything is, stands under it.
func DrawLevels(c *draw.Canvas, r draw.Rect, names []string, taken, best []chain.Node, playing string, s *words.Speech) {
	th := c.Theme
	small := draw.Style{Size: 13, Color: th.Dim}
	name := draw.Style{Size: 14, Color: th.Ink, Align: draw.Middle}
	caption := c.Block(s.Say("levels.caption"), r.W-28, small)
	if playing != "" {
		caption = c.Block(playing, r.W-28, draw.Style{Size: 15, Color: th.Ink, Bold: true})
	} else if caption.Height() > r.H*0.2 {
		caption = draw.Block{}
	}
	rows := 1 // of names, in turns where there is little room
	for _, n := range names {
		if c.Width(n, name) > 0.8*r.W/float64(len(names)+1) {
			rows = 2
		}
	}
	foot := 10 + caption.Height() + float64(rows)*c.Lead(name)
	axis, gutter := 14+c.Width("−120", small)+10, 0.0
	for _, key := range []string{"levels.you", "levels.best", "levels.peaks"} {
		gutter = math.Max(gutter, c.Width(s.Say(key), draw.Style{Size: 14, Bold: true}))
	}
	in := draw.R(r.X+axis, r.Y+12, r.W-axis-gutter-22, r.H-12-foot)
	if in.H < 3*c.Size(small) || in.W < 12*float64(len(names)) {
		return // no room for a diagram
	}
	c.Fill(r, 10, th.Panel)
	y := func(dbu float64) float64 {
		return in.Y + in.H*math.Max(0, math.Min(1, (levelsTop-dbu)/(levelsTop-levelsFoot)))
	}
	every := 20.0
	for every*in.H/(levelsTop-levelsFoot) < 1.3*c.Size(small) {
		every *= 2
	}
	for d := 20.0; d > levelsFoot; d -= every {
		c.Rule(in.X, in.Right(), y(d), 1, th.Faint)
		unit := small
		unit.Align = draw.Right
		c.Text(in.X-8, y(d)+c.Size(small)*0.36, s.ShortSigned(d), unit)
	}
	if y(20)-in.Y > c.Size(small) {
		c.Text(r.X+10, in.Y+c.Size(small)*0.5, s.Say("levels.unit"), small)
	}

	columns := in.Columns(len(taken), math.Min(60, in.W*0.05))
	for i, col := range columns {
		n := taken[i]
		c.Fill(draw.R(col.X, y(n.NoiseDBu), col.W, in.Bottom()-y(n.NoiseDBu)), 3, th.Faint)
		c.Line(col.X, y(best[i].NoiseDBu), col.Right(), y(best[i].NoiseDBu), 2, th.Teal)
		if n.ClipDBu < levelsTop {
			at := y(n.ClipDBu)
			c.Line(col.X, at, col.Right(), at, 5, th.Brick)
			if n.HeadroomDB() < 0 { // shape as well as colour
				c.Wedge(col.X+col.W/2-9, at-16, col.X+col.W/2+9, at-16, col.X+col.W/2, at-5, th.Brick)
			}
		}
		wide := float64(rows)*in.W/float64(len(names)) - 4
		c.Fit(col.X+col.W/2, in.Bottom()+float64(1+i%rows)*c.Lead(name)-2, wide, names[i], name)
	}
	path := func(nodes []chain.Node, level func(chain.Node) float64) []draw.Point {
		var pts []draw.Point
		for i, col := range columns {
			at := y(level(nodes[i]))
			pts = append(pts, draw.P(col.X, at), draw.P(col.Right(), at))
		}
		return pts
	}
	of := func(n chain.Node) float64 { return n.LevelDBu }
	peaks := path(taken, func(n chain.Node) float64 { return n.PeakDBu })
	c.Path(peaks, 1.5, th.Dim)
	you, right := path(taken, of), path(best, of)
	c.Path(you, 4, th.Ink)
	dashed(c, right, 3, th.Teal)

	// The lines are named at their ends, one under the other.
	type tag struct {
		y   float64
		key string
		col color.NRGBA
	}
	last := len(peaks) - 1
	tags := []tag{{peaks[last].Y, "levels.peaks", th.Dim}, {you[last].Y, "levels.you", th.Ink}, {right[last].Y, "levels.best", th.Teal}}
	slices.SortStableFunc(tags, func(a, b tag) int { return int(math.Round(a.y - b.y)) })
	lead := c.Size(draw.Style{Size: 14}) * 1.2
	for i := range tags {
		if i > 0 {
			tags[i].y = math.Max(tags[i].y, tags[i-1].y+lead)
		}
		c.Text(in.Right()+8, tags[i].y+lead*0.3, s.Say(tags[i].key), draw.Style{Size: 14, Color: tags[i].col, Bold: true})
	}
	first := columns[0]
	c.Fit(first.X, y(taken[0].NoiseDBu)-6, first.W+in.W*0.1, s.Say("levels.noise"), small)
	clips := draw.Style{Size: 13, Color: th.Brick, Align: draw.Middle}
	last = len(columns) - 2 // behind the first stages the clip points are alike
	c.Fit(columns[last].X+columns[last].W/2, y(taken[last].ClipDBu)-7, 0.4*in.W, s.Say("levels.clips"), clips)
	c.Print(r.X+14, r.Bottom()-caption.Height()+c.Size(small)*0.7, caption)
}

// dashed draws a line through points in dashes.
func dashed(c *draw.Canvas, pts []draw.Point, width float64, col color.NRGBA) {
	const on, off = 9.0, 7.0
	left, pen := on, true
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		dx, dy := b.X-a.X, b.Y-a.Y
		long := math.Hypot(dx, dy)
		for at := 0.0; at < long; {
			step := math.Min(left, long-at)
			if pen {
				c.Line(a.X+dx*at/long, a.Y+dy*at/long, a.X+dx*(at+step)/long, a.Y+dy*(at+step)/long, width, col)
			}
			at += step
			if left -= step; left <= 1e-9 {
				pen = !pen
				left = off
				if pen {
					left = on
				}
			}
		}
	}
}
