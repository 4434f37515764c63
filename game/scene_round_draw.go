package game

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"time"

	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

// familyLine says which source is played.
func (g *Game) familyLine(f source.Family, kind string) string {
	return g.say("family." + string(f))
}

func (s *roundScene) draw(g *Game, c *canvas) {
	r := s.round
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.say("drill.take"),
		g.say("round.where", s.number, g.say("family."+string(r.Family))),
		g.rigTitle(r.Rig), g.rigLine(r.Rig))

	side := 120 + 70*c.m.text // the fader's column
	foot := 66 * c.m.text
	s.foot = rect{margin, bar - foot - 18, c.m.w - 2*margin - side - 54, foot}
	s.face = faceIn(rect{margin - 8, top, s.foot.w + 16, s.foot.y - top - 14}, c.m.text)
	s.bulb = lampPlace{s.foot.right() - 52 - 20*c.m.text, top + 42, 26}
	monH := 34 * c.m.text
	x := c.m.w - margin - 82
	s.fader = faderPlace{x, top + 20 + 18*c.m.text, bar - monH - 34 - 52*c.m.text}

	if !s.playing {
		s.drawCard(g, c, rect{margin, top, c.m.w - 2*margin, bar - top})
		return
	}
	c.drawFace(s.face, g.speech)
	c.drawFaderTrack(s.fader, g.speech)
	c.text(x, top+14*c.m.text, g.say("round.fader"), style{size: 15, c: c.th.dim, align: middle})
	s.drawMonitor(g, c, rect{c.m.w - margin - side + 6, bar - monH - 16, side - 6, monH})
	c.fill(s.foot, 10, c.th.panel)
	c.fit(s.foot.x+s.foot.w/2, s.foot.y+s.foot.h/2+6*c.m.text, s.foot.w-40, g.footText(s), style{size: 16, c: c.th.dim, align: middle})
	s.needle = [2]rect{}
}

// footText is what stands in the covered strip during a round.
func (g *Game) footText(s *roundScene) string {
	if s.paused {
		return g.say("round.paused")
	}
	if silent, _ := g.out.Silent(); silent {
		return g.say("sound.none") + " · " + g.say("round.covered")
	}
	return g.say("round.covered")
}

// drawMonitor is the loudness in the room: apart from the fader.
func (s *roundScene) drawMonitor(g *Game, c *canvas, r rect) {
	b := r.h
	val := g.say("unit.db", g.short(g.set.MonitorDB))
	g.button(c, "monitor.less", rect{r.x, r.y, b, b}, "−", 18, false, func(g *Game) { s.setMonitor(g, g.set.MonitorDB-1) })
	g.button(c, "monitor.more", rect{r.right() - b, r.y, b, b}, "+", 18, false, func(g *Game) { s.setMonitor(g, g.set.MonitorDB+1) })
	st := style{size: 14, c: c.th.dim, align: middle}
	if s.monitor {
		st.c, st.bold = c.th.ink, true
		c.frame(r.grow(5), 10, 2, c.th.ink)
	}
	c.fit(r.x+r.w/2, r.y+r.h/2-3*c.m.text, r.w-2*b-6, g.say("round.monitor"), st)
	c.fit(r.x+r.w/2, r.y+r.h/2+12*c.m.text, r.w-2*b-6, val, st)
}

// drawCard shows the rig before the sound starts.
func (s *roundScene) drawCard(g *Game, c *canvas, r rect) {
	rig := s.round.Rig
	w := math.Min(r.w, 760)
	card := rect{r.x + (r.w-w)/2, r.y + r.h*0.16, w, r.h * 0.6}
	c.fill(card, 14, c.th.panel)
	x := card.x + w/2
	y := card.y + 40 + 34*math.Sqrt(c.m.text)
	c.fit(x, y, w-60, g.rigTitle(rig), style{size: 36, c: c.th.ink, bold: true, align: middle})
	y += 48 * c.m.text
	line := style{size: 20, c: c.th.ink, align: middle}
	for _, part := range strings.Split(g.rigLine(rig), " · ") {
		c.fit(x, y, w-60, part, line)
		y += 32 * c.m.text
	}
	hint := "card.digital"
	if rig.Medium == medium.KindTape {
		hint = "card.tape"
	}
	small := style{size: 16, c: c.th.dim, align: middle}
	for _, l := range c.wrap(g.say(hint, g.shortSigned(rig.TargetVU)), w-60, small) {
		y += 4
		c.text(x, y, l, small)
		y += c.lead(small)
	}
}

// vu is a level in the rig's VU, the higher channel's where ch is 0.
func (s *roundScene) vu(dbfs float64) float64 { return dbfs - s.round.Rig.ReferenceDBFS }

// live draws needle, lamp and fader as they are heard now.
func (s *roundScene) live(g *Game, c *canvas) {
	if !s.playing {
		return
	}
	for _, r := range s.needle {
		g.restore(c, r)
	}
	g.restore(c, s.bulb.area(c.m.text))
	two := len(s.round.Sound.Channels) == 2
	if two {
		s.needle[1] = c.drawNeedle(s.face, s.vu(s.snap.NeedleDBFS[1]), 3, true)
	}
	s.needle[0] = c.drawNeedle(s.face, s.vu(s.snap.NeedleDBFS[0]), 5, false)
	now := time.Since(s.clock).Seconds()
	c.drawLamp(s.bulb, s.lamp.show(now, s.snap.Lit), g.lampName(s.round.Rig), g.say("lamp.over"))

	f := s.fader
	g.restore(c, rect{f.x - 36, f.top - 18, 72, f.bottom - f.top + 36})
	// The fader's marks reach under the knob's left edge.
	db := s.desk.Fader(0)
	c.drawFaderKnob(f, db)
	size := 26.0
	read := rect{f.x - 60 - 20*c.m.text, f.bottom + 20, 2*60 + 40*c.m.text, 34 * c.m.text}
	g.restore(c, read)
	c.text(f.x, read.y+26*c.m.text, g.say("unit.db", g.signed(db, 1)), style{size: size, c: c.th.ink, bold: true, align: middle})
}

// tone picks the colour of a verdict.
func (c *canvas) tone(right, spoiled bool) color.NRGBA {
	switch {
	case right:
		return c.th.teal
	case spoiled:
		return c.th.brick
	}
	return c.th.ink
}

// seconds writes a duration in the interface's words.
func (g *Game) seconds(s float64) string {
	if s < 60 {
		return g.say("unit.s", g.short(s))
	}
	return fmt.Sprintf("%d:%02d", int(s)/60, int(s)%60)
}
