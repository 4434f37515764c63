package game

import (
	"fmt"
	"image/color"
	"math"
	"strings"
	"time"

	"slowneedle/audio/medium"
)

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
	s.shown = shown{}
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
	w := math.Min(r.w, 820)
	title := style{size: 44 / math.Sqrt(c.m.text), c: c.th.ink, bold: true, align: middle}
	line := style{size: 26 / math.Sqrt(c.m.text), c: c.th.ink, align: middle}
	small := style{size: 17 / math.Sqrt(c.m.text), c: c.th.dim, align: middle}
	hint := "card.digital"
	if rig.Medium == medium.KindTape {
		hint = "card.tape"
	}
	facts := strings.Split(g.rigLine(rig), " · ")
	lines := c.wrap(g.say(hint, g.shortSigned(rig.TargetVU)), w-80, small)
	h := 64 + c.lead(title) + c.lead(line)*float64(len(facts)) + 20 + c.lead(small)*float64(len(lines))
	card := rect{r.x + (r.w-w)/2, r.y + math.Max(0, (r.h-h)*0.4), w, h}
	c.fill(card, 14, c.th.panel)
	x, y := card.x+w/2, card.y+28+c.lead(title)*0.8
	c.fit(x, y, w-60, g.rigTitle(rig), title)
	y += c.lead(line) + 10
	for _, fact := range facts {
		c.fit(x, y, w-60, fact, line)
		y += c.lead(line)
	}
	y += 10
	for _, l := range lines {
		c.text(x, y, l, small)
		y += c.lead(small)
	}
}

// shown is what the moving parts of a round look like on the screen now; the
// zero value is a screen on which none stands yet.
type shown struct {
	drawn   bool
	d       [2]float64 // deflection of the needles
	lit     bool
	fader   float64
	covered []rect // by the needles
}

// live draws needle, lamp and fader as they are heard now, each only when it
// has moved: a frame in which nothing did costs nothing.
func (s *roundScene) live(g *Game, c *canvas) {
	if !s.playing {
		return
	}
	now := shown{drawn: true, fader: s.desk.Fader(0)}
	for i := range now.d {
		now.d[i] = deflection(s.snap.NeedleDBFS[i] - s.round.Rig.ReferenceDBFS)
	}
	now.lit = s.lamp.show(time.Since(s.clock).Seconds(), s.snap.Lit)
	was := s.shown

	pixel := 0.15 / (sweepAngle * c.px(s.face.r))
	if !was.drawn || math.Abs(now.d[0]-was.d[0]) > pixel || math.Abs(now.d[1]-was.d[1]) > pixel {
		for _, r := range was.covered {
			g.restore(c, r)
		}
		now.covered = was.covered[:0]
		if len(s.round.Sound.Channels) == 2 {
			now.covered = c.drawNeedle(s.face, now.d[1], 3, true, now.covered)
		}
		now.covered = c.drawNeedle(s.face, now.d[0], 5, false, now.covered)
	} else {
		now.covered, now.d = was.covered, was.d
	}
	if !was.drawn || now.lit != was.lit {
		g.restore(c, s.bulb.area(c.m.text))
		c.drawLamp(s.bulb, now.lit, g.lampName(s.round.Rig), g.say("lamp.over"))
	}
	if !was.drawn || now.fader != was.fader {
		s.drawFader(g, c, now.fader)
	}
	s.shown = now
}

// drawFader draws the knob and its figure over the standing track.
func (s *roundScene) drawFader(g *Game, c *canvas, db float64) {
	f := s.fader
	g.restore(c, rect{f.x - 36, f.top - 18, 72, f.bottom - f.top + 36})
	c.drawFaderKnob(f, db)
	read := rect{f.x - 60 - 20*c.m.text, f.bottom + 20, 120 + 40*c.m.text, 34 * c.m.text}
	g.restore(c, read)
	c.text(f.x, read.y+26*c.m.text, g.say("unit.db", g.signed(db, 1)), style{size: 26, c: c.th.ink, bold: true, align: middle})
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
