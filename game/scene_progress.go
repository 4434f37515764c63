package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
)

// progressScene shows where the learner stops, by kind of source, and how the
// share inside the window goes.
type progressScene struct {
	drill, rig string
	asked      time.Time // when forgetting was asked for, once
}

func (*progressScene) name() string { return "progress" }

func (s *progressScene) actions(g *Game) []action {
	enter := g.say("home.start")
	if a, ok := g.advice(); ok {
		enter = g.say("progress.practise", g.say("family."+string(a.Family)))
	}
	forget := g.say("progress.forget")
	if s.sure() {
		forget = g.say("progress.forget_sure")
	}
	all := []action{
		{id: "enter", keys: enterKeys, cap: "cap.enter", label: enter, do: startRound},
		{id: "drill", keys: []ebiten.Key{ebiten.KeyD}, cap: "cap.d", label: g.say("home.drill"), do: func(g *Game) { s.drill = nextChoice(s.drills(g), s.drill) }},
		{id: "rig", keys: []ebiten.Key{ebiten.KeyR}, cap: "cap.r", label: g.say("home.rig"), do: func(g *Game) { s.rig = nextChoice(s.rigs(g), s.rig) }},
		{id: "export", keys: []ebiten.Key{ebiten.KeyE}, cap: "cap.e", label: g.say("progress.export"), do: exportJournal},
		{id: "forget", keys: []ebiten.Key{ebiten.KeyX}, cap: "cap.x", label: forget, do: s.forgetAll},
		helpAction(g),
		{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.say("progress.home"), do: func(g *Game) { g.show(&homeScene{}) }},
	}
	for i := range all { // whatever else is done takes the question back
		if do := all[i].do; all[i].id != "forget" {
			all[i].do = func(g *Game) { s.asked = time.Time{}; do(g) }
		}
	}
	return all
}

// sure says whether forgetting was asked for a moment ago, and nothing else
// since.
func (s *progressScene) sure() bool { return time.Since(s.asked) < noticeTime }

// forgetAll removes every take, having been asked twice.
func (s *progressScene) forgetAll(g *Game) {
	if !s.sure() {
		s.asked = time.Now()
		g.tell(g.say("progress.forget_ask"))
		return
	}
	s.asked = time.Time{}
	if g.rec.journal == nil {
		return
	}
	if err := g.rec.journal.ForgetAll(); err != nil {
		g.tell(g.say("journal.failed", g.fault(err)))
		return
	}
	g.rec.book = &progress.Book{}
	g.tell(g.say("progress.forgotten"))
}

func (s *progressScene) update(*Game) {}

func (s *progressScene) drills(g *Game) []choice {
	all := []choice{{"", g.say("progress.all_drills")}}
	for _, d := range drills.Drills() {
		if !d.NoError {
			all = append(all, choice{d.ID, g.drillName(d.ID)})
		}
	}
	return all
}

func (s *progressScene) rigs(g *Game) []choice {
	return []choice{{"", g.say("progress.all_rigs")}, {"digital", g.say("rig.digital")}, {"tape", g.say("rig.tape")}}
}

func label(all []choice, value string) string {
	for _, c := range all {
		if c.value == value {
			return c.label
		}
	}
	return value
}

func (s *progressScene) draw(g *Game, c *canvas) {
	g.takeRecords(true)
	book := g.rec.book
	bar := g.drawBar(c, s.actions(g))
	shown := book.Summary(progress.Key{Drill: s.drill, Rig: s.rig}, 0)
	rightTitle, rightSub := "", ""
	if a, ok := g.advice(); ok && book.Len() > 0 {
		rightTitle = g.say("progress.next", g.drillName(a.Drill), g.say("family."+string(a.Family)))
		rightSub = g.reasonFor(a)
	}
	sub := g.say("progress.takes", shown.Takes, label(s.drills(g), s.drill), label(s.rigs(g), s.rig))
	top := g.drawHead(c, g.say("progress.title"), sub, rightTitle, rightSub)
	if book.Len() == 0 {
		st := style{size: 22, c: c.th.dim, align: middle}
		y := (top+bar)/2 - 20
		for _, l := range c.wrap(g.say("progress.empty"), c.m.w-4*margin, st) {
			c.text(c.m.w/2, y, l, st)
			y += c.lead(st)
		}
		return
	}
	if c.m.phone || c.m.upright {
		s.drawPhone(g, c, book, rect{margin, top, c.m.w - 2*margin, bar - top - 8})
		return
	}
	series := math.Min(200, (bar-top)*0.3)
	s.drawBias(g, c, book, rect{margin, top, c.m.w - 2*margin, bar - top - series - 34})
	s.drawSeries(g, c, book, rect{margin, bar - series - 18, c.m.w - 2*margin, series})
}

// families are those that can be drawn and, where there are takes of them, own
// recordings.
func (s *progressScene) families(book *progress.Book) []source.Family {
	all := source.Generated()
	if book.Summary(progress.Key{Drill: s.drill, Rig: s.rig, Family: source.Own}, 0).Takes > 0 {
		all = append(all, source.Own)
	}
	return all
}

// drawBias is a row for each family: mean error, its interval, and the numbers.
func (s *progressScene) drawBias(g *Game, c *canvas, book *progress.Book, r rect) {
	th := c.th
	c.text(r.x, r.y+20*c.m.text, g.say("progress.where"), style{size: 18, c: th.ink})
	c.fit(r.right(), r.y+20*c.m.text, r.w*0.62, g.say("progress.legend"), style{size: 14, c: th.dim, align: right})
	families := s.families(book)
	nameW, numW := 60+70*c.m.text, 130+200*c.m.text
	axis := 44 * c.m.text
	plot := rect{r.x + nameW, r.y + 34*c.m.text, r.w - nameW - numW, r.h - 34*c.m.text - axis}
	span := 6.0
	x := func(db float64) float64 {
		return plot.x + plot.w*(math.Max(-span, math.Min(span, db))+span)/(2*span)
	}
	c.fill(rect{x(-progress.CloseDB), plot.y, x(progress.CloseDB) - x(-progress.CloseDB), plot.h}, 6, th.band)
	for d := -span; d <= span; d += 2 {
		c.line(x(d), plot.y, x(d), plot.bottom(), 1, th.faint)
		c.text(x(d), plot.bottom()+18*c.m.text, g.shortSigned(d), style{size: 14, c: th.dim, align: middle})
	}
	c.text(plot.x, plot.bottom()+36*c.m.text, g.say("progress.cold"), style{size: 14, c: th.dim})
	c.text(plot.right(), plot.bottom()+36*c.m.text, g.say("progress.hot"), style{size: 14, c: th.dim, align: right})
	row := plot.h / float64(len(families))
	for i, f := range families {
		y := plot.y + row*(float64(i)+0.5)
		sum := book.Summary(progress.Key{Drill: s.drill, Rig: s.rig, Family: f}, 0)
		c.fit(r.x, y+6*c.m.text, nameW-8, g.say("family."+string(f)), style{size: 19, c: th.ink})
		c.drawMean(sum, x, y, 9)
		c.fit(r.right(), y+5*c.m.text, numW-20, g.biasNote(sum), style{size: 15, c: th.dim, align: right})
	}
}

// drawMean draws a mean error and its interval, if there are takes enough.
func (c *canvas) drawMean(sum progress.Summary, x func(db float64) float64, y, size float64) {
	b := sum.BiasDB
	if !b.OK {
		return
	}
	tone := c.th.ink
	switch {
	case math.Abs(b.Value) > progress.CloseDB && b.Excludes(0):
		tone = c.th.brick
	case b.Lo > -progress.CloseDB && b.Hi < progress.CloseDB:
		tone = c.th.teal
	}
	c.line(x(b.Lo), y, x(b.Hi), y, 4, tone)
	c.disc(x(b.Value), y, size, tone)
}

// biasNote is a mean error in figures, or how many takes are missing.
func (g *Game) biasNote(sum progress.Summary) string {
	if !sum.BiasDB.OK {
		return g.say("progress.too_few", sum.Takes, progress.MinTakes)
	}
	return g.say("progress.numbers", sum.Takes, g.signed(sum.BiasDB.Value, 1), g.number(sum.SpreadDB.Value, 1))
}

// drawSeries is the share inside the window, some takes at a time.
func (s *progressScene) drawSeries(g *Game, c *canvas, book *progress.Book, r rect) {
	th := c.th
	c.fill(r, 10, th.panel)
	groups := book.Series(progress.Key{Drill: s.drill, Rig: s.rig}, 40)
	st := style{size: 15, c: th.dim}
	per := progress.MinTakes
	if len(groups) > 0 {
		per = groups[0].Takes
	}
	c.fit(r.x+16, r.y+8+18*c.m.text, r.w-32, g.say("progress.share", per), st)
	in := rect{r.x + 24, r.y + 24 + 20*c.m.text, r.w - 48 - 60*c.m.text, r.h - 44 - 20*c.m.text}
	y := func(v float64) float64 { return in.bottom() - in.h*v }
	if len(groups) == 0 {
		c.text(r.x+r.w/2, r.y+r.h/2+8, g.say("progress.no_series", progress.MinTakes), style{size: 16, c: th.dim, align: middle})
		return
	}
	share := style{size: 13, c: th.dim}
	shares := []float64{0.25, 0.5, 0.75, 1}
	if in.h/4 < c.lead(share) {
		shares = []float64{0.5, 1}
	}
	for _, v := range shares {
		c.rule(in.x, in.right(), y(v), 1, th.faint)
		c.text(in.right()+10, y(v)+5*c.m.text, g.say("unit.percent", int(v*100)), share)
	}
	step := in.w / math.Max(1, float64(len(groups)-1))
	var pts []point
	for i, gr := range groups {
		x := in.x + step*float64(i)
		if len(groups) == 1 {
			x = in.x + in.w/2
		}
		c.line(x, y(gr.InWindow.Lo), x, y(gr.InWindow.Hi), 1.5, th.faint)
		pts = append(pts, point{x, y(gr.InWindow.Value)})
	}
	c.path(pts, 3.5, th.ink)
	for _, p := range pts {
		c.disc(p.x, p.y, 5, th.ink)
	}
}

// exportName is a file name with today's date.
func exportName(now time.Time, end string) string {
	return "slowneedle-journal-" + now.Format("2006-01-02") + end
}
