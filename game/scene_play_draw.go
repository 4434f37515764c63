package game

import (
	"math"
	"strings"
)

// drillName is a drill's title in the interface's words.
func (g *Game) drillName(id string) string { return g.say("drill." + id) }

// where says which exercise this is.
func (g *Game) where(j *job, kind bool) string {
	family, k := g.say("family."+string(j.family())), g.kind(j)
	switch trust := j.view().Needles > 0; { // its sound is not always the drawn family's
	case trust && kind && k != "":
		family = k
	case trust:
		family = g.say("family." + string(j.strips()[0].Sound.Family))
	case kind && k != "":
		family += ": " + k
	}
	if j.series != nil {
		return g.say("class.where", j.number, j.series.hand.Sheet.Rounds, family)
	}
	if j.room {
		return g.say("round.where_room", j.number, family)
	}
	if j.level() > 0 {
		return g.say("round.where_level", j.number, family, j.level())
	}
	return g.say("round.where", j.number, family)
}

func (s *playScene) draw(g *Game, c *canvas) {
	rig := s.job.rig()
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.drillName(s.job.drill()), g.where(s.job, false), g.rigTitle(rig), g.jobLine(s.job))
	s.arrange(c, top, bar)
	if !s.playing {
		s.drawCard(g, c, rect{margin, top, c.m.w - 2*margin, bar - top})
		return
	}
	p := &s.pan
	for i := range p.faces {
		s.drawDial(g, c, i)
	}
	for i, sl := range p.sliders {
		c.drawTrack(sl.slider, g.speech)
		s.drawStripHead(g, c, i)
	}
	s.drawMonitor(g, c, p.monitor)
	c.fill(p.foot, 10, c.th.panel)
	st := style{size: 16, c: c.th.ink, align: middle}
	lines := c.wrap(s.footText(g), p.foot.w-40, st)
	for len(lines) > max(2, int((p.foot.h-24)/c.lead(st))) && st.size > math.Max(11, c.m.least/c.m.text) {
		st.size = math.Max(st.size-1, c.m.least/c.m.text)
		lines = c.wrap(s.footText(g), p.foot.w-40, st)
	}
	y := p.foot.y + p.foot.h/2 - c.lead(st)*float64(len(lines)-1)/2 + 6*c.m.text
	for _, l := range lines {
		c.text(p.foot.x+p.foot.w/2, y, l, st)
		y += c.lead(st)
	}
}

// footText is what stands under the face during an exercise.
func (s *playScene) footText(g *Game) string {
	text := g.put(s.job.ex.Task)
	switch {
	case g.keeping != nil:
		return g.say("round.keeping")
	case s.show != nil && s.show.over:
		if text = g.put(s.job.ex.Solution); text == "" {
			text = g.say("round.shown")
		}
	case s.show != nil:
		text = g.say("round.showing") + " " + text
	case s.paused:
		text = g.say("round.paused")
	case s.pan.trust && s.choice >= 0:
		text = g.say("round.chosen", s.job.ask().Choices[s.choice])
	}
	if g.silent {
		text = g.say("sound.none") + " · " + text
	}
	return text
}

// drawDial draws a face, its name, and the mark of its target.
func (s *playScene) drawDial(g *Game, c *canvas, i int) {
	d := s.pan.faces[i]
	text := c.m.text
	c.m.text = c.faceText()
	defer func() { c.m.text = text }()
	switch {
	case s.covered && d.small:
		c.fill(rect{d.area.x, d.area.y, d.area.w, d.area.h - 8}, 10, c.th.panel)
		return
	case s.covered:
		r := d.area.grow(-12)
		if lamp := s.pan.bulb.area(text); s.pan.lamp && lamp.y < r.bottom() && lamp.x > r.x+r.w/2 {
			r.w = math.Min(r.w, lamp.x-16-r.x) // the lamp stands beside it
		}
		c.fill(r, 14, c.th.panel)
		c.text(r.x+r.w/2, r.y+r.h/2, g.say("round.covered"), style{size: math.Max(18, c.m.least/c.m.text), c: c.th.dim, align: middle})
		return
	case d.small:
		c.drawSmallFace(d.face)
	case s.programme:
		c.drawProgrammeFace(d.face, g.speech)
	default:
		c.drawFace(d.face, g.speech)
		if s.job.room {
			c.bow(d.cx, d.cy, d.r, d.angle(0), d.angle(zeroVU), 7, c.th.ink)
			c.bow(d.cx, d.cy, d.r, d.angle(zeroVU), d.angle(1), 16, c.th.ink)
		}
	}
	if !s.job.view().TargetCovered && !s.pan.trust {
		c.drawTarget(d.face, s.deflect(s.job.rig().TargetVU), d.small)
	}
	if len(d.sources) == 2 {
		st := style{size: math.Max(14, c.m.least/c.m.text), c: c.th.dim}
		x := d.area.x + 12
		if c.m.phone { // where the needles do not rest
			x, st.align = d.area.right()-12, right
		}
		c.text(x, d.bottom-16, g.say("round.left_right"), st)
	}
	if d.name != "" {
		c.text(d.area.x+12, d.bottom-16, d.name, style{size: 20, c: c.th.ink, bold: true})
	}
	if s.pan.trust {
		s.drawChoice(g, c, i, d)
	}
}

// drawChoice frames a face that can be chosen.
func (s *playScene) drawChoice(g *Game, c *canvas, i int, d dial) {
	h := 38 * c.m.text
	box := rect{d.area.x, d.area.y - h, d.area.w, d.area.h + h}
	st := style{size: 20, c: c.th.dim, align: middle}
	label := s.job.ask().Choices[i]
	if s.choice == i {
		c.frame(box, 12, 3, c.th.ink)
		st.c, st.bold = c.th.ink, true
		label = "● " + label
	} else {
		c.frame(box, 12, 1, c.th.faint)
	}
	c.text(d.cx, box.y+26*c.m.text, label, st)
	g.hot("choice."+s.job.ask().Choices[i], box, func(g *Game) {
		if s.show == nil {
			s.choose(g, i)
		}
	})
}

// sideKey is the word of a channel that is named by its side.
func sideKey(label string) string { return "side." + label }

// drawStripHead names a slider; the chosen one of several is framed.
func (s *playScene) drawStripHead(g *Game, c *canvas, i int) {
	sl := s.pan.sliders[i]
	label, st := sl.label, style{size: 15, c: c.th.dim, align: middle}
	switch {
	case s.job.ask().Number:
		label = g.say("round.above_needle")
	case len(s.pan.sliders) == 1:
		label = g.say("round.fader")
	case s.job.view().PerChannel:
		st.size = 18
	default:
		label = g.say(sideKey(label))
	}
	if sl.fixed {
		label += " · " + g.say("round.fixed")
	}
	if len(s.pan.sliders) > 1 && i == s.sel {
		c.fill(sl.head, sl.head.h/2, c.th.ink)
		st.c, st.bold = c.th.ground, true
	}
	if s.listen >= 0 && s.listen == sl.channel {
		label += " · " + g.say("round.heard")
	}
	c.fit(sl.head.x+sl.head.w/2, sl.head.y+sl.head.h/2+st.size*0.36*c.m.text, sl.head.w-8, label, st)
	if len(s.pan.sliders) > 1 {
		pick := sl.pick
		if pick.w == 0 {
			pick = sl.head
		}
		g.hot("channel."+sl.label, pick, func(g *Game) { s.choose(g, i) })
	}
}

// drawMonitor is the loudness in the room: apart from the fader.
func (s *playScene) drawMonitor(g *Game, c *canvas, r rect) {
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

// drawCard shows what is asked, and in which rig, before the sound starts.
func (s *playScene) drawCard(g *Game, c *canvas, r rect) {
	rig := s.job.rig()
	w := math.Min(r.w, 900)
	line := style{size: 26 / math.Sqrt(c.m.text), c: c.th.ink, bold: true, align: middle}
	small := style{size: 17 / math.Sqrt(c.m.text), c: c.th.dim, align: middle}
	task := style{size: 20 / math.Sqrt(c.m.text), c: c.th.ink, align: middle}
	if c.m.phone && c.m.upright {
		line.size, small.size, task.size = line.size*1.1, small.size*1.15, task.size*1.15
	}
	var explain []string
	if s.passes.IsZero() {
		explain = c.wrap(g.explain(s.job.drill()), w-80, small)
	}
	facts := append([]string{g.rigTitle(rig)}, strings.Split(g.jobLine(s.job), " · ")...)
	if s.job.seconds() > 0 {
		facts = append(facts, g.say("round.allowed", g.number(s.job.seconds(), 0)))
	}
	tasks := c.wrap(g.put(s.job.ex.Task), w-80, task)
	if c.m.lying { // there is the width
		facts = c.wrap(strings.Join(facts, " · "), w-60, line)
	}
	h := 70 + c.lead(line)*float64(len(facts)) + c.lead(task)*float64(len(tasks)) + c.lead(small)*float64(len(explain)) + 40
	card := rect{r.x + (r.w-w)/2, r.y + math.Max(0, (r.h-h)*0.4), w, h}
	c.fill(card, 14, c.th.panel)
	x, y := card.x+w/2, card.y+30
	put := func(lines []string, st style, gap float64) {
		for _, l := range lines {
			y += c.lead(st)
			c.fit(x, y, w-60, l, st)
		}
		y += gap
	}
	put(explain, small, 18)
	put(facts, line, 14)
	put(tasks, task, 0)
}
