package game

import (
	"fmt"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/drills/class/handin"
)

// handInScene stands at the end of a series: how the rounds went, and where the
// hand-in is.
type handInScene struct{ series *series }

func (*handInScene) name() string { return "handin" }

func (s *handInScene) actions(g *Game) []action {
	acts := []action{{id: "enter", keys: append([]ebiten.Key{ebiten.KeyEscape}, enterKeys...), cap: "cap.enter", label: g.say("class.home"), do: func(g *Game) { g.show(&homeScene{}) }}}
	if s.series.state == handRefused && s.series.server != "" {
		acts = append(acts, action{id: "again", keys: []ebiten.Key{ebiten.KeyR}, cap: "cap.r", label: g.say("class.again"), do: func(g *Game) {
			s.series.send(g)
		}})
	}
	if !handInFiles {
		acts = append(acts, action{id: "download", keys: []ebiten.Key{ebiten.KeyD}, cap: "cap.d", label: g.say("class.download"), do: s.download})
	}
	if s.series.safe() {
		acts = append(acts, action{id: "join", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: g.say("class.another"), do: func(g *Game) { g.openJoin("", "") }})
	}
	return append(acts, helpAction(g))
}

func (*handInScene) update(*Game) {}

// download gives the file to the browser.
func (s *handInScene) download(g *Game) {
	path, err := s.series.write()
	if err != nil {
		g.tell(g.say("class.not_written", g.fault(err)))
		return
	}
	s.series.path = path
	s.series.keep(g)
}

// status is how the hand-in stands: in two words, and in a sentence; good says
// that nothing more is to be done.
func (s *handInScene) status(g *Game) (word, line string, good bool) {
	n := s.series
	switch {
	case n.state == handIn:
		return g.say("class.is_in"), g.say("class.is_in_line"), true
	case n.state == handSending && n.tries == 0:
		return g.say("class.sending"), g.say("class.sending_line", n.server), false
	case n.state == handSending:
		return g.say("class.sending"), g.say("class.trying_line", n.tries+1), false
	case n.state == handRefused:
		return g.say("class.refused"), g.say("class.refused_line", n.says), false
	case n.path != "":
		return g.say("class.written"), g.say("class.written_line"), true
	}
	return g.say("class.not_given"), g.say("class.not_given_line"), false
}

func (s *handInScene) draw(g *Game, c *canvas) {
	th, n := c.th, s.series
	bar := g.drawBar(c, s.actions(g))
	title := g.say("class.title")
	if n.title != "" {
		title = n.title
	}
	top := g.drawHead(c, title, g.drillName(n.hand.Sheet.Drill), n.hand.Who, n.hand.Code)
	word, line, good := s.status(g)
	big := style{size: 44 / math.Sqrt(c.m.text), c: th.ink, bold: true}
	switch {
	case good:
		big.c = th.teal
	case n.state == handRefused:
		big.c = c.tone(false, true)
	case n.state == handSending:
		big.c = th.amber
	}
	y := top + 8 + big.size*c.m.text*0.9
	c.text(margin, y, word, big)
	w := c.m.w - 2*margin
	y = c.para(margin, y+12+26*c.m.text, w, line, style{size: 20 / math.Sqrt(c.m.text), c: th.ink})
	if n.path != "" {
		y = c.para(margin, y+2, w, g.say("class.file", n.path), style{size: 16 / math.Sqrt(c.m.text), c: th.dim})
	}
	right, points := 0, 0
	for _, t := range n.hand.Takes {
		points += t.Verdict.Points
		if t.Verdict.InWindow {
			right++
		}
	}
	sum := g.say("class.sum", right, len(n.hand.Takes), points/max(1, len(n.hand.Takes)))
	y = c.para(margin, y+14, w, sum, style{size: 20 / math.Sqrt(c.m.text), c: th.ink, bold: true})
	s.drawTakes(g, c, rect{margin, y - 4, w, bar - y - 16})
}

// drawTakes is a column for each round: how far above or below the aim it was.
func (s *handInScene) drawTakes(g *Game, c *canvas, r rect) {
	if r.h < 90 {
		return
	}
	th, takes := c.th, s.series.hand.Takes
	c.fill(r, 10, th.panel)
	plot := rect{r.x + 90 + 20*c.m.text, r.y + 30, r.w - 120 - 20*c.m.text, r.h - 40 - 34*c.m.text}
	const most = 9.0
	y := func(db float64) float64 {
		return plot.y + plot.h/2 - plot.h/2*math.Max(-1, math.Min(1, db/most))
	}
	lab := style{size: 14, c: th.dim, align: right}
	for _, db := range []float64{-6, 0, 6} {
		c.dashes(plot.x, plot.right(), y(db), th.faint)
		label := g.say("unit.db", g.signed(db, 0))
		if db == 0 {
			label = g.say("verdict.aim")
		}
		c.text(plot.x-14, y(db)+5*c.m.text, label, lab)
	}
	step := plot.w / float64(len(takes))
	num := style{size: math.Min(15, step*0.4/c.m.text), c: th.dim, align: middle}
	for i, t := range takes {
		s.drawTake(g, c, t, plot.x+step*(float64(i)+0.5), y, step)
		c.text(plot.x+step*(float64(i)+0.5), r.bottom()-12, fmt.Sprint(t.Round), num)
	}
}

// drawTake is the mark of one take: a disc when right, a wedge up when hot, down
// when cold, a ring when wrong in another way.
func (s *handInScene) drawTake(g *Game, c *canvas, t handin.Take, x float64, y func(float64) float64, step float64) {
	v := t.Verdict
	at := y(v.ErrorDB)
	k := math.Min(11, step*0.3)
	bad := c.tone(false, true)
	c.line(x, y(0), x, at, 2, c.th.faint)
	switch {
	case v.InWindow:
		c.disc(x, at, k, c.th.teal)
	case v.ErrorDB > 0:
		c.wedge(x, at-k, x+k, at+k, x-k, at+k, bad)
	case v.ErrorDB < 0:
		c.wedge(x-k, at-k, x+k, at-k, x, at+k, bad)
	default:
		c.ring(x, at, k, 3, bad)
	}
	if step > 90*c.m.text && v.ErrorDB != 0 {
		c.text(x+k+8, at+5*c.m.text, g.signed(v.ErrorDB, 1), style{size: 15, c: c.th.ink})
	}
}
