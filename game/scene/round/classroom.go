package round

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/scene"
)

// Classroom stands between the lock and the verdict of a round that was played
// to a class.
type Classroom struct {
	scene.Base
	scene.Nothing
	Result *Result
	Show   func() // its verdict
}

// LargeText reports that a class looks on.
func (s *Classroom) LargeText() bool { return true }

func (s *Classroom) Name() string { return "classroom" }

func (s *Classroom) Actions() []hand.Action {
	return []hand.Action{
		{ID: "enter", KeysOnly: true, Keys: append([]ebiten.Key{ebiten.KeyU}, hand.EnterKeys...), Cap: "cap.enter", Label: s.Say("class.uncover"), Do: s.Show},
		s.HelpAction(),
		s.LeaveAction(),
	}
}

func (s *Classroom) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	a := s.Result.A
	top := s.DrawHead(c, s.DrillName(a.Drill.ID), a.Where(s.Speech, false), a.RigTitle(s.Speech), a.RigLine(s.Speech))
	r := draw.R(draw.Margin, top+10, c.M.W-2*draw.Margin, bar-top-34)
	c.Fill(r, 16, c.Theme.Panel)
	w := math.Min(r.W-80, 1000)
	big := draw.Style{Size: 54 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
	body := draw.Style{Size: 26 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Align: draw.Middle}
	title, ask := c.Block(s.Say("class.ask_title"), w, big), c.Block(s.question(), w, body)
	y := r.Y + (r.H-title.Height()-ask.Height()-120*c.M.Text)/2
	y = c.Print(r.X+r.W/2, y+title.Lead, title) - title.Lead + 16
	y = c.Print(r.X+r.W/2, y+ask.Lead, ask) - ask.Lead
	bw := c.Width(s.Say("class.uncover_big"), draw.Style{Size: 22, Bold: true}) + 72
	s.Button(c, "uncover", draw.R(r.X+(r.W-bw)/2, y+34, bw, 58*c.M.Text), s.Say("class.uncover_big"), 22, true, s.Show)
}

// question is what the class is to write down.
func (s *Classroom) question() string {
	switch ask := s.Result.A.Ask; {
	case ask.Number:
		return s.Say("class.ask_number")
	case s.Result.A.ByEar():
		return s.Say("class.ask_odd")
	case len(ask.Choices) > 0:
		return s.Say("class.ask_choice")
	case s.Result.A.HasScale():
		return s.Say("class.ask_fader", s.Signed(s.Result.Verdict.FaderDB, 1))
	}
	return s.Say("class.ask_faders")
}
