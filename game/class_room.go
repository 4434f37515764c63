package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"
)

// startRoom starts a round that is played to the room: the teacher moves the
// fader, the class writes its answer down, and only then the truth is shown.
func startRoom(g *Game) {
	g.takeRecords(true)
	j, err := g.makeJob(g.set.Drill, g.set.Family)
	if err != nil {
		g.tell(g.say("round.failed", g.fault(err)))
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
		return maxText
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
		{id: "enter", desk: true, keys: append([]ebiten.Key{ebiten.KeyU}, enterKeys...), cap: "cap.enter", label: g.say("class.uncover"), do: show},
		helpAction(g),
		leaveAction(g),
	}
}

func (*roomScene) update(*Game) {}

func (s *roomScene) draw(g *Game, c *canvas) {
	bar := g.drawBar(c, s.actions(g))
	j := s.then.job
	top := g.drawHead(c, g.drillName(j.drill()), g.where(j, false), g.rigTitle(j.rig()), g.jobLine(j))
	r := rect{margin, top + 10, c.m.w - 2*margin, bar - top - 34}
	c.fill(r, 16, c.th.panel)
	w := math.Min(r.w-80, 1000)
	big := style{size: 54 / math.Sqrt(c.m.text), c: c.th.ink, bold: true, align: middle}
	body := style{size: 26 / math.Sqrt(c.m.text), c: c.th.ink, align: middle}
	title := c.wrap(g.say("class.room_title"), w, big)
	ask := c.wrap(s.question(g), w, body)
	y := r.y + (r.h-c.lead(big)*float64(len(title))-c.lead(body)*float64(len(ask))-120*c.m.text)/2
	for _, l := range title {
		y += c.lead(big)
		c.text(r.x+r.w/2, y, l, big)
	}
	y += 16
	for _, l := range ask {
		y += c.lead(body)
		c.text(r.x+r.w/2, y, l, body)
	}
	bw := c.width(g.say("class.uncover_big"), style{size: 22, bold: true}) + 72
	g.button(c, "uncover", rect{r.x + (r.w-bw)/2, y + 34, bw, 58 * c.m.text}, g.say("class.uncover_big"), 22, true, func(g *Game) { g.show(s.then) })
}

// question is what the class is to write down.
func (s *roomScene) question(g *Game) string {
	switch ask := s.then.job.ask(); {
	case ask.Number:
		return g.say("class.room_number")
	case len(ask.Choices) > 0:
		return g.say("class.room_choice")
	case s.then.job.hasScale():
		return g.say("class.room_fader", g.signed(s.then.verdict.FaderDB, 1))
	}
	return g.say("class.room_faders")
}
