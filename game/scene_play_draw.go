package game

import (
	"math"
	"strings"

	"slowneedle/game/draw"
	"slowneedle/game/words"
)

func (s *playScene) draw(g *Game, c *draw.Canvas) {
	rig := s.job.rig()
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.DrillName(s.job.drill()), s.job.where(g.Speech, false), g.RigTitle(rig), s.job.rigLine(g.Speech))
	s.arrange(c, top, bar)
	if !s.playing {
		s.drawCard(g, c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top))
		return
	}
	p := &s.pan
	for i := range p.faces {
		s.drawDial(g, c, i)
	}
	for i, sl := range p.sliders {
		drawTrack(c, sl.slider, g.Speech)
		s.drawStripHead(g, c, i)
	}
	s.drawMonitor(g, c, p.monitor)
	c.Fill(p.foot, 10, c.Theme.Panel)
	st := draw.Style{Size: 16, Color: c.Theme.Ink, Align: draw.Middle}
	lines := c.Wrap(s.footText(g), p.foot.W-40, st)
	for len(lines) > max(2, int((p.foot.H-24)/c.Lead(st))) && st.Size > math.Max(11, c.M.Least/c.M.Text) {
		st.Size = math.Max(st.Size-1, c.M.Least/c.M.Text)
		lines = c.Wrap(s.footText(g), p.foot.W-40, st)
	}
	y := p.foot.Y + p.foot.H/2 - c.Lead(st)*float64(len(lines)-1)/2 + 6*c.M.Text
	for _, l := range lines {
		c.Text(p.foot.X+p.foot.W/2, y, l, st)
		y += c.Lead(st)
	}
}

// footText is what stands under the face during an exercise.
func (s *playScene) footText(g *Game) string {
	text := g.Put(s.job.ex.Task)
	switch {
	case g.keeping != nil:
		return g.Say("round.keeping")
	case s.show != nil && s.show.over:
		text = g.Put(s.job.ex.Solution)
	case s.show != nil:
		text = g.Say("round.showing") + " " + text
	case s.paused:
		text = g.Say("round.paused")
	case s.pan.trust && s.choice >= 0:
		text = g.Say("round.chosen", s.job.ask().Choices[s.choice])
	}
	if g.silent {
		text = g.Say("sound.none") + " · " + text
	}
	return text
}

// drawDial draws a face, its name, and the mark of its target.
func (s *playScene) drawDial(g *Game, c *draw.Canvas, i int) {
	d := s.pan.faces[i]
	text := c.M.Text
	c.M.Text = faceText(c)
	defer func() { c.M.Text = text }()
	switch {
	case s.covered && d.small:
		c.Fill(draw.R(d.area.X, d.area.Y, d.area.W, d.area.H-8), 10, c.Theme.Panel)
		return
	case s.covered:
		r := d.area.Grow(-12)
		if lamp := s.pan.bulb.area(text); s.pan.lamp && lamp.Y < r.Bottom() && lamp.X > r.X+r.W/2 {
			r.W = math.Min(r.W, lamp.X-16-r.X) // the lamp stands beside it
		}
		c.Fill(r, 14, c.Theme.Panel)
		c.Text(r.X+r.W/2, r.Y+r.H/2, g.Say("round.covered"), draw.Style{Size: math.Max(18, c.M.Least/c.M.Text), Color: c.Theme.Dim, Align: draw.Middle})
		return
	case d.small:
		drawSmallFace(c, d.face)
	case s.programme:
		drawProgrammeFace(c, d.face, g.Speech)
	default:
		drawFace(c, d.face, g.Speech)
		if s.job.room {
			c.Bow(d.cx, d.cy, d.r, d.angle(0), d.angle(zeroVU), 7, c.Theme.Ink)
			c.Bow(d.cx, d.cy, d.r, d.angle(zeroVU), d.angle(1), 16, c.Theme.Ink)
		}
	}
	if !s.job.view().TargetCovered && !s.pan.trust {
		drawTarget(c, d.face, s.deflect(s.job.ex.TargetVU()), d.small)
	}
	if len(d.sources) == 2 {
		st := draw.Style{Size: math.Max(14, c.M.Least/c.M.Text), Color: c.Theme.Dim}
		x := d.area.X + 12
		if c.M.Phone { // where the needles do not rest
			x, st.Align = d.area.Right()-12, draw.Right
		}
		c.Text(x, d.bottom-16, g.Say("round.left_right"), st)
	}
	if d.name != "" {
		c.Text(d.area.X+12, d.bottom-16, d.name, draw.Style{Size: 20, Color: c.Theme.Ink, Bold: true})
	}
	if s.pan.trust {
		s.drawChoice(g, c, i, d)
	}
}

// drawChoice frames a face that can be chosen.
func (s *playScene) drawChoice(g *Game, c *draw.Canvas, i int, d dial) {
	h := 38 * c.M.Text
	box := draw.R(d.area.X, d.area.Y-h, d.area.W, d.area.H+h)
	st := draw.Style{Size: 20, Color: c.Theme.Dim, Align: draw.Middle}
	label := s.job.ask().Choices[i]
	if s.choice == i {
		c.Frame(box, 12, 3, c.Theme.Ink)
		st.Color, st.Bold = c.Theme.Ink, true
		label = "● " + label
	} else {
		c.Frame(box, 12, 1, c.Theme.Faint)
	}
	c.Text(d.cx, box.Y+26*c.M.Text, label, st)
	g.hot("choice."+s.job.ask().Choices[i], box, func(g *Game) {
		if s.show == nil {
			s.choose(g, i)
		}
	})
}

// drawStripHead names a slider; the chosen one of several is framed.
func (s *playScene) drawStripHead(g *Game, c *draw.Canvas, i int) {
	sl := s.pan.sliders[i]
	label, st := sl.label, draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Middle}
	switch {
	case s.job.ask().Number:
		label = g.Say("round.above_needle")
	case len(s.pan.sliders) == 1:
		label = g.Say("round.fader")
	case s.job.view().PerChannel:
		st.Size = 18
	default:
		label = g.Say(words.SideKey(label))
	}
	if sl.fixed {
		label += " · " + g.Say("round.fixed")
	}
	if len(s.pan.sliders) > 1 && i == s.sel {
		c.Fill(sl.head, sl.head.H/2, c.Theme.Ink)
		st.Color, st.Bold = c.Theme.Ground, true
	}
	if s.listen >= 0 && s.listen == sl.channel {
		label += " · " + g.Say("round.heard")
	}
	c.Fit(sl.head.X+sl.head.W/2, sl.head.Y+sl.head.H/2+st.Size*0.36*c.M.Text, sl.head.W-8, label, st)
	if len(s.pan.sliders) > 1 {
		pick := sl.pick
		if pick.W == 0 {
			pick = sl.head
		}
		g.hot("channel."+sl.label, pick, func(g *Game) { s.choose(g, i) })
	}
}

// drawMonitor is the loudness in the room: apart from the fader.
func (s *playScene) drawMonitor(g *Game, c *draw.Canvas, r draw.Rect) {
	b := r.H
	val := g.Say("unit.db", g.Short(g.set.MonitorDB))
	g.button(c, "monitor.less", draw.R(r.X, r.Y, b, b), "−", 18, false, func(g *Game) { s.setMonitor(g, g.set.MonitorDB-1) })
	g.button(c, "monitor.more", draw.R(r.Right()-b, r.Y, b, b), "+", 18, false, func(g *Game) { s.setMonitor(g, g.set.MonitorDB+1) })
	st := draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Middle}
	if s.monitor {
		st.Color, st.Bold = c.Theme.Ink, true
		c.Frame(r.Grow(5), 10, 2, c.Theme.Ink)
	}
	c.Fit(r.X+r.W/2, r.Y+r.H/2-3*c.M.Text, r.W-2*b-6, g.Say("round.monitor"), st)
	c.Fit(r.X+r.W/2, r.Y+r.H/2+12*c.M.Text, r.W-2*b-6, val, st)
}

// drawCard shows what is asked, and in which rig, before the sound starts.
func (s *playScene) drawCard(g *Game, c *draw.Canvas, r draw.Rect) {
	rig := s.job.rig()
	w := math.Min(r.W, 900)
	line := draw.Style{Size: 26 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
	small := draw.Style{Size: 17 / math.Sqrt(c.M.Text), Color: c.Theme.Dim, Align: draw.Middle}
	task := draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Align: draw.Middle}
	if c.M.Phone && c.M.Portrait {
		line.Size, small.Size, task.Size = line.Size*1.1, small.Size*1.15, task.Size*1.15
	}
	var explain []string
	if s.passes.IsZero() {
		explain = c.Wrap(g.Explain(s.job.drill()), w-80, small)
	}
	facts := append([]string{g.RigTitle(rig)}, strings.Split(s.job.rigLine(g.Speech), " · ")...)
	if s.job.seconds() > 0 {
		facts = append(facts, g.Say("round.allowed", g.Number(s.job.seconds(), 0)))
	}
	tasks := c.Wrap(g.Put(s.job.ex.Task), w-80, task)
	if c.M.Landscape { // there is the width
		facts = c.Wrap(strings.Join(facts, " · "), w-60, line)
	}
	h := 70 + c.Lead(line)*float64(len(facts)) + c.Lead(task)*float64(len(tasks)) + c.Lead(small)*float64(len(explain)) + 40
	card := draw.R(r.X+(r.W-w)/2, r.Y+math.Max(0, (r.H-h)*0.4), w, h)
	c.Fill(card, 14, c.Theme.Panel)
	x, y := card.X+w/2, card.Y+30
	put := func(lines []string, st draw.Style, gap float64) {
		for _, l := range lines {
			y += c.Lead(st)
			c.Fit(x, y, w-60, l, st)
		}
		y += gap
	}
	put(explain, small, 18)
	put(facts, line, 14)
	put(tasks, task, 0)
}
