package round

import (
	"image/color"
	"math"

	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/game/draw"
)

// scale is a line on which settings lie: a window of it, and the one that was chosen.
type scale struct {
	name   string     // before it; empty: none
	lo, hi float64    // at its ends
	marks  []float64  // with a figure; nil: evenly
	window [2]float64 // empty: none
	word   string     // of the window
	at     float64    // what was chosen; NaN: nothing
	label  string     // of it
	end    string     // behind the line; empty: nothing
	tone   color.NRGBA
	// share is how far along the line a value lies, 0 to 1, nil: evenly; number writes it.
	share  func(v float64) float64
	number func(v float64) string
}

// scaleHigh is the height of a scale with its figures and words in a text size,
// figuresHigh that of one with its figures alone.
func scaleHigh(text float64) float64   { return 66 + 34*text }
func figuresHigh(text float64) float64 { return 48 + 16*text }

// line is how far below its top the line of a scale of a height stands, with its words,
// its figures, or neither.
func line(high, text float64) (y float64, worded, figured bool) {
	switch {
	case high > scaleHigh(text)-1:
		return 28 + 18*text, true, true
	case high >= figuresHigh(text):
		return 26, false, true
	}
	return high / 2, false, false
}

// evenly are the marks of a scale in steps of 3 dB or, where it is too short for their
// figures, in greater ones.
func (s scale) evenly(c *draw.Canvas, w float64, st draw.Style) (all []float64) {
	room := math.Max(c.Width(s.number(s.lo), st), c.Width(s.number(s.hi), st)) + 10
	every := 3.0
	for every/(s.hi-s.lo)*w < room {
		every += 3
	}
	for v := s.lo; v <= s.hi; v += every {
		all = append(all, v)
	}
	return all
}

// around is the stretch of a scale that shows the window and where the fader
// stopped, in whole steps of 3 dB and at least 18 dB long.
func around(at float64, window [2]float64) (lo, hi float64) {
	lo = 3 * math.Floor((math.Min(at, window[0])-2)/3)
	hi = 3 * math.Ceil((math.Max(at, window[1])+2)/3)
	for hi-lo < 18 {
		hi += 3
		if hi-lo < 18 {
			lo -= 3
		}
	}
	return lo, hi
}

// draw draws the scale in a place, with as much beside its line as its height has room
// for.
func (s scale) draw(c *draw.Canvas, r draw.Rect) {
	th, thick, half := c.Theme, 5.0, 8.0
	y, worded, figured := line(r.H, c.M.Text)
	if y += r.Y; worded {
		thick, half = 8, 12
	}
	x := func(v float64) float64 {
		share := (v - s.lo) / (s.hi - s.lo)
		if s.share != nil {
			share = s.share(v)
		}
		return r.X + 6 + (r.W-12)*math.Max(0, math.Min(1, share))
	}
	c.Line(x(s.lo), y, x(s.hi), y, thick, th.Faint)
	a, b := x(s.window[0]), x(s.window[1])
	if s.window != [2]float64{} {
		a, b = math.Min(a, b), math.Max(a, b)
		c.Fill(draw.R(a, y-half, math.Max(thick, b-a), 2*half), 5, th.Teal)
	}
	if figured {
		st := draw.Style{Size: 14, Color: th.Dim, Align: draw.Middle}
		marks, edge := s.marks, r
		if marks == nil {
			marks, edge = s.evenly(c, r.W-12, st), r.Grow(r.W) // their figures may stand out
		}
		free, last := edge.X, marks[len(marks)-1]
		for _, v := range marks {
			c.Line(x(v), y+half+4, x(v), y+half+12, 1.5, th.Dim)
			w := c.Width(s.number(v), st)
			at := within(edge, x(v), w)
			end := within(edge, x(last), c.Width(s.number(last), st)) - c.Width(s.number(last), st)/2
			if at-w/2 < free || v != last && at+w/2+6 > end { // it would run into another
				continue
			}
			free = at + w/2 + 6
			c.Text(at, y+half+16+13*c.M.Text, s.number(v), st)
		}
	}
	chosen := !math.IsNaN(s.at)
	if chosen {
		at, w := x(s.at), half-1
		c.Wedge(at-w, y-2.8*half, at+w, y-2.8*half, at, y-half-2, s.tone)
	}
	if worded {
		s.drawWords(c, r, x(s.at), a, b, y-21)
	}
}

// drawWords writes what the wedge at a place stands for beside it, and what the window
// from a to b is where that leaves room.
func (s scale) drawWords(c *draw.Canvas, r draw.Rect, at, a, b, y float64) {
	st := draw.Style{Size: 15, Color: s.tone, Bold: true}
	from, to := at-14, at+14 // taken by the wedge and its label
	if math.IsNaN(at) {
		from, to = r.Right()+1, r.X-1
	} else if w := c.Width(s.label, st); w > 0 {
		lx := at + 17
		if lx+w > r.Right() {
			lx = math.Max(r.X, at-17-w)
		}
		c.Text(lx, y, s.label, st)
		from, to = math.Min(from, lx-6), math.Max(to, lx+w+6)
	}
	word := draw.Style{Size: 15, Color: c.Theme.Teal, Align: draw.Middle}
	w := c.Width(s.word, word)
	mid := within(r, (a+b)/2, w)
	if s.word != "" && (mid+w/2 < from || mid-w/2 > to) {
		c.Text(mid, y, s.word, word)
	}
}

// within is the middle of a text of a width at x or, near the ends of a place, inside it.
func within(r draw.Rect, x, w float64) float64 {
	return math.Max(r.X+w/2, math.Min(r.Right()-w/2, x))
}

// drawScales draws scales one under the other, their names before them and what they end
// with behind, and returns the place that is left; those that have no room are left out.
// One without figures is at the most so high.
func drawScales(c *draw.Canvas, r draw.Rect, all []scale, most float64) draw.Rect {
	if len(all) == 0 {
		return r
	}
	row, full := r.H/float64(len(all)), scaleHigh(c.M.Text)
	if row >= full && (len(all) == 1 || r.W > 620*c.M.Text) {
		row = full + math.Min(26, (row-full)*0.4)
		if len(all) == 1 {
			row = full
		}
	} else {
		row = math.Min(row, most)
	}
	name := draw.Style{Size: math.Min(17, row*0.42/c.M.Text), Color: c.Theme.Ink, Bold: true}
	row = math.Max(row, c.Size(name)*1.1)
	labelW, endW := 0.0, 0.0
	for _, s := range all {
		if s.name != "" {
			labelW = 70 + 40*c.M.Text
		}
		if s.end != "" {
			endW = 120 + 60*c.M.Text
		}
	}
	used := 0.0
	for _, s := range all {
		if used+row > r.H+0.5 {
			break
		}
		at := draw.R(r.X+labelW, r.Y+used, r.W-labelW-endW, row)
		mid, _, _ := line(row, c.M.Text)
		base := at.Y + mid + c.Size(name)*0.36
		c.Fit(r.X, base, labelW-8, s.name, name)
		s.draw(c, at)
		end := draw.Style{Size: name.Size, Color: s.tone, Bold: true, Align: draw.Right}
		if s.window == [2]float64{} { // not known, neither right nor wrong
			end.Color, end.Bold = c.Theme.Dim, false
		}
		c.Fit(r.Right(), base, endW-16, s.end, end)
		used += row
	}
	_, rest := r.CutTop(used + 8)
	return rest
}

// scales are the answer beside what is right: fader by fader, or what was called, or how
// much was wrong of what the learner hears.
func (s *Verdict) scales(c *draw.Canvas) []scale {
	v, tone := s.Verdict, c.Theme.Verdict(s.Verdict.InWindow)
	one := scale{word: s.Say("verdict.right"), tone: tone, number: s.ShortSigned}
	switch {
	case s.cameHeadline() != "":
		return nil
	case s.A.HasScale():
		one.at, one.window = v.FaderDB, s.A.Channels[s.A.Free()[0]].WindowDB
		one.label = s.Say("verdict.you", s.Signed(v.FaderDB, 1))
	case s.A.Ask.Number:
		one.at, one.window = v.CalledDB, [2]float64{v.UnderReadDB - s.A.Rig.ToleranceDB, v.UnderReadDB + s.A.Rig.ToleranceDB}
		one.label = s.Say("verdict.called", s.Number(v.CalledDB, 1))
	case s.odd():
		return s.heardScales(c)
	default:
		return s.partScales(c)
	}
	one.lo, one.hi = around(one.at, one.window)
	return []scale{one}
}

// partScales are the verdicts fader by fader.
func (s *Verdict) partScales(c *draw.Canvas) (all []scale) {
	for i, p := range s.parts {
		free := s.A.Free()[i]
		control := s.A.Controls[free]
		part := scale{name: s.Part(p.Label), lo: control.Min, hi: control.Max, at: p.FaderDB, tone: c.Theme.Verdict(p.InWindow),
			window: [2]float64{p.AimDB - s.A.Rig.ToleranceDB, p.AimDB + s.A.Rig.ToleranceDB}, number: s.ShortSigned,
			word: s.Say("verdict.right"), label: s.Say("verdict.you", s.Signed(p.FaderDB, 1)), end: s.Say("verdict.right")}
		if free < len(s.A.Channels) {
			part.window = s.A.Channels[free].WindowDB
		}
		if !p.InWindow {
			part.end = s.Say("unit.db", s.Signed(p.ErrorDB, 1))
		}
		all = append(all, part)
	}
	return all
}

// heardScales are, kind by kind, all amounts of what may be wrong with the odd one, from
// the first step to the last, and between which the learner begins to hear it.
func (s *Verdict) heardScales(c *draw.Canvas) (all []scale) {
	for i, kind := range drills.OddKinds() {
		amount := func(n int) float64 { return drills.OddAmount(kind, n) }
		k := scale{name: s.Say("odd." + string(kind)), lo: amount(ladder.Bottom), hi: amount(ladder.Top), at: math.NaN(), end: s.Say("verdict.unheard"), tone: c.Theme.Dim,
			number: func(v float64) string { return s.Number(v, 1) },
			share:  func(v float64) float64 { return (stepOf(kind, v) - ladder.Bottom) / (ladder.Top - ladder.Bottom) }}
		for _, n := range []int{ladder.Bottom, 6, 12, 18, ladder.Top} {
			k.marks = append(k.marks, amount(n))
		}
		if i < len(s.heard) && s.heard[i].OK {
			k.window, k.word = [2]float64{s.heard[i].Hi, s.heard[i].Lo}, s.Say("verdict.heard_from")
			k.end = s.Say("unit.db", k.number(s.heard[i].Value))
		}
		if v := s.Verdict; kind == v.Odd {
			k.at, k.tone = v.OddDB, c.Theme.Verdict(v.InWindow)
			if kind == drills.OddLevel {
				k.at = math.Abs(v.OddDB)
			}
			k.label = s.Say("unit.db", k.number(k.at))
		}
		all = append(all, k)
	}
	return all
}

// stepOf is the step of the ladder at which there is an amount of a kind, between steps
// a part of one.
func stepOf(kind drills.OddKind, db float64) float64 {
	for n := ladder.Bottom; n < ladder.Top; n++ {
		a, b := drills.OddAmount(kind, n), drills.OddAmount(kind, n+1)
		if db >= b && a > b {
			return math.Max(ladder.Bottom, float64(n)+(a-db)/(a-b))
		}
	}
	return ladder.Top
}
