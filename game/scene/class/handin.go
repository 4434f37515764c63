package class

import (
	"fmt"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/widget"
)

// HandIn stands at the end of a series: how the rounds went, and where the
// hand-in is.
type HandIn struct {
	scene.Base
	scene.Nothing
	Series  *practice.Series
	Records *practice.Records
}

func (s *HandIn) Name() string { return "handin" }

func (s *HandIn) Actions() []hand.Action {
	acts := []hand.Action{{ID: "enter", Keys: append([]ebiten.Key{ebiten.KeyEscape}, hand.EnterKeys...), Cap: "cap.enter", Label: s.Say("key.home"), Do: s.To.Home}}
	if s.Series.State == practice.HandRefused && s.Series.Server != "" {
		acts = append(acts, hand.Action{ID: "again", Keys: []ebiten.Key{ebiten.KeyR}, Cap: "cap.r", Label: s.Say("class.again"), Do: func() {
			s.Series.Send(s.Records)
		}})
	}
	if page.Browser {
		acts = append(acts, hand.Action{ID: "download", Keys: []ebiten.Key{ebiten.KeyD}, Cap: "cap.d", Label: s.Say("class.download"), Do: s.download})
	}
	if s.Series.Safe() {
		acts = append(acts, hand.Action{ID: "join", Keys: []ebiten.Key{ebiten.KeyC}, Cap: "cap.c", Label: s.Say("class.another"), Do: func() { s.To.Join("", "") }})
	}
	return append(acts, s.HelpAction())
}

// download gives the file to the browser.
func (s *HandIn) download() {
	path, err := s.Series.Write()
	if err != nil {
		s.Tell(s.Say("class.not_written", s.Fault(err)))
		return
	}
	s.Series.Path = path
	s.Series.Keep(s.Records)
}

// status is how the hand-in stands: in two words, and in a sentence; good means
// that nothing more is to be done.
func (s *HandIn) status() (word, line string, good bool) {
	n := s.Series
	switch {
	case n.State == practice.HandIn:
		line = s.Say("class.is_in_line")
		if n.Exam() && n.Verdicts() == nil {
			return s.Say("class.is_in"), s.Say("class.exam_in"), true
		}
		if at := n.Result(); at != "" {
			line = s.Say("class.result_at", at)
		}
		return s.Say("class.is_in"), line, true
	case n.State == practice.HandSending && n.Tries == 0:
		return s.Say("class.sending"), s.Say("class.sending_line", n.Server), false
	case n.State == practice.HandSending:
		return s.Say("class.sending"), s.Say("class.trying_line", n.Tries+1), false
	case n.State == practice.HandRefused:
		return s.Say("class.refused"), s.Say("class.refused_line", n.Says), false
	case n.Path != "":
		return s.Say("class.written"), s.Say("class.written_line"), true
	}
	return s.Say("class.not_given"), s.Say("class.not_given_line"), false
}

func (s *HandIn) Draw(c *draw.Canvas) {
	th, n := c.Theme, s.Series
	bar := s.DrawBar(c, s.Actions())
	title := s.Say("class.title")
	if n.Title != "" {
		title = n.Title
	}
	top := s.DrawHead(c, title, s.DrillName(n.Hand.Sheet.Drill), n.Hand.Who, n.Hand.Code)
	word, line, good := s.status()
	big := draw.Style{Size: 44 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true, Said: draw.Live}
	switch {
	case good:
		big.Color = th.Teal
	case n.State == practice.HandRefused:
		big.Color = c.Theme.Brick
	case n.State == practice.HandSending:
		big.Color = th.Warn
	}
	y := top + 8 + big.Size*c.M.Text*0.9
	w := c.M.W - 2*draw.Margin
	c.Fit(draw.Margin, y, w, word, big)
	y = c.Para(draw.Margin, y+12+26*c.M.Text, w, line, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink})
	if n.Path != "" {
		y = c.Para(draw.Margin, y+2, w, s.Say("class.file", n.Path), draw.Style{Size: 16 / math.Sqrt(c.M.Text), Color: th.Dim})
	}
	verdicts := n.Verdicts()
	if len(verdicts) == 0 {
		c.Para(draw.Margin, y+14, w, s.Say("class.locked", len(n.Hand.Takes), n.Hand.Sheet.Rounds), draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true})
		return
	}
	right, points := sum(verdicts)
	sum := s.Say("class.sum", right, len(verdicts), points)
	y = c.Para(draw.Margin, y+14, w, sum, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true})
	s.drawTakes(c, draw.R(draw.Margin, y-4, w, bar-y-16), verdicts)
}

// sum counts the right verdicts, and gives the mean of the points, rounded as in the mark
// book.
func sum(verdicts []drills.Verdict) (right, points int) {
	for _, v := range verdicts {
		points += v.Points
		if v.InWindow {
			right++
		}
	}
	return right, int(math.RoundToEven(float64(points) / float64(len(verdicts))))
}

// drawTakes is a column for each round: how far above or below the aim it was.
func (s *HandIn) drawTakes(c *draw.Canvas, r draw.Rect, verdicts []drills.Verdict) {
	plot := draw.R(r.X+90+20*c.M.Text, r.Y+30, r.W-120-20*c.M.Text, r.H-40-34*c.M.Text)
	if plot.H < 60*c.M.Text { // its lines would lie over each other
		return
	}
	th := c.Theme
	c.Fill(r, 10, th.Panel)
	const most = 9.0
	y := func(db float64) float64 {
		return plot.Y + plot.H/2 - plot.H/2*math.Max(-1, math.Min(1, db/most))
	}
	lab := draw.Style{Size: 14, Color: th.Dim, Align: draw.Right}
	for _, db := range []float64{-6, 0, 6} {
		c.Dashes(plot.X, plot.Right(), y(db), th.Faint)
		label := s.Say("unit.db", s.Signed(db, 0))
		if db == 0 {
			label = s.Say("verdict.aim")
		}
		c.Text(plot.X-14, y(db)+5*c.M.Text, label, lab)
	}
	step := plot.W / float64(len(verdicts))
	num := draw.Style{Size: math.Min(15, step*0.4/c.M.Text), Color: th.Dim, Align: draw.Middle}
	for i, v := range verdicts {
		s.drawTake(c, v, plot.X+step*(float64(i)+0.5), y, step)
		c.Text(plot.X+step*(float64(i)+0.5), r.Bottom()-12, fmt.Sprint(i+1), num)
	}
}

// wrongOtherwise reports whether a take was wrong, but neither too hot nor too low.
func wrongOtherwise(v drills.Verdict) bool { return !v.InWindow && v.ErrorDB == 0 }

// drawTake is the mark of one take, a ring where it was wrong in another way.
func (s *HandIn) drawTake(c *draw.Canvas, v drills.Verdict, x float64, y func(float64) float64, step float64) {
	at, k := y(v.ErrorDB), math.Min(11, step*0.3)
	c.Line(x, y(0), x, at, 2, c.Theme.Faint)
	if wrongOtherwise(v) {
		c.Ring(x, at, k, 3, c.Theme.Brick)
	} else {
		widget.DrawMark(c, x, at, k, progress.Mark{Right: v.InWindow, ErrorDB: v.ErrorDB})
	}
	if step > 90*c.M.Text && v.ErrorDB != 0 {
		c.Text(x+k+8, at+5*c.M.Text, s.Signed(v.ErrorDB, 1), draw.Style{Size: 15, Color: c.Theme.Ink})
	}
}
