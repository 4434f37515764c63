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

// DrawStrip draws the last seconds: peaks as bars, the needle as a line, the
// moves as marks along the top; names are those of the controls, where there are
// several. Where two channels are compared, their own needles are drawn in place of the
// sum's, each with its name.
func DrawStrip(c *draw.Canvas, r draw.Rect, h *sound.History, moves []drills.Move, names []string, compared []int, rig drills.Rig, s *words.Speech) {
	th := c.Theme
	c.Fill(r, 10, th.Panel)
	small := draw.Style{Size: 13, Color: th.Dim}
	// A short round fills the strip as well as a long one.
	seconds := math.Ceil(h.Seconds())
	seconds = math.Max(leastSeconds, math.Min(stripSeconds, seconds))
	caption := []string{s.Say("strip.caption", s.Number(seconds, 0))}
	if len(compared) == 2 {
		caption[0] = s.Say("strip.caption_two", s.Number(seconds, 0), names[compared[0]], names[compared[1]])
	}
	if c.M.Phone {
		caption = c.Wrap(caption[0], r.W-28, small)
	}
	foot := 12 + 16*c.M.Text*float64(len(caption))
	head := 14 + 20*c.M.Text
	in := draw.R(r.X+14, r.Y+head, r.W-28, r.H-head-foot)
	top, bottom := 3.0, rig.ReferenceDBFS-30
	y := func(db float64) float64 {
		return in.Y + in.H*math.Max(0, math.Min(1, (top-db)/(top-bottom)))
	}
	n := int(seconds) * audio.Rate / sound.ColumnFrames
	cols, from := h.Tail(n)
	step := in.W / float64(n)
	for i, col := range cols {
		if col.Peak <= bottom {
			continue
		}
		tint := th.Faint
		switch {
		case col.Clipped || !rig.Soft() && col.Peak > rig.CeilingDBFS:
			tint = th.Brick
		case col.Peak >= rig.LampDBFS:
			tint = th.Amber
		case col.Peak >= rig.LampDBFS-6:
			tint = th.Dim
		}
		yp := y(col.Peak)
		c.Fill(draw.R(in.X+float64(i)*step, yp, math.Max(step*0.55, 1/c.M.Unit), in.Bottom()-yp), 0, tint)
	}
	type ref struct {
		db    float64
		label string
		st    draw.Style
	}
	refs := []ref{{rig.ReferenceDBFS, s.Say("strip.zero"), small}}
	lamp := small
	lamp.Color = th.Amber
	if rig.Soft() {
		refs = append(refs, ref{rig.LampDBFS, s.Say("strip.lamp_vu", s.ShortSigned(rig.LampDBFS-rig.ReferenceDBFS)), lamp})
	} else {
		ceiling := small
		ceiling.Color = th.Brick
		refs = append(refs, ref{rig.LampDBFS, s.Say("strip.lamp", s.Short(rig.LampDBFS)), lamp},
			ref{rig.CeilingDBFS, s.Say("strip.ceiling", s.Short(rig.CeilingDBFS)), ceiling})
	}
	for _, v := range refs {
		c.Dashes(in.X, in.Right(), y(v.db), v.st.Color)
	}
	line := func(level func(sound.Column) float64, width float64, tint color.NRGBA) []draw.Point {
		pts := make([]draw.Point, 0, len(cols))
		for i, col := range cols {
			pts = append(pts, draw.P(in.X+(float64(i)+0.5)*step, y(math.Max(level(col), bottom))))
		}
		c.Path(pts, width, tint)
		return pts
	}
	if len(compared) == 0 {
		line(func(col sound.Column) float64 { return col.Needle }, 3.5, th.Ink)
	}
	type tag struct {
		at    draw.Point
		label string
		st    draw.Style
	}
	var tags []tag
	for k, ch := range compared {
		tint := []color.NRGBA{th.Dim, th.Ink}[k%2]
		pts := line(func(col sound.Column) float64 {
			if ch < len(col.Channels) {
				return col.Channels[ch]
			}
			return bottom
		}, 3.5, tint)
		if len(pts) > 0 {
			tags = append(tags, tag{pts[len(pts)*(k+1)/8], names[ch], draw.Style{Size: 15, Color: tint, Bold: true, Align: draw.Middle}})
		}
	}
	// Labels last, on a patch of ground, so that no bar runs through them.
	prev := math.Inf(1)
	for _, v := range refs {
		ly := math.Min(y(v.db)-5, prev-15*c.M.Text)
		prev = ly
		w := c.Width(v.label, v.st)
		c.Fill(draw.R(in.Right()-w-6, ly-11*c.M.Text, w+8, 14*c.M.Text), 4, th.Panel)
		v.st.Align = draw.Right
		c.Text(in.Right()-2, ly, v.label, v.st)
	}
	for _, t := range tags {
		w := c.Width(t.label, t.st) + 10
		t.at.Y = math.Max(t.at.Y-8, in.Y+14*c.M.Text)
		c.Fill(draw.R(t.at.X-w/2, t.at.Y-13*c.M.Text, w, 17*c.M.Text), 4, th.Panel)
		c.Text(t.at.X, t.at.Y, t.label, t.st)
	}
	drawMoves(c, draw.R(in.X, r.Y+8, in.W, head), moves, names, from, step/sound.ColumnFrames, s)
	for i, l := range caption {
		c.Fit(in.X, r.Bottom()-10-16*c.M.Text*float64(len(caption)-1-i), in.W, l, small)
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
		if w := c.Width(label, st); x-w/2 >= free {
			c.Text(math.Min(x, r.Right()-w/2), y-2, label, st)
			free = x + w/2 + 8
		}
	}
}
