package widget

import (
	"cmp"
	"image/color"
	"math"
	"slices"

	"slowneedle/audio/chain"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// The ends of a level diagram's scale in dBu.
const levelsTop, levelsFoot = 30.0, -135.0

// levels is a level diagram that is being drawn.
type levels struct {
	*draw.Canvas
	plot
	columns     []draw.Rect // one for each stage
	taken, best []chain.Node
	say         func(key string, args ...any) string
}

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
	p := plot{in, levelsTop, levelsFoot}
	p.drawAxis(c, 20, 20, small, s.ShortSigned)
	if p.y(20)-in.Y > c.Size(small) {
		c.Text(r.X+10, in.Y+c.Size(small)*0.5, s.Say("levels.unit"), small)
	}
	l := levels{c, p, in.Columns(len(taken), math.Min(60, in.W*0.05)), taken, best, s.Say}
	l.drawStages()
	l.drawLines()
	wide := float64(rows)*in.W/float64(len(names)) - 4
	for i, col := range l.columns {
		c.Fit(col.X+col.W/2, in.Bottom()+float64(1+i%rows)*c.Lead(name)-2, wide, names[i], name)
	}
	c.Print(r.X+14, r.Bottom()-caption.Height()+c.Size(small)*0.7, caption)
}

// drawStages draws noise and clip point of each stage, and names them where they are
// clear of the rest.
func (l levels) drawStages() {
	c, th := l.Canvas, l.Theme
	for i, col := range l.columns {
		n := l.taken[i]
		c.Fill(draw.R(col.X, l.y(n.NoiseDBu), col.W, l.Bottom()-l.y(n.NoiseDBu)), 3, th.Faint)
		c.Line(col.X, l.y(l.best[i].NoiseDBu), col.Right(), l.y(l.best[i].NoiseDBu), 2, th.Teal)
		if n.ClipDBu >= levelsTop {
			continue
		}
		at := l.y(n.ClipDBu)
		c.Line(col.X, at, col.Right(), at, 5, th.Brick)
		if n.HeadroomDB() < 0 { // shape as well as colour
			c.Wedge(col.X+col.W/2-9, at-16, col.X+col.W/2+9, at-16, col.X+col.W/2, at-5, th.Brick)
		}
	}
	first, last := l.columns[0], len(l.columns)-2 // behind the first stages the clip points are alike
	c.Fit(first.X, l.y(l.taken[0].NoiseDBu)-6, first.W+l.W*0.1, l.say("levels.noise"), draw.Style{Size: 13, Color: th.Dim})
	c.Fit(l.columns[last].X+l.columns[last].W/2, l.y(l.taken[last].ClipDBu)-7, 0.4*l.W, l.say("levels.clips"), draw.Style{Size: 13, Color: th.Brick, Align: draw.Middle})
}

// drawLines draws levels and peaks from stage to stage, named at their ends, one under
// the other.
func (l levels) drawLines() {
	c, th := l.Canvas, l.Theme
	path := func(nodes []chain.Node, level func(chain.Node) float64) []draw.Point {
		var pts []draw.Point
		for i, col := range l.columns {
			at := l.y(level(nodes[i]))
			pts = append(pts, draw.P(col.X, at), draw.P(col.Right(), at))
		}
		return pts
	}
	of := func(n chain.Node) float64 { return n.LevelDBu }
	peaks := path(l.taken, func(n chain.Node) float64 { return n.PeakDBu })
	you, right := path(l.taken, of), path(l.best, of)
	c.Path(peaks, 1.5, th.Dim)
	c.Path(you, 4, th.Ink)
	dashed(c, right, 3, th.Teal)
	type tag struct {
		y   float64
		key string
		col color.NRGBA
	}
	last := len(peaks) - 1
	tags := []tag{{peaks[last].Y, "levels.peaks", th.Dim}, {you[last].Y, "levels.you", th.Ink}, {right[last].Y, "levels.best", th.Teal}}
	slices.SortStableFunc(tags, func(a, b tag) int { return cmp.Compare(a.y, b.y) })
	lead, low := c.Size(draw.Style{Size: 14})*1.2, math.Inf(-1)
	for _, t := range tags {
		low = math.Max(t.y, low+lead)
		c.Text(l.Right()+8, low+lead*0.3, l.say(t.key), draw.Style{Size: 14, Color: t.col, Bold: true})
	}
}

// dashed draws a line through points in dashes.
func dashed(c *draw.Canvas, pts []draw.Point, width float64, col color.NRGBA) {
	const on, off = 9.0, 7.0
	along := 0.0 // of the line, in a dash and the gap behind it
	for i := 1; i < len(pts); i++ {
		a, b := pts[i-1], pts[i]
		long := math.Hypot(b.X-a.X, b.Y-a.Y)
		for from := -along; from < long; from += on + off {
			lo, hi := math.Max(0, from)/long, math.Min(long, from+on)/long
			if lo < hi {
				c.Line(a.X+(b.X-a.X)*lo, a.Y+(b.Y-a.Y)*lo, a.X+(b.X-a.X)*hi, a.Y+(b.Y-a.Y)*hi, width, col)
			}
		}
		along = math.Mod(along+long, on+off)
	}
}
