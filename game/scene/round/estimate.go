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
		s.HelpAction(),
		s.LeaveAction(),
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
	foot, line := place.CutBottom(row)
	button, list := foot.CutRight(math.Min(foot.W*0.4, c.Width(s.Say("estimate.answer_big"), draw.Style{Size: 22, Bold: true})+72))
	if c.M.Portrait { // one under the other
		button, label, room = foot, "", place.W-14
		list, line = line.CutBottom(math.Min(row, line.H*0.5))
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
	s.DrawRow(c, widget.ListRow{Name: "estimate", Label: label, Value: value, Step: s.move}, true, draw.R(list.X, list.Y, list.W-24, list.H), math.Min(room, list.W-24))
	s.Button(c, "answer", button.Inset(0, 4), s.Say("estimate.answer_big"), 22, true, s.answer)
	if high := scaleHigh(c.M.Text); line.H > high {
		s.scale(c).draw(c, line.Inset(14, (line.H-high)/2))
	}
}

// scale shows the estimate around the window of the round.
func (s *Estimate) scale(c *draw.Canvas) scale {
	within := s.Result.A.Rig.ToleranceDB
	return scale{lo: -mostEstimate, hi: mostEstimate, number: s.ShortSigned,
		window: [2]float64{-within, within}, at: s.db, tone: c.Theme.Ink}
}
