package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"slowneedle/drills/progress"
)

// Plots are SVG made of numbers and of words of this package alone, so they
// need no escaping. Their colours are classes of the page's style.

// svg collects one plot.
type svg struct{ strings.Builder }

func (s *svg) f(format string, a ...any) { fmt.Fprintf(s, format, a...) }

func (s *svg) open(w, h float64, class, label string) {
	s.f(`<svg class="%s" viewBox="0 0 %g %g" role="img" aria-label="%s">`, class, w, h, label)
}

func (s *svg) done() template.HTML {
	s.WriteString("</svg>")
	return template.HTML(s.String())
}

func (s *svg) text(x, y float64, class, anchor, words string) {
	s.f(`<text x="%.1f" y="%.1f" class="%s" text-anchor="%s">%s</text>`, x, y, class, anchor, words)
}

func (s *svg) line(x1, y1, x2, y2 float64, class string) {
	s.f(`<path d="M%.1f %.1fL%.1f %.1f" class="%s"/>`, x1, y1, x2, y2, class)
}

// axis maps errors in dB to places.
type axis struct {
	limit  float64 // dB at either end
	x0, x1 float64
}

func (a axis) at(db float64) float64 {
	db = min(max(db, -a.limit), a.limit)
	return a.x0 + (a.x1-a.x0)*(db+a.limit)/(2*a.limit)
}

// ticks are the even decibels inside the axis, or every fourth if it is wide.
func (a axis) ticks() []float64 {
	step := 2.0
	if a.limit > 8 {
		step = 4
	}
	var list []float64
	for db := -math.Floor(a.limit/step) * step; db <= a.limit; db += step {
		list = append(list, db)
	}
	return list
}

// frame draws the band that counts as right, the grid and the aim.
func (s *svg) frame(a axis, lo, hi, top, bottom float64) {
	s.f(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" class="band"/>`, a.at(lo), top, a.at(hi)-a.at(lo), bottom-top)
	for _, db := range a.ticks() {
		class := "grid"
		if db == 0 {
			class = "aim"
		}
		s.line(a.at(db), top, a.at(db), bottom, class)
	}
}

func (s *svg) scale(a axis, y float64) {
	for _, db := range a.ticks() {
		s.text(a.at(db), y, "tick", "middle", signed(db, 0))
	}
}

// markClass is the colour of what leans: the shape beside it says the same. What
// leans and yet stays inside the window is not held against anybody.
func markClass(claim int, inside bool) string {
	switch {
	case claim == 0:
		return "fine"
	case inside:
		return "lean"
	case claim > 0:
		return "hot"
	}
	return "cold"
}

// dot draws a mean: a disc, a triangle pointing to where it leads if a claim is
// made, a ring if there are too few takes.
func (s *svg) dot(x, y, r float64, claim int, class string, enough bool) {
	switch {
	case !enough:
		s.f(`<circle cx="%.1f" cy="%.1f" r="%.1f" class="ring"/>`, x, y, r-1)
	case claim != 0:
		d := float64(claim)
		s.f(`<path d="M%.1f %.1fl%.1f %.1fl%.1f %.1fz" class="dot %s"/>`, x-d*r*0.8, y-r*1.15, d*2.1*r, r*1.15, -d*2.1*r, r*1.15, class)
	default:
		s.f(`<circle cx="%.1f" cy="%.1f" r="%.1f" class="dot fine"/>`, x, y, r)
	}
}

// interval draws a mean, its 95 % interval as a bar, and one standard deviation
// to either side as a thin line with ends.
func (s *svg) interval(a axis, y, r, tolerance float64, st Stat) {
	if st.N == 0 {
		return
	}
	m := st.Bias.Value
	class := st.class(tolerance)
	if st.Spread.OK && st.N >= MinTakes {
		s.line(a.at(st.Bias.Lo), y, a.at(st.Bias.Hi), y, "bar "+class)
		lo, hi := a.at(m-st.Spread.Value), a.at(m+st.Spread.Value)
		s.f(`<path d="M%.1f %.1fv%.1fM%.1f %.1fH%.1fM%.1f %.1fv%.1f" class="spread"/>`, lo, y-r, 2*r, lo, y, hi, hi, y-r, 2*r)
	}
	s.dot(a.at(m), y, r, st.Claim(), class, st.N >= MinTakes)
}

func (s Stat) class(tolerance float64) string {
	return markClass(s.Claim(), math.Abs(s.Bias.Value) <= tolerance)
}

// The cells of the table: a plot and its figure.
const cellW, cellH = 138.0, 24.0

func cellAxis(limit float64) axis { return axis{limit, 4, 96} }

// cell is a learner's bias and spread on one family, for the table.
func cell(a axis, tolerance float64, st Stat) template.HTML {
	if st.N == 0 {
		return ""
	}
	var s svg
	s.open(cellW, cellH, "cell", statWords(st))
	s.f(`<rect x="%.1f" y="0" width="%.1f" height="%g" class="band"/>`, a.at(-tolerance), a.at(tolerance)-a.at(-tolerance), cellH)
	for _, db := range []float64{-a.limit / 2, 0, a.limit / 2} {
		s.line(a.at(db), 0, a.at(db), cellH, map[bool]string{true: "aim", false: "grid"}[db == 0])
	}
	s.interval(a, cellH/2, 4, tolerance, st)
	s.text(cellW-1, cellH/2+4.5, "num "+st.class(tolerance), "end", signed(st.Bias.Value, 1))
	return s.done()
}

// cellHead is the scale above the cells of one column.
func cellHead(a axis) template.HTML {
	var s svg
	s.open(cellW, 16, "cell", "scale in dB")
	for _, db := range []float64{-a.limit / 2, 0, a.limit / 2} {
		s.text(a.at(db), 12, "tick", "middle", signed(db, 0))
	}
	return s.done()
}

func statWords(st Stat) string {
	if !st.Bias.OK {
		return fmt.Sprintf("%s dB, %s", signed(st.Bias.Value, 1), plural(st.N, "take"))
	}
	return fmt.Sprintf("%s dB, 95%% interval %s to %s, spread %.1f dB, %s", signed(st.Bias.Value, 1),
		signed(st.Bias.Lo, 1), signed(st.Bias.Hi, 1), st.Spread.Value, plural(st.N, "take"))
}

// classPlot is where the class lands, family by family: every learner a faint
// dot, the class the big one.
func (b *Book) classPlot(tolerance float64) template.HTML {
	const rowH, left = 56, 118
	var all []float64
	for _, c := range b.Class {
		all = append(all, c.Means...)
	}
	a := axis{limitFor(all), left, 640}
	h := float64(len(b.Class)*rowH) + 60
	var s svg
	s.open(960, h, "wide", "where the class lands, by family of sources")
	bottom := h - 50
	s.frame(a, -tolerance, tolerance, 4, bottom)
	for i, c := range b.Class {
		y := 4 + rowH*(float64(i)+0.5)
		s.text(0, y+6, "label", "start", c.Family.Name())
		for k, m := range c.Means {
			if len(c.Means) > 300 && k%(len(c.Means)/300+1) != 0 {
				continue
			}
			s.f(`<circle cx="%.1f" cy="%.1f" r="3.5" class="one"/>`, a.at(m), y+float64(k*7%13-6)*1.5)
		}
		claim, inside := c.Claim(), math.Abs(c.Bias.Value) <= tolerance
		class := markClass(claim, inside)
		if c.Bias.OK {
			s.line(a.at(c.Bias.Lo), y, a.at(c.Bias.Hi), y, "bar big "+class)
		}
		s.dot(a.at(c.Bias.Value), y, 8, claim, class, c.Takes >= MinTakes)
		s.text(960, y-3, "value "+class, "end", signed(c.Bias.Value, 1)+" dB"+leanWord(claim, inside))
		s.text(960, y+16, "tick", "end", fmt.Sprintf("%d hot · %d low · %.0f %% right",
			c.Hot, c.Cold, 100*float64(c.Right)/float64(c.Takes)))
	}
	s.scale(a, bottom+20)
	s.text(a.x0, bottom+42, "tick", "start", "too low")
	s.text(a.x1, bottom+42, "tick", "end", "too hot")
	return s.done()
}

// leanWord is a claim in words: "too hot" outside the window, "slightly hot"
// inside.
func leanWord(claim int, inside bool) string {
	way := ""
	switch claim {
	case 1:
		way = "hot"
	case -1:
		way = "low"
	default:
		return ""
	}
	if inside {
		return " slightly " + way
	}
	return " too " + way
}

func (s Stat) leanWord(tolerance float64) string {
	return leanWord(s.Claim(), math.Abs(s.Bias.Value) <= tolerance)
}

// limitFor gives the end of an axis that shows nearly all of some errors: an
// even number of dB from 4 to 12. What lies beyond is drawn at the end.
func limitFor(list []float64) float64 {
	sizes := make([]float64, 0, len(list))
	for _, v := range list {
		sizes = append(sizes, math.Abs(v))
	}
	if len(sizes) == 0 {
		return 4
	}
	slices.Sort(sizes)
	reach := sizes[(len(sizes)-1)*99/100]
	return min(max(2*math.Ceil((reach+0.5)/2), 4), 12)
}

// roundPlot is the distribution of one round: answers in bins of half a decibel
// about the aim, the window as a band.
func roundPlot(r *Round, limit float64) template.HTML {
	if r.Info.NoError {
		return sharePlot(r)
	}
	const width, top, bottom, bin = 300, 26, 112, 0.5
	a := axis{limit, 12, width - 12}
	lo, hi := r.window()
	counts := make([]int, int(2*limit/bin)+1)
	most := 1
	for _, e := range r.Errors {
		i := int(math.Round((min(max(e, -limit), limit) + limit) / bin))
		counts[i]++
		most = max(most, counts[i])
	}
	var s svg
	s.open(width, 138, "hist", fmt.Sprintf("%d of %d right, %d too hot, %d too low", r.Right, r.N, r.Hot, r.Cold))
	s.frame(a, lo, hi, top, bottom)
	w := a.at(bin) - a.at(0) - 1
	for i, n := range counts {
		if n == 0 {
			continue
		}
		e := float64(i)*bin - limit
		class := "fine"
		switch {
		case e > hi+0.049:
			class = "hot"
		case e < lo-0.049:
			class = "cold"
		}
		h := (bottom - top - 6) * float64(n) / float64(most)
		s.f(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" class="col %s"/>`, a.at(e)-w/2, bottom-h, w, h, class)
	}
	s.line(a.x0, bottom, a.x1, bottom, "grid")
	s.text(a.at(0), 16, "tick aimword", "middle", "aim "+signed(r.Verdict.AimDB, 1)+" dB")
	if len(r.Errors) >= fewest {
		x := a.at(r.Median)
		s.f(`<path d="M%.1f %.1fl-5 9h10z" class="median"/>`, x, float64(bottom)+2)
	}
	for _, db := range []float64{-limit, -limit / 2, limit / 2, limit} {
		s.text(a.at(db), 134, "tick", "middle", signed(db, 0))
	}
	return s.done()
}

// sharePlot is a round that is answered right or wrong.
func sharePlot(r *Round) template.HTML {
	const width = 300.0
	var s svg
	s.open(width, 40, "hist", fmt.Sprintf("%d of %d right", r.Right, r.N))
	part := 0.0
	if r.N > 0 {
		part = (width - 24) * float64(r.Right) / float64(r.N)
	}
	s.f(`<rect x="12" y="10" width="%.1f" height="20" class="band"/><rect x="12" y="10" width="%.1f" height="20" class="col fine"/>`, width-24, part)
	return s.done()
}

// window is the round's window about its aim, in dB.
func (r *Round) window() (lo, hi float64) { return r.Info.Window[0], r.Info.Window[1] }

// slipPlot is one learner's bias by family with every take as a small dot.
func (b *Book) slipPlot(l *Learner, a axis, tolerance float64) template.HTML {
	const rowH = 30
	n := len(l.ByFamily)
	h := float64(n*rowH) + 24
	var s svg
	s.open(640, h, "slipplot", "bias and spread by family of sources")
	s.frame(a, -tolerance, tolerance, 2, h-22)
	i := 0
	for _, f := range b.Families {
		st, ok := l.ByFamily[f]
		if !ok {
			continue
		}
		y := 2 + rowH*(float64(i)+0.5)
		i++
		s.text(0, y+5, "small", "start", f.Name())
		for k, e := range l.errors[f] {
			s.f(`<circle cx="%.1f" cy="%.1f" r="2.5" class="one"/>`, a.at(e), y+float64(k%3-1)*4)
		}
		s.interval(a, y, 5, tolerance, st)
		word := st.leanWord(tolerance)
		if st.N < MinTakes {
			word = " · too few takes"
		}
		s.text(640, y+5, "small "+st.class(tolerance), "end", signed(st.Bias.Value, 1)+" dB"+word)
	}
	s.scale(a, h-6)
	return s.done()
}

// signed writes a level difference with its sign, the minus a true one.
func signed(v float64, decimals int) string {
	t := fmt.Sprintf("%+.*f", decimals, v)
	if strings.Trim(t, "+-0.") == "" {
		return t[1:]
	}
	return strings.Replace(t, "-", "−", 1)
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

func between(i progress.Interval) string {
	return signed(i.Lo, 1) + " to " + signed(i.Hi, 1)
}
