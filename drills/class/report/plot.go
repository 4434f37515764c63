package report

import (
	"fmt"
	"html"
	"html/template"
	"maps"
	"math"
	"slices"
	"strings"

	"slowneedle/audio/source"
)

// Plots are SVG whose colours are classes of the page's style.

// svg collects one plot.
type svg struct {
	strings.Builder
	Words
}

func (p page) plot(w, h float64, class, label string) *svg {
	s := &svg{Words: p.Words}
	s.f(`<svg class="%s" viewBox="0 0 %g %g" role="img" aria-label="%s">`, class, w, h, html.EscapeString(label))
	return s
}

func (s *svg) f(format string, a ...any) { fmt.Fprintf(s, format, a...) }

func (s *svg) done() template.HTML {
	s.WriteString("</svg>")
	return template.HTML(s.String())
}

func (s *svg) text(x, y float64, class, anchor, words string) {
	s.f(`<text x="%.1f" y="%.1f" class="%s" text-anchor="%s">%s</text>`, x, y, class, anchor, html.EscapeString(words))
}

func (s *svg) line(x1, y1, x2, y2 float64, class string) {
	s.f(`<path d="M%.1f %.1fL%.1f %.1f" class="%s"/>`, x1, y1, x2, y2, class)
}

func (s *svg) rect(x, y, w, h float64, class string) {
	s.f(`<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f" class="%s"/>`, x, y, w, h, class)
}

// windowAxis shows where takes lie about their own windows: what is right has a
// block in the middle, as wide for every round, and outside it lie decibels from
// the window's edge.
type windowAxis struct {
	middle, half float64 // of the block
	db           float64 // width of a decibel
	limit        float64 // decibels to either side; what lies beyond stands at the end
}

// at is where an answer stands.
func (a windowAxis) at(x Answer) float64 {
	if x.OutsideDB != 0 {
		return a.outside(x.OutsideDB)
	}
	return a.middle + a.half*min(max(x.ErrorDB/max(x.half, 0.1), -1), 1)
}

// outside is where so many decibels outside the window stand.
func (a windowAxis) outside(db float64) float64 {
	return a.middle + math.Copysign(a.half+a.db*min(math.Abs(db), a.limit), db)
}

// scale writes the decibels below the axis.
func (s *svg) scale(a windowAxis, y float64) {
	for db := 2.0; db <= a.limit; db += 2 {
		s.text(a.outside(db), y, "tick", "middle", s.Signed(db, 0))
		s.text(a.outside(-db), y, "tick", "middle", s.Signed(-db, 0))
	}
	s.text(a.middle, y, "tick", "middle", s.Say("book.in_window"))
}

// ClassPlot is where the takes of the class lie about their windows, by kind of
// source: columns of one decibel, and one for what is right.
func (p page) ClassPlot(sh *Sheet) template.HTML {
	const rowH, colH = 74.0, 46.0
	a := windowAxis{middle: 350, half: 46, db: 28, limit: 6}
	bottom := float64(len(sh.Class)) * rowH
	s := p.plot(960, bottom+22, "wide", p.Words.Say("book.where"))
	for i, c := range sh.Class {
		base := rowH*float64(i) + rowH - 14
		s.text(0, base-14, "label", "start", s.Say("family."+string(c.Family)))
		s.columns(a, c, base, colH)
		s.text(a.middle, base-colH-4, "tick", "middle", s.Say("book.share_right", s.Number(100*float64(c.Right)/float64(c.N), 0)))
		if len(c.Answers) > 0 {
			s.text(960, base-24, "value "+c.Stat.Class(), "end", p.Bias(c.Stat))
			s.text(960, base-4, "tick", "end", s.Say("book.leanings", c.LeansHot, c.LeansCold))
		}
	}
	s.scale(a, bottom+14)
	return s.done()
}

// columns draws the takes of one kind of source as columns on a line, as high as colH if
// all takes stand in one.
func (s *svg) columns(a windowAxis, c ClassStat, base, colH float64) {
	columns := make(map[float64]int) // by the far edge of each, dB outside the window
	inside := c.N - c.Right          // wrong, but not by their level
	for _, x := range c.Answers {
		if x.OutsideDB != 0 {
			columns[math.Copysign(math.Ceil(min(math.Abs(x.OutsideDB), a.limit)), x.OutsideDB)]++
			inside--
		}
	}
	height := func(n int) float64 { return colH * float64(n) / float64(c.N) }
	s.rect(a.middle-a.half, base-colH, 2*a.half, colH, "band")
	s.rect(a.middle-a.half, base-height(c.Right), 2*a.half, height(c.Right), "col fine")
	s.rect(a.middle-a.half, base-height(c.Right+inside), 2*a.half, height(inside), "col wrong")
	for _, db := range slices.Sorted(maps.Keys(columns)) {
		x := a.outside(db)
		if db > 0 {
			x -= a.db
		}
		s.rect(x+1, base-height(columns[db]), a.db-2, height(columns[db]), "col "+side(db))
	}
	s.line(a.outside(-a.limit), base, a.outside(a.limit), base, "grid")
}

// side is the class of what lies on one side of what is right, or on none.
func side(db float64) string {
	switch {
	case db > 0:
		return "hot"
	case db < 0:
		return "cold"
	}
	return "wrong"
}

// Bias is a mean error in words, with what may be said of it in place of its sign.
func (p page) Bias(st Stat) string {
	if key := st.way(); key != "" {
		return p.Words.Say("unit.db", p.Words.Number(math.Abs(st.Bias.Value), 1)) + " " + p.Words.Say(key)
	}
	return p.Words.Say("unit.db", p.Words.Signed(st.Bias.Value, 1))
}

// way is the key of what may be said of a mean error: that it is hot or cold,
// or, where most takes lie outside their windows on that side, too hot or too
// cold.
func (s Stat) way() string {
	switch way, too := s.Claim(), s.Outside(); {
	case way > 0 && too:
		return "book.too_hot"
	case way > 0:
		return "book.hot"
	case way < 0 && too:
		return "book.too_cold"
	case way < 0:
		return "book.cold"
	}
	return ""
}

// Class is the colour of what is said; the words beside it say the same.
func (s Stat) Class() string {
	switch {
	case s.Claim() == 0:
		return "fine"
	case !s.Outside():
		return "lean"
	}
	return side(float64(s.Claim()))
}

// errorAxis maps mean errors in dB to places.
type errorAxis struct{ limit, x0, x1 float64 }

func (a errorAxis) at(db float64) float64 {
	db = min(max(db, -a.limit), a.limit)
	return a.x0 + (a.x1-a.x0)*(db+a.limit)/(2*a.limit)
}

// grid draws the aim and lines at some errors to either side of it.
func (s *svg) grid(a errorAxis, top, bottom float64, sides ...float64) {
	for _, db := range sides {
		s.line(a.at(-db), top, a.at(-db), bottom, "grid")
		s.line(a.at(db), top, a.at(db), bottom, "grid")
	}
	s.line(a.at(0), top, a.at(0), bottom, "aim")
}

// The cells of the table: a plot and its figure.
const cellW, cellH = 138.0, 24.0

// Axis is that of a sheet's cells.
func (p page) Axis(s *Sheet) errorAxis {
	var means []float64
	for _, e := range s.Entries {
		for _, st := range e.ByFamily {
			means = append(means, math.Abs(st.Bias.Value)+1)
		}
	}
	return errorAxis{limitFor(means), 4, 96}
}

// Cell is a learner's bias and spread on one family, for the table: a mark, its
// 95 % interval as a bar, and one standard deviation to either side as a thin
// line with ends.
func (p page) Cell(a errorAxis, st Stat) template.HTML {
	if len(st.Answers) == 0 {
		return ""
	}
	s := p.plot(cellW, cellH, "cell", p.stat(st))
	s.grid(a, 0, cellH, a.limit/2)
	const y, r = cellH / 2, 4.0
	m, class := st.Bias.Value, st.Class()
	enough := len(st.Answers) >= MinTakes
	if st.Spread.OK && enough {
		s.line(a.at(st.Bias.Lo), y, a.at(st.Bias.Hi), y, "bar "+class)
		lo, hi := a.at(m-st.Spread.Value), a.at(m+st.Spread.Value)
		s.f(`<path d="M%.1f %.1fv%.1fM%.1f %.1fH%.1fM%.1f %.1fv%.1f" class="spread"/>`, lo, y-r, 2*r, lo, y, hi, hi, y-r, 2*r)
	}
	switch way := float64(st.Claim()); {
	case !enough:
		s.f(`<circle cx="%.1f" cy="%.1f" r="%.1f" class="ring"/>`, a.at(m), y, r-1)
	case way != 0:
		s.f(`<path d="M%.1f %.1fl%.1f %.1fl%.1f %.1fz" class="dot %s"/>`, a.at(m)-way*r*0.8, y-r*1.15, way*2.1*r, r*1.15, -way*2.1*r, r*1.15, class)
	default:
		s.f(`<circle cx="%.1f" cy="%.1f" r="%.1f" class="dot fine"/>`, a.at(m), y, r)
	}
	s.text(cellW-1, y+4.5, "num "+class, "end", s.Signed(m, 1))
	return s.done()
}

// CellHead is the scale above the cells of one column.
func (p page) CellHead(a errorAxis) template.HTML {
	s := p.plot(cellW, 16, "cell", p.Words.Say("book.scale"))
	for _, db := range []float64{-a.limit / 2, 0, a.limit / 2} {
		s.text(a.at(db), 12, "tick", "middle", s.Signed(db, 0))
	}
	return s.done()
}

// stat is the figures of a cell in a sentence.
func (p page) stat(st Stat) string {
	if !st.Bias.OK {
		return p.Words.Say("book.stat_bare", p.Words.Signed(st.Bias.Value, 1), len(st.Answers))
	}
	return p.Words.Say("book.stat", append(p.interval(st.Bias, 1), p.Words.Number(st.Spread.Value, 1), len(st.Answers))...)
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

// RoundPlot is the distribution of one round: answers in bins of half a decibel
// about the aim, the right ones below the wrong ones, and the round's own window
// as a band if it is one of level alone.
func (p page) RoundPlot(sh *Sheet, r *Round) template.HTML {
	const width, top, bottom, bin = 300.0, 26.0, 112.0, 0.5
	label := p.Words.Say("book.of_right", r.Right, r.N)
	if r.Info.NoError {
		s := p.plot(width, 40, "hist", label)
		s.rect(12, 10, width-24, 20, "band")
		s.rect(12, 10, (width-24)*r.Share.Value, 20, "col fine")
		return s.done()
	}
	a := errorAxis{sh.limit, 12, width - 12}
	right, all := make(map[float64]int), make(map[float64]int) // by the middle of each bin, dB
	most := 1
	for _, x := range r.Answers {
		db := bin * math.Round(min(max(x.ErrorDB, -a.limit), a.limit)/bin)
		all[db]++
		if x.Right {
			right[db]++
		}
		most = max(most, all[db])
	}
	s := p.plot(width, 138, "hist", label)
	if r.Info.ByLevel {
		lo, hi := r.Info.Window[0], r.Info.Window[1]
		s.rect(a.at(lo), top, a.at(hi)-a.at(lo), bottom-top, "band")
	}
	s.grid(a, top, bottom, a.limit/2, a.limit)
	for _, db := range []float64{-a.limit, -a.limit / 2, a.limit / 2, a.limit} {
		s.text(a.at(db), 134, "tick", "middle", s.Signed(db, 0))
	}
	w := a.at(bin) - a.at(0) - 1
	unit := (bottom - top - 6) / float64(most)
	for _, db := range slices.Sorted(maps.Keys(all)) {
		x, wrong := a.at(db)-w/2, all[db]-right[db]
		if right[db] > 0 {
			s.rect(x, bottom-unit*float64(right[db]), w, unit*float64(right[db]), "col fine")
		}
		if wrong > 0 {
			s.rect(x, bottom-unit*float64(all[db]), w, unit*float64(wrong), "col "+side(db))
		}
	}
	s.line(a.x0, bottom, a.x1, bottom, "grid")
	s.text(a.at(0), 16, "tick aimword", "middle", s.Say("book.aim", s.Signed(r.Verdict.AimDB, 1)))
	if r.N >= fewest {
		s.f(`<path d="M%.1f %.1fl-5 9h10z" class="median"/>`, a.at(r.Median), bottom+2)
	}
	return s.done()
}

// SlipPlot is every take of one hand-in about its window, by kind of source.
func (p page) SlipPlot(e *Entry) template.HTML {
	const rowH = 30.0
	a := windowAxis{middle: 290, half: 40, db: 20, limit: 6}
	families := slices.DeleteFunc(families(), func(f source.Family) bool { return len(e.ByFamily[f].Answers) == 0 })
	if len(families) == 0 {
		return ""
	}
	bottom := float64(len(families))*rowH + 2
	s := p.plot(640, bottom+22, "slipplot", p.Words.Say("book.takes_about"))
	s.rect(a.middle-a.half, 2, 2*a.half, bottom-2, "band")
	for db := 2.0; db <= a.limit; db += 2 {
		s.line(a.outside(-db), 2, a.outside(-db), bottom, "grid")
		s.line(a.outside(db), 2, a.outside(db), bottom, "grid")
	}
	s.scale(a, bottom+16)
	for i, f := range families {
		st := e.ByFamily[f]
		y := 2 + rowH*(float64(i)+0.5)
		s.text(0, y+5, "small", "start", s.Say("family."+string(f)))
		for k, x := range st.Answers {
			class := side(x.OutsideDB)
			if x.Right {
				class = "fine"
			}
			s.f(`<circle cx="%.1f" cy="%.1f" r="4" class="dot %s"/>`, a.at(x), y+float64(k%3-1)*5, class)
		}
		s.text(640, y+5, "small "+st.Class(), "end", p.Bias(st))
	}
	return s.done()
}
