package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// startRoom starts a round that is played to the room: the teacher moves the
// fader, the class writes its answer down, and only then the truth is shown.
func startRoom(g *Game) {
	g.takeRecords(true)
	j, err := g.makeJob(g.set.Drill, g.set.Family)
	if err != nil {
		g.tell(g.Say("round.failed", g.Fault(err)))
		return
	}
	g.roomRounds++
	j.number, j.room = g.roomRounds, true
	g.openJob(j, false)
}

// textScale is the factor on text: what the settings say, and the largest while
// a room looks on.
func (g *Game) textScale() float64 {
	room := false
	switch s := g.scene.(type) {
	case *playScene:
		room = s.job.room
	case *roomScene:
		room = true
	case *verdictScene:
		room = s.job.room
	}
	if room {
		return draw.MaxText
	}
	return float64(g.set.TextPercent) / 100
}

// roomScene stands between the lock and the verdict of a round that was played
// to the room.
type roomScene struct {
	play *playScene
	then *verdictScene
}

func (*roomScene) name() string { return "room" }

func (s *roomScene) actions(g *Game) []action {
	show := func(g *Game) { g.show(s.then) }
	return []action{
		{id: "enter", desk: true, keys: append([]ebiten.Key{ebiten.KeyU}, enterKeys...), cap: "cap.enter", label: g.Say("class.uncover"), do: show},
		helpAction(g),
		leaveAction(g),
	}
}

func (*roomScene) update(*Game) {}

func (s *roomScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	j := s.then.job
	top := g.drawHead(c, g.DrillName(j.drill()), j.where(g.Speech, false), g.RigTitle(j.rig()), j.rigLine(g.Speech))
	r := draw.R(draw.Margin, top+10, c.M.W-2*draw.Margin, bar-top-34)
	c.Fill(r, 16, c.Theme.Panel)
	w := math.Min(r.W-80, 1000)
	big := draw.Style{Size: 54 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
	body := draw.Style{Size: 26 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Align: draw.Middle}
	title := c.Wrap(g.Say("class.room_title"), w, big)
	ask := c.Wrap(s.question(g), w, body)
	y := r.Y + (r.H-c.Lead(big)*float64(len(title))-c.Lead(body)*float64(len(ask))-120*c.M.Text)/2
	for _, l := range title {
		y += c.Lead(big)
		c.Text(r.X+r.W/2, y, l, big)
	}
	y += 16
	for _, l := range ask {
		y += c.Lead(body)
		c.Text(r.X+r.W/2, y, l, body)
	}
	bw := c.Width(g.Say("class.uncover_big"), draw.Style{Size: 22, Bold: true}) + 72
	g.button(c, "uncover", draw.R(r.X+(r.W-bw)/2, y+34, bw, 58*c.M.Text), g.Say("class.uncover_big"), 22, true, func(g *Game) { g.show(s.then) })
}

// question is what the class is to write down.
func (s *roomScene) question(g *Game) string {
	switch ask := s.then.job.ask(); {
	case ask.Number:
		return g.Say("class.room_number")
	case len(ask.Choices) > 0:
		return g.Say("class.room_choice")
	case s.then.job.hasScale():
		return g.Say("class.room_fader", g.Signed(s.then.verdict.FaderDB, 1))
	}
	return g.Say("class.room_faders")
}
