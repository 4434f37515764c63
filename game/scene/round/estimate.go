package round

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/scene"
	"slowneedle/game/widget"
)

// Estimate asks, before the take is kept and judged, how far off the learner thinks
// to be.
type Estimate struct {
	scene.Base
	scene.Nothing
	To     scene.Guide
	Result *Result
	Keep   func(r *Result, goOn bool) // keeps the take and goes on to its verdict, or not
	db     float64
	kept   bool
}

// What an estimate may be, in dB.
const (
	mostEstimate = 12.0
	estimateStep = 0.5
)

func (s *Estimate) Name() string { return "estimate" }

func (s *Estimate) Actions() []hand.Action {
	by := func(steps int) func() { return func() { s.move(steps) } }
	return []hand.Action{
		{ID: "up", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowUp, ebiten.KeyArrowRight}, Cap: "cap.up", Repeat: true, Do: by(1)},
		{ID: "down", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowDown, ebiten.KeyArrowLeft}, Cap: "cap.down", Label: s.Say("round.step", s.Short(estimateStep)), Repeat: true, Do: by(-1)},
		{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("estimate.answer"), Do: s.answer},
		s.HelpAction(s.To),
		s.LeaveAction(s.To),
	}
}

// move changes the estimate by steps.
func (s *Estimate) move(steps int) {
	s.db = math.Max(-mostEstimate, math.Min(mostEstimate, s.db+estimateStep*float64(steps)))
	s.Redraw()
}

// answer keeps the take with the estimate.
func (s *Estimate) answer() {
	if !s.kept {
		s.kept = true
		s.Result.Estimate = &s.db
		s.Keep(s.Result, true)
	}
}

// Leave keeps a take that was left without an estimate.
func (s *Estimate) Leave() {
	if !s.kept {
		s.kept = true
		s.Keep(s.Result, false)
	}
}

func (s *Estimate) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	a := s.Result.A
	top := s.DrawHead(c, s.DrillName(a.Drill.ID), a.Where(s.Speech, false), s.RigTitle(a.Rig), a.RigLine(s.Speech))
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-10)
	ask := c.Shrink(s.Say("estimate.ask"), place.W, draw.Style{Size: 40 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}, 18, func(b draw.Block) bool { return len(b.Lines) < 2 })
	y := c.Print(place.X, place.Y+ask.Lead, ask) - ask.Lead*0.5
	place.H -= y - place.Y
	place.Y = y
	row := math.Min(math.Max(64*c.M.Text, c.M.Finger*1.2), place.H*0.4)
	label, room := s.Say("estimate.row"), math.Min(place.W*0.5, 420*c.M.Text)
	foot, scale := place.CutBottom(row)
	button, list := foot.CutRight(math.Min(foot.W*0.4, c.Width(s.Say("estimate.answer_big"), draw.Style{Size: 22, Bold: true})+72))
	if c.M.Portrait { // one under the other
		button, label, room = foot, "", place.W-14
		list, scale = scale.CutBottom(math.Min(row, scale.H*0.5))
		_, list = list.CutBottom(10)
		list.W += 24
	}
	value := s.Say("estimate.right")
	switch {
	case s.db > 0:
		value = s.Say("estimate.hot", s.Number(s.db, 1))
	case s.db < 0:
		value = s.Say("estimate.cold", s.Number(-s.db, 1))
	}
	s.DrawRow(c, widget.ListRow{Name: "estimate", Label: label, Value: value}, true, draw.R(list.X, list.Y, list.W-24, list.H), math.Min(room, list.W-24), s.move)
	s.Button(c, "answer", button.Inset(0, 4), s.Say("estimate.answer_big"), 22, true, s.answer)
	if scale.H > 90*c.M.Text {
		s.drawScale(c, draw.R(scale.X, scale.Y+(scale.H-90*c.M.Text)/2, scale.W, 90*c.M.Text))
	}
}

// drawScale shows the estimate around the window of the round.
func (s *Estimate) drawScale(c *draw.Canvas, r draw.Rect) {
	x := func(db float64) float64 { return r.X + 20 + (r.W-40)*(db+mostEstimate)/(2*mostEstimate) }
	y := r.Y + r.H/2
	c.Line(x(-mostEstimate), y, x(mostEstimate), y, 8, c.Theme.Faint)
	w := s.Result.A.ToleranceDB
	c.Fill(draw.R(x(-w), y-12, x(w)-x(-w), 24), 5, c.Theme.Teal)
	for db := -mostEstimate; db <= mostEstimate; db += 3 {
		c.Line(x(db), y+16, x(db), y+24, 1.5, c.Theme.Dim)
		c.Text(x(db), y+28+13*c.M.Text, s.ShortSigned(db), draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Middle})
	}
	at := x(s.db)
	c.Wedge(at-13, y-38, at+13, y-38, at, y-15, c.Theme.Ink)
}
