package game

import (
	"math"
	"slowneedle/game/draw"

	"github.com/hajimehoshi/ebiten/v2"
)

// roomScene stands between the lock and the verdict of a round that was played
// to a class.
type roomScene struct {
	base
	nothing
	to     roomGuide
	result *result
}

// roomGuide is where a round that was played to a class leads to.
type roomGuide interface {
	guide
	Verdict(r *result)
}

// LargeText reports that a class looks on.
func (s *roomScene) LargeText() bool { return true }

func (s *roomScene) Name() string { return "room" }

func (s *roomScene) Actions() []action {
	show := func() { s.to.Verdict(s.result) }
	return []action{
		{id: "enter", keysOnly: true, keys: append([]ebiten.Key{ebiten.KeyU}, enterKeys...), cap: "cap.enter", label: s.Say("class.uncover"), do: show},
		s.helpAction(s.to),
		s.leaveAction(s.to),
	}
}

func (s *roomScene) Draw(c *draw.Canvas) {
	bar := s.drawBar(c, s.Actions())
	a := s.result.a
	top := s.drawHead(c, s.DrillName(a.Drill.ID), a.where(s.Speech, false), s.RigTitle(a.Rig), a.rigLine(s.Speech))
	r := draw.R(draw.Margin, top+10, c.M.W-2*draw.Margin, bar-top-34)
	c.Fill(r, 16, c.Theme.Panel)
	w := math.Min(r.W-80, 1000)
	big := draw.Style{Size: 54 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
	body := draw.Style{Size: 26 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Align: draw.Middle}
	title, ask := c.Block(s.Say("class.room_title"), w, big), c.Block(s.question(), w, body)
	y := r.Y + (r.H-title.Height()-ask.Height()-120*c.M.Text)/2
	y = c.Print(r.X+r.W/2, y+title.Lead, title) - title.Lead + 16
	y = c.Print(r.X+r.W/2, y+ask.Lead, ask) - ask.Lead
	bw := c.Width(s.Say("class.uncover_big"), draw.Style{Size: 22, Bold: true}) + 72
	s.button(c, "uncover", draw.R(r.X+(r.W-bw)/2, y+34, bw, 58*c.M.Text), s.Say("class.uncover_big"), 22, true, func() { s.to.Verdict(s.result) })
}

// question is what the class is to write down.
func (s *roomScene) question() string {
	switch ask := s.result.a.Ask; {
	case ask.Number:
		return s.Say("class.room_number")
	case len(ask.Choices) > 0:
		return s.Say("class.room_choice")
	case s.result.a.hasScale():
		return s.Say("class.room_fader", s.Signed(s.result.verdict.FaderDB, 1))
	}
	return s.Say("class.room_faders")
}
