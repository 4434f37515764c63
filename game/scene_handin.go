package game

import (
	"fmt"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/drills/class/handin"
	"slowneedle/game/draw"
)

// handInScene stands at the end of a series: how the rounds went, and where the
// hand-in is.
type handInScene struct{ series *series }

func (*handInScene) name() string { return "handin" }

func (s *handInScene) actions(g *Game) []action {
	acts := []action{{id: "enter", keys: append([]ebiten.Key{ebiten.KeyEscape}, enterKeys...), cap: "cap.enter", label: g.Say("class.home"), do: func(g *Game) { g.show(&homeScene{}) }}}
	if s.series.state == handRefused && s.series.server != "" {
		acts = append(acts, action{id: "again", keys: []ebiten.Key{ebiten.KeyR}, cap: "cap.r", label: g.Say("class.again"), do: func(g *Game) {
			s.series.send(g)
		}})
	}
	if !handInFiles {
		acts = append(acts, action{id: "download", keys: []ebiten.Key{ebiten.KeyD}, cap: "cap.d", label: g.Say("class.download"), do: s.download})
	}
	if s.series.safe() {
		acts = append(acts, action{id: "join", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: g.Say("class.another"), do: func(g *Game) { g.openJoin("", "") }})
	}
	return append(acts, helpAction(g))
}

func (*handInScene) update(*Game) {}

// download gives the file to the browser.
func (s *handInScene) download(g *Game) {
	path, err := s.series.write()
	if err != nil {
		g.tell(g.Say("class.not_written", g.Fault(err)))
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
		return g.Say("class.is_in"), g.Say("class.is_in_line"), true
	case n.state == handSending && n.tries == 0:
		return g.Say("class.sending"), g.Say("class.sending_line", n.server), false
	case n.state == handSending:
		return g.Say("class.sending"), g.Say("class.trying_line", n.tries+1), false
	case n.state == handRefused:
		return g.Say("class.refused"), g.Say("class.refused_line", n.says), false
	case n.path != "":
		return g.Say("class.written"), g.Say("class.written_line"), true
	}
	return g.Say("class.not_given"), g.Say("class.not_given_line"), false
}

func (s *handInScene) draw(g *Game, c *draw.Canvas) {
	th, n := c.Theme, s.series
	bar := g.drawBar(c, s.actions(g))
	title := g.Say("class.title")
	if n.title != "" {
		title = n.title
	}
	top := g.drawHead(c, title, g.DrillName(n.hand.Sheet.Drill), n.hand.Who, n.hand.Code)
	word, line, good := s.status(g)
	big := draw.Style{Size: 44 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true}
	switch {
	case good:
		big.Color = th.Teal
	case n.state == handRefused:
		big.Color = tone(c, false, true)
	case n.state == handSending:
		big.Color = th.Amber
	}
	y := top + 8 + big.Size*c.M.Text*0.9
	c.Text(draw.Margin, y, word, big)
	w := c.M.W - 2*draw.Margin
	y = c.Para(draw.Margin, y+12+26*c.M.Text, w, line, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink})
	if n.path != "" {
		y = c.Para(draw.Margin, y+2, w, g.Say("class.file", n.path), draw.Style{Size: 16 / math.Sqrt(c.M.Text), Color: th.Dim})
	}
	right, points := 0, 0
	for _, t := range n.hand.Takes {
		points += t.Verdict.Points
		if t.Verdict.InWindow {
			right++
		}
	}
	sum := g.Say("class.sum", right, len(n.hand.Takes), points/max(1, len(n.hand.Takes)))
	y = c.Para(draw.Margin, y+14, w, sum, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true})
	s.drawTakes(g, c, draw.R(draw.Margin, y-4, w, bar-y-16))
}

// drawTakes is a column for each round: how far above or below the aim it was.
func (s *handInScene) drawTakes(g *Game, c *draw.Canvas, r draw.Rect) {
	if r.H < 90 {
		return
	}
	th, takes := c.Theme, s.series.hand.Takes
	c.Fill(r, 10, th.Panel)
	plot := draw.R(r.X+90+20*c.M.Text, r.Y+30, r.W-120-20*c.M.Text, r.H-40-34*c.M.Text)
	const most = 9.0
	y := func(db float64) float64 {
		return plot.Y + plot.H/2 - plot.H/2*math.Max(-1, math.Min(1, db/most))
	}
	lab := draw.Style{Size: 14, Color: th.Dim, Align: draw.Right}
	for _, db := range []float64{-6, 0, 6} {
		c.Dashes(plot.X, plot.Right(), y(db), th.Faint)
		label := g.Say("unit.db", g.Signed(db, 0))
		if db == 0 {
			label = g.Say("verdict.aim")
		}
		c.Text(plot.X-14, y(db)+5*c.M.Text, label, lab)
	}
	step := plot.W / float64(len(takes))
	num := draw.Style{Size: math.Min(15, step*0.4/c.M.Text), Color: th.Dim, Align: draw.Middle}
	for i, t := range takes {
		s.drawTake(g, c, t, plot.X+step*(float64(i)+0.5), y, step)
		c.Text(plot.X+step*(float64(i)+0.5), r.Bottom()-12, fmt.Sprint(t.Round), num)
	}
}

// drawTake is the mark of one take: a disc when right, a wedge up when hot, down
// when cold, a ring when wrong in another way.
func (s *handInScene) drawTake(g *Game, c *draw.Canvas, t handin.Take, x float64, y func(float64) float64, step float64) {
	v := t.Verdict
	at := y(v.ErrorDB)
	k := math.Min(11, step*0.3)
	bad := tone(c, false, true)
	c.Line(x, y(0), x, at, 2, c.Theme.Faint)
	switch {
	case v.InWindow:
		c.Disc(x, at, k, c.Theme.Teal)
	case v.ErrorDB > 0:
		c.Wedge(x, at-k, x+k, at+k, x-k, at+k, bad)
	case v.ErrorDB < 0:
		c.Wedge(x-k, at-k, x+k, at-k, x, at+k, bad)
	default:
		c.Ring(x, at, k, 3, bad)
	}
	if step > 90*c.M.Text && v.ErrorDB != 0 {
		c.Text(x+k+8, at+5*c.M.Text, g.Signed(v.ErrorDB, 1), draw.Style{Size: 15, Color: c.Theme.Ink})
	}
}
