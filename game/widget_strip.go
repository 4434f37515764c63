package game

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
)

// column is what the meters showed in one stretch of a round.
type column struct {
	peak, needle float64 // dBFS
	lit          bool
	clipped      bool
}

// history is a round's meters, a column every twentieth of a second.
type history struct {
	cols    []column
	last    int64 // position of the newest snapshot taken in
	clipped int64
	buf     []desk.Snapshot
}

const (
	columnFrames = audio.Rate / 20
	stripSeconds = 15 // the most and the least a strip shows
	leastSeconds = 4
	keepColumns  = 20 * 600
)

// take adds what a desk has shown since.
func (h *history) take(d *desk.Desk) {
	h.buf = d.Since(h.buf[:0], h.last)
	for _, s := range h.buf {
		h.add(s)
	}
}

func (h *history) add(s desk.Snapshot) {
	i := int(s.At / columnFrames)
	if i >= keepColumns {
		i = keepColumns - 1
		if s.At/columnFrames != h.last/columnFrames {
			copy(h.cols, h.cols[1:])
			h.cols[i] = silentColumn()
		}
	}
	for len(h.cols) <= i {
		h.cols = append(h.cols, silentColumn())
	}
	c := &h.cols[i]
	c.peak = math.Max(c.peak, math.Max(s.PeakDBFS[0], s.PeakDBFS[1]))
	c.needle = math.Max(s.NeedleDBFS[0], s.NeedleDBFS[1])
	c.lit = c.lit || s.Lit
	c.clipped = c.clipped || s.Clipped > h.clipped
	h.clipped, h.last = s.Clipped, s.At
}

func silentColumn() column { return column{peak: math.Inf(-1), needle: math.Inf(-1)} }

// drawStrip draws the last seconds: peaks as bars, the needle as a line, the
// fader's moves as marks along the top.
func (c *canvas) drawStrip(r rect, h *history, moves []drills.Move, rig drills.Rig, s speech) {
	th := c.th
	c.fill(r, 10, th.panel)
	small := style{size: 13, c: th.dim}
	// A short round fills the strip as well as a long one.
	seconds := math.Ceil(float64(len(h.cols)) * columnFrames / audio.Rate)
	seconds = math.Max(leastSeconds, math.Min(stripSeconds, seconds))
	caption := []string{s.say("strip.caption", s.number(seconds, 0))}
	if c.m.phone {
		caption = c.wrap(caption[0], r.w-28, small)
	}
	foot := 12 + 16*c.m.text*float64(len(caption))
	head := 14 + 20*c.m.text
	in := rect{r.x + 14, r.y + head, r.w - 28, r.h - head - foot}
	top, bottom := 3.0, rig.ReferenceDBFS-30
	y := func(db float64) float64 {
		return in.y + in.h*math.Max(0, math.Min(1, (top-db)/(top-bottom)))
	}
	n := int(seconds) * audio.Rate / columnFrames
	cols := h.cols
	first := int64(0)
	if len(cols) > n {
		first = int64(len(cols) - n)
		cols = cols[first:]
	}
	step := in.w / float64(n)
	for i, col := range cols {
		if col.peak <= bottom {
			continue
		}
		tint := th.faint
		switch {
		case col.clipped || !rig.Soft() && col.peak > rig.CeilingDBFS:
			tint = th.brick
		case col.peak >= rig.LampDBFS:
			tint = th.amber
		case col.peak >= rig.LampDBFS-6:
			tint = th.dim
		}
		yp := y(col.peak)
		c.fill(rect{in.x + float64(i)*step, yp, math.Max(step*0.55, 1/c.m.unit), in.bottom() - yp}, 0, tint)
	}
	type ref struct {
		db    float64
		label string
		st    style
	}
	refs := []ref{{rig.ReferenceDBFS, s.say("strip.zero"), small}}
	lamp := small
	lamp.c = th.amber
	if rig.Soft() {
		refs = append(refs, ref{rig.LampDBFS, s.say("strip.lamp_vu", s.shortSigned(rig.LampDBFS-rig.ReferenceDBFS)), lamp})
	} else {
		ceiling := small
		ceiling.c = th.brick
		refs = append(refs, ref{rig.LampDBFS, s.say("strip.lamp", s.short(rig.LampDBFS)), lamp},
			ref{rig.CeilingDBFS, s.say("strip.ceiling", s.short(rig.CeilingDBFS)), ceiling})
	}
	for _, v := range refs {
		c.dashes(in.x, in.right(), y(v.db), v.st.c)
	}
	pts := make([]point, 0, len(cols))
	for i, col := range cols {
		pts = append(pts, point{in.x + (float64(i)+0.5)*step, y(math.Max(col.needle, bottom))})
	}
	c.path(pts, 3.5, th.ink)
	// Labels last, on a patch of ground, so that no bar runs through them.
	prev := math.Inf(1)
	for _, v := range refs {
		ly := math.Min(y(v.db)-5, prev-15*c.m.text)
		prev = ly
		w := c.width(v.label, v.st)
		c.fill(rect{in.right() - w - 6, ly - 11*c.m.text, w + 8, 14 * c.m.text}, 4, th.panel)
		v.st.align = right
		c.text(in.right()-2, ly, v.label, v.st)
	}
	c.drawMoves(rect{in.x, r.y + 8, in.w, head}, moves, first*columnFrames, step/columnFrames, s)
	for i, l := range caption {
		c.fit(in.x, r.bottom()-10-16*c.m.text*float64(len(caption)-1-i), in.w, l, small)
	}
}

// drawMoves marks where the fader was moved, and to what where there is room.
func (c *canvas) drawMoves(r rect, moves []drills.Move, from int64, unitsPerFrame float64, s speech) {
	st := style{size: math.Max(12, c.m.least/c.m.text), c: c.th.dim, align: middle}
	free := r.x
	for i, m := range moves {
		if m.At < from {
			continue
		}
		// A drag is many moves: mark where it came to rest.
		if i+1 < len(moves) && moves[i+1].At-m.At < audio.Rate/4 {
			continue
		}
		x := r.x + float64(m.At-from)*unitsPerFrame
		if x > r.right() {
			continue
		}
		y := r.y + 14*c.m.text
		c.wedge(x-5, y+2, x+5, y+2, x, y+10, c.th.ink)
		label := s.signed(m.To, 1)
		if w := c.width(label, st); x-w/2 >= free {
			c.text(math.Min(x, r.right()-w/2), y-2, label, st)
			free = x + w/2 + 8
		}
	}
}
