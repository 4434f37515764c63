package widget

import (
	"image/color"
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/sound"
	"slowneedle/game/words"
)

// The most and the least seconds that a strip shows.
const stripSeconds, leastSeconds = 15, 4

// Strip is what a round's meters showed in its last seconds: peaks as bars, the
// needle as a line, the moves as marks along the top.
type Strip struct {
	Past    *sound.History
	Moves   []drills.Move
	Names   []string // of the controls
	Rig     drills.Rig
	Seconds float64 // shown at most; 0 is the last 15
	// Compared are two channels whose own needles are drawn, each with its name, in
	// place of the sum's.
	Compared []int
	Band     [2]float64 // where the needle was to be kept, dBFS; empty if nowhere
	Playing  string     // what is heard meanwhile; empty if nothing is
}

// Playhead tells where on a strip a moment of the round stands.
type Playhead struct {
	Plot     draw.Rect
	From, To int64   // the moments shown, in frames from the round's start
	perFrame float64 // units
}

// X is the place of a moment.
func (p Playhead) X(at int64) float64 { return p.Plot.X + float64(at-p.From)*p.perFrame }

// Draw draws the strip and returns where its moments stand.
func (v Strip) Draw(c *draw.Canvas, r draw.Rect, s *words.Speech) Playhead {
	c.Fill(r, 10, c.Theme.Panel)
	small := draw.Style{Size: 13, Color: c.Theme.Dim}
	// A short round fills the strip as well as a long one.
	most := v.Seconds
	if most == 0 {
		most = stripSeconds
	}
	seconds := math.Max(leastSeconds, math.Min(most, math.Ceil(v.Past.Seconds())))
	refs := v.refs(c, s)
	axis, gutter := c.Width("−40", small)+10, 0.0
	for _, ref := range refs {
		gutter = math.Max(gutter, c.Width(ref.label, ref.st)+10)
	}
	gutter = math.Min(gutter, r.W/4)

	foot := v.drawCaption(c, r, small, seconds, s)
	head := 14 + 20*c.M.Text
	in := draw.R(r.X+10+axis, r.Y+head, r.W-20-axis-gutter, r.H-head-foot)
	n := int(seconds) * audio.Rate / sound.ColumnFrames
	cols, from := v.Past.Tail(n)
	p, step := plot{in, 3, v.Rig.ReferenceDBFS - 30}, in.W/float64(n)

	p.drawAxis(c, 0, 10, small, s.Short)
	if v.Band[0] < v.Band[1] {
		c.Fill(draw.R(in.X, p.y(v.Band[1]), in.W, p.y(v.Band[0])-p.y(v.Band[1])), 0, c.Theme.Band)
	}
	p.drawPeaks(c, cols, step, v.Rig)
	low := math.Inf(-1) // of the label before
	for _, ref := range refs {
		c.Dashes(in.X, in.Right(), p.y(ref.db), ref.st.Color)
		low = math.Max(p.y(ref.db)+5*c.M.Text, low+15*c.M.Text)
		if low > in.Bottom()+6*c.M.Text { // the caption stands there
			break
		}
		c.Fit(in.Right()+8, low, gutter-8, ref.label, ref.st)
	}
	v.drawNeedles(c, p, step, cols)
	drawMoves(c, draw.R(in.X, r.Y+8, in.W, head), v.Moves, v.Names, from, step/sound.ColumnFrames, s)
	return Playhead{in, from, from + int64(len(cols))*sound.ColumnFrames, step / sound.ColumnFrames}
}

// drawCaption tells what the strip shows, and what is heard, and returns its height.
func (v Strip) drawCaption(c *draw.Canvas, r draw.Rect, st draw.Style, seconds float64, s *words.Speech) float64 {
	text := s.Say("strip.caption", s.Number(seconds, 0))
	if len(v.Compared) == 2 {
		text = s.Say("strip.caption_two", s.Number(seconds, 0), v.Names[v.Compared[0]], v.Names[v.Compared[1]])
	}
	wide := r.W - 28
	if v.Playing != "" {
		wide -= DrawPlaying(c, r.Right()-10, r.Bottom()-8, v.Playing) + 12
	}
	lines := []string{text}
	if c.M.Phone {
		lines = c.Block(text, wide, st).Cut(r.H * 0.3).Lines
	}
	for i, l := range lines {
		c.Fit(r.X+14, r.Bottom()-10-16*c.M.Text*float64(len(lines)-1-i), wide, l, st)
	}
	foot := 12 + 16*c.M.Text*float64(len(lines))
	if v.Playing != "" {
		foot = math.Max(foot, 12+playingHigh*c.M.Text)
	}
	return foot
}

const playingHigh = 26 // of what tells what is heard, in units of text

// DrawPlaying writes what is heard, if anything is, with its lower right corner at a
// place, and returns its width.
func DrawPlaying(c *draw.Canvas, right, bottom float64, text string) float64 {
	if text == "" {
		return 0
	}
	st := draw.Style{Size: 14, Color: c.Theme.Ground, Bold: true}
	h := playingHigh * c.M.Text
	w := c.Width(text, st) + 46
	r := draw.R(right-w, bottom-h, w, h)
	c.Fill(r, h/2, c.Theme.Ink)
	c.Wedge(r.X+14, r.Y+h/2-6, r.X+25, r.Y+h/2, r.X+14, r.Y+h/2+6, c.Theme.Ground)
	c.Text(r.X+33, r.Y+h/2+5*c.M.Text, text, st)
	return w
}

// ref is a level that counts, with a line across the strip.
type ref struct {
	db    float64
	label string
	st    draw.Style
}

// refs are those levels, the highest first.
func (v Strip) refs(c *draw.Canvas, s *words.Speech) []ref {
	style := func(tint color.NRGBA) draw.Style { return draw.Style{Size: 13, Color: tint} }
	rig := v.Rig
	zero := ref{rig.ReferenceDBFS, s.Say("strip.zero"), style(c.Theme.Dim)}
	if rig.Soft() {
		return []ref{{rig.LampDBFS, s.Say("strip.lamp_vu", s.ShortSigned(rig.LampDBFS-rig.ReferenceDBFS)), style(c.Theme.Amber)}, zero}
	}
	return []ref{
		{rig.CeilingDBFS, s.Say("strip.ceiling", s.Short(rig.CeilingDBFS)), style(c.Theme.Brick)},
		{rig.LampDBFS, s.Say("strip.lamp", s.Short(rig.LampDBFS)), style(c.Theme.Amber)},
		zero,
	}
}

// drawPeaks draws a bar for each column: with a dot where the lamp was lit, with a
// wedge where the ceiling was passed or something clipped.
func (p plot) drawPeaks(c *draw.Canvas, cols []sound.Column, step float64, rig drills.Rig) {
	th, wide := c.Theme, math.Max(step*0.55, 1/c.M.Unit)
	mark := math.Max(3, math.Min(5, step))
	for i, col := range cols {
		if col.Peak <= p.bottom {
			continue
		}
		x, y := p.X+float64(i)*step, p.y(col.Peak)
		bar, mid := draw.R(x, y, wide, p.Bottom()-y), x+wide/2
		switch {
		case col.Clipped || !rig.Soft() && col.Peak > rig.CeilingDBFS:
			c.Fill(bar, 0, th.Brick)
			c.Wedge(mid-mark, y, mid, y-1.8*mark, mid+mark, y, th.Brick)
		case col.Peak >= rig.LampDBFS:
			c.Fill(bar, 0, th.Amber)
			c.Disc(mid, y, 0.8*mark, th.Amber)
		default:
			c.Fill(bar, 0, th.Peak)
		}
	}
}

// drawNeedles draws the needle as a line, or those of the channels that are compared,
// with their names.
func (v Strip) drawNeedles(c *draw.Canvas, p plot, step float64, cols []sound.Column) {
	th := c.Theme
	line := func(level func(sound.Column) float64, tint color.NRGBA) []draw.Point {
		pts := make([]draw.Point, 0, len(cols))
		for i, col := range cols {
			pts = append(pts, draw.P(p.X+(float64(i)+0.5)*step, p.y(math.Max(level(col), p.bottom))))
		}
		c.Path(pts, 6.5, th.Panel) // clear of the bars
		c.Path(pts, 3.5, tint)
		return pts
	}
	if len(v.Compared) == 0 {
		line(func(col sound.Column) float64 { return col.Needle }, th.Needle)
	}
	left := p.X // where a name may begin: beside the axis and the name before
	for k, ch := range v.Compared {
		tint := []color.NRGBA{th.Ink, th.Needle}[k%2]
		pts := line(func(col sound.Column) float64 {
			if ch < len(col.Channels) {
				return col.Channels[ch]
			}
			return p.bottom
		}, tint)
		if len(pts) == 0 {
			continue
		}
		st := draw.Style{Size: 15, Color: tint, Bold: true, Align: draw.Middle}
		at := pts[len(pts)*(k+1)/8]
		w := c.Width(v.Names[ch], st) + 10
		at.X, at.Y = math.Max(at.X, left+w/2), math.Max(at.Y-8, p.Y+14*c.M.Text)
		left = at.X + w/2 + 4
		c.Fill(draw.R(at.X-w/2, at.Y-13*c.M.Text, w, 17*c.M.Text), 4, th.Panel)
		c.Text(at.X, at.Y, v.Names[ch], st)
	}
}

// drawMoves marks where the fader was moved, and to what where there is room.
func drawMoves(c *draw.Canvas, r draw.Rect, moves []drills.Move, names []string, from int64, unitsPerFrame float64, s *words.Speech) {
	st := draw.Style{Size: 12, Color: c.Theme.Dim, Align: draw.Middle}
	free := r.X
	for i, m := range moves {
		if m.At < from {
			continue
		}
		// A drag is many moves: mark where it came to rest.
		if next := slices.IndexFunc(moves[i+1:], func(o drills.Move) bool { return o.Control == m.Control }); next >= 0 && moves[i+1+next].At-m.At < audio.Rate/4 {
			continue
		}
		x := r.X + float64(m.At-from)*unitsPerFrame
		if x > r.Right() {
			continue
		}
		y := r.Y + 14*c.M.Text
		c.Wedge(x-5, y+2, x+5, y+2, x, y+10, c.Theme.Ink)
		label := s.Signed(m.To, 1)
		if len(names) > 1 {
			label = names[m.Control] + " " + label
		}
		if w := c.Width(label, st); math.Max(x, r.X+w/2)-w/2 >= free {
			c.Text(math.Max(r.X+w/2, math.Min(x, r.Right()-w/2)), y-2, label, st)
			free = x + w/2 + 8
		}
	}
}
