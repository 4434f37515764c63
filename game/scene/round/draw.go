package round

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"slowneedle/drills/plan"
	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	title, line := s.p.A.RigTitle(s.Speech), s.p.A.RigLine(s.Speech)
	if s.stage == onCard { // which has them in its middle
		title, line = "", ""
	}
	top := s.DrawHead(c, s.DrillName(s.p.A.Drill.ID), s.p.A.Where(s.Speech, false), title, line)
	if s.p.A.Practised() {
		widget.DrawMarks(c, s.marked(), true)
	}
	s.arrange(c, top, bar)
	if s.stage == onCard {
		s.drawCard(c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top))
		return
	}
	p := &s.view
	for i := range p.faces {
		s.drawDial(c, i)
	}
	for i, cell := range p.cells {
		s.drawChoice(c, i, cell)
	}
	for i, sl := range p.sliders {
		if sl.Hi > sl.Lo {
			widget.DrawTrack(c, sl.Slider, s.Speech)
		}
		s.drawStripHead(c, i)
	}
	if s.stages() && !s.p.A.View.Procedure {
		s.drawFlow(c)
	}
	s.drawMonitor(c, p.monitor)
	if s.Notice != "" { // in the task's place: a fader must not move under the hand
		s.FrameNotice(c, p.foot)
	} else {
		c.Fill(p.foot, 10, c.Theme.Panel)
	}
	most := max(2, int((p.foot.H-24)/c.Lead(draw.Style{Size: 16})))
	text := c.Shrink(s.footText(), p.foot.W-40, draw.Style{Size: 16, Color: c.Theme.Ink, Align: draw.Middle}, 11, func(b draw.Block) bool {
		return len(b.Lines) <= max(most, int((p.foot.H-24)/b.Lead))
	})
	c.Middle(p.foot.X+p.foot.W/2, p.foot.Y+p.foot.H/2, text.Cut(p.foot.H))
}

// marked is the practice as its marks show it: how this round went is not told while the
// take that decides it is played.
func (s *Scene) marked() plan.Practice {
	p := s.session.Prefs.Practice
	if last := len(p.Done) - 1; s.stage == performing && last >= 0 {
		p.Done, p.Ahead = p.Done[:last], slices.Insert(slices.Clone(p.Ahead), 0, plan.Turn{})
	}
	return p
}

// footText is what stands under the face during an exercise.
func (s *Scene) footText() string {
	task, solution := s.p.A.Task, s.p.A.Solution
	if s.meters.programme {
		task, solution = s.p.A.InMarks()
	}
	text := s.Put(task)
	switch {
	case s.Notice != "":
		return s.Notice
	case s.stage == performing:
		text = s.Say("round.take_plays")
	case s.stage == locked:
		return s.Say("round.keeping")
	case s.p.Demo != nil && s.p.Demo.Over:
		text = s.Put(solution)
	case s.p.Demo != nil:
		text = s.Say("round.showing") + " " + text
	case s.paused:
		text = s.Say("round.paused")
	case s.p.Choice >= 0:
		key := "round.chosen"
		if s.p.A.ByEar() {
			key = "round.chosen_sound"
		}
		text = s.Say(key, s.p.A.Ask.Choices[s.p.Choice])
	}
	if s.sound.Quiet() {
		text = s.Say("sound.none") + " · " + text
	}
	return text
}

// drawDial draws a face, its name, and the mark of its target.
func (s *Scene) drawDial(c *draw.Canvas, i int) {
	d := s.view.faces[i]
	text := c.M.Text
	c.M.Text = widget.FaceText(c)
	defer func() { c.M.Text = text }()
	switch {
	case s.meters.covered && d.Small:
		c.Fill(draw.R(d.Area.X, d.Area.Y, d.Area.W, d.Area.H-8), 10, c.Theme.Panel)
		return
	case s.meters.covered:
		r := d.Area.Grow(-12)
		if lamp := s.view.bulb.Area(text); s.view.lamp && lamp.Y < r.Bottom() && lamp.X > r.X+r.W/2 {
			r.W = math.Min(r.W, lamp.X-16-r.X) // the lamp stands beside it
		}
		c.Fill(r, 14, c.Theme.Panel)
		c.Text(r.X+r.W/2, r.Y+r.H/2, s.Say("round.covered"), draw.Style{Size: 18, Color: c.Theme.Dim, Align: draw.Middle})
		return
	}
	d.Programme = s.meters.programme
	widget.DrawFace(c, d.Face, s.Speech)
	if s.p.A.Classroom && !d.Small && !d.Programme {
		c.Bow(d.Cx, d.Cy, d.R, d.Angle(0), d.Angle(widget.ZeroVU), 7, c.Theme.Ink)
		c.Bow(d.Cx, d.Cy, d.R, d.Angle(widget.ZeroVU), d.Angle(1), 16, c.Theme.Arc)
	}
	last := len(s.p.Controls) - 1
	asked := !s.stages() || d.sources[0] == s.p.Controls[last].Index // the level at the end of a chain
	if !s.p.A.View.TargetCovered && s.p.A.View.Needles == 0 && asked {
		widget.DrawTarget(c, d.Face, s.deflect(s.p.A.TargetVU()))
	}
	if len(d.sources) == 2 {
		st := draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Right} // where the needles do not rest
		x, y := d.Area.Right()-12, d.Bottom-16
		switch {
		case c.M.Landscape && s.p.A.Ask.Number: // the face is narrow
			x, y, st.Align = d.Area.X+12, d.Area.Y+16*c.M.Text, 0
		case x-c.Width(s.Say("round.left_right"), st) < d.Cx+30*c.M.Text: // the unit stands there
			y -= 17 * c.M.Text
		}
		c.Text(x, y, s.Say("round.left_right"), st)
	}
	if d.name != "" {
		c.Text(d.Area.Right()-12, d.Bottom-16, d.name, draw.Style{Size: 20, Color: c.Theme.Ink, Bold: true, Align: draw.Right})
	}
}

// drawChoice frames an answer that can be chosen: its needle or, where there is none,
// a letter, and whether it is the one that is heard.
func (s *Scene) drawChoice(c *draw.Canvas, i int, box draw.Rect) {
	st := draw.Style{Size: 20, Color: c.Theme.Dim, Align: draw.Middle}
	label := s.p.A.Ask.Choices[i]
	bare := s.p.A.View.Needles == 0
	if bare && s.p.Solo == i {
		c.Fill(box, 12, c.Theme.Panel)
	}
	if s.p.Choice == i {
		c.Frame(box, 12, 3, c.Theme.Ink)
		st.Color, st.Bold = c.Theme.Ink, true
		label = "● " + label
	} else {
		c.Frame(box, 12, 1, c.Theme.Faint)
	}
	base := box.Y + 26*c.M.Text
	if bare {
		st.Size = math.Min(72, box.H/c.M.Text*0.4)
		base = box.Y + box.H/2 + c.Size(st)*0.36
		if s.p.Solo == i {
			note := draw.Style{Size: 16, Color: c.Theme.Ink, Align: draw.Middle}
			c.Fit(box.X+box.W/2, math.Min(base+c.Lead(note)+8, box.Bottom()-10), box.W-20, s.Say("round.heard_now"), note)
			base -= c.Size(st) * 0.2
		}
	}
	c.Text(box.X+box.W/2, base, label, st)
	s.HitOn(c, "choice."+s.p.A.Ask.Choices[i], s.p.A.Ask.Choices[i], s.p.Choice == i, box, func() { s.choose(i) })
}

// drawStripHead names a control; the chosen one of several is framed.
func (s *Scene) drawStripHead(c *draw.Canvas, i int) {
	sl, control := &s.view.sliders[i], s.p.Controls[i]
	label, st := s.Part(control.Label), draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Middle}
	several := len(s.p.Controls) > 1
	switch {
	case s.p.A.Ask.Number:
		label = s.Say("round.above_needle")
	case !several:
		label = s.Say("round.fader")
	case s.p.A.View.PerChannel && !s.stages():
		st.Size = 18
		if sl.head.W < 90*c.M.Text {
			st.Size = 14
		}
	}
	id := "slider." + strconv.Itoa(i)
	if sl.Hi > sl.Lo {
		c.List(draw.Item{Name: id + ".knob", Role: draw.RoleSlider, Label: label, Place: sl.Knob(s.p.Value(i))})
		if s.Areas.Focus == id+".knob" {
			c.Frame(sl.Moving().Grow(2), 8, 3, c.Theme.Focus)
		}
		c.List(draw.Item{Name: id + ".track", Role: draw.RoleSlider, Label: label, Place: draw.R(sl.X, sl.Top, math.Max(0, sl.Right-sl.X), math.Max(0, sl.Bottom-sl.Top))})
	}
	switch {
	case s.p.A.View.Procedure: // in their order
		label = strconv.Itoa(i+1) + " " + label
	case s.stages(): // there is no room to tell which are fixed, and they have no slider
	case control.Fixed && s.p.A.View.OneAtATime:
		label += " · " + s.Say("round.reference")
	case control.Fixed:
		label += " · " + s.Say("round.fixed")
	}
	if several && i == s.p.Chosen {
		c.Fill(sl.head, sl.head.H/2, c.Theme.Ink)
		st.Color, st.Bold = c.Theme.Ground, true
	}
	if s.p.Solo >= 0 && s.p.Solo == control.Index && !s.stages() {
		label += " · " + s.Say("round.heard")
	}
	if s.p.A.View.PerChannel && !s.p.A.View.OneAtATime && !s.stages() {
		label = shorten(c, label, sl.head.W-8, st)
	}
	c.Fit(sl.head.X+sl.head.W/2, sl.head.Y+sl.head.H/2+st.Size*0.36*c.M.Text, sl.head.W-8, label, st)
	if several {
		pick := sl.pick
		if pick.W == 0 {
			pick = sl.head
		}
		s.HitOn(c, "channel."+control.Label, label, i == s.p.Chosen, pick, func() { s.choose(i) })
	}
}

// shorten leaves out the end of a channel's name, but not its number, where there is
// little room: three letters tell more than one and three dots.
func shorten(c *draw.Canvas, label string, w float64, st draw.Style) string {
	name := []rune(strings.TrimRight(label, " 23456789"))
	number := strings.TrimSpace(label[len(string(name)):])
	for short := label; ; short = string(name) + number {
		if len(name) <= 2 || c.Width(short, st) <= w {
			return short
		}
		name = name[:len(name)-1]
	}
}

// drawMonitor draws the monitor control, away from the fader.
func (s *Scene) drawMonitor(c *draw.Canvas, r draw.Rect) {
	b := r.H
	val := s.Say("unit.db", s.Short(s.session.Prefs.MonitorDB))
	quieter, louder := s.Say("round.quieter"), s.Say("round.louder")
	s.Sign(c, "monitor.less", draw.R(r.X, r.Y, b, b), "−", quieter, 18, false, func() { s.setMonitor(s.session.Prefs.MonitorDB - 1) })
	s.Sign(c, "monitor.more", draw.R(r.Right()-b, r.Y, b, b), "+", louder, 18, false, func() { s.setMonitor(s.session.Prefs.MonitorDB + 1) })
	st := draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Middle}
	if s.hand.monitor {
		st.Color, st.Bold = c.Theme.Ink, true
		c.Frame(r.Grow(5), 10, 2, c.Theme.Ink)
	}
	c.Fit(r.X+r.W/2, r.Y+r.H/2-3*c.M.Text, r.W-2*b-6, s.Say("round.monitor"), st)
	c.Fit(r.X+r.W/2, r.Y+r.H/2+12*c.M.Text, r.W-2*b-6, val, st)
}

// drawCard shows what is asked, and in which rig, before the sound starts.
func (s *Scene) drawCard(c *draw.Canvas, r draw.Rect) {
	w := math.Min(r.W, 900)
	line := draw.Style{Size: 26 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
	small := draw.Style{Size: 17 / math.Sqrt(c.M.Text), Color: c.Theme.Dim, Align: draw.Middle}
	task := draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Align: draw.Middle}
	if c.M.Phone && c.M.Portrait {
		line.Size, small.Size, task.Size = line.Size*1.1, small.Size*1.15, task.Size*1.15
	}
	var explain draw.Block
	if s.autoStartAt.IsZero() {
		explain = c.Block(s.Explain(s.p.A.Drill.ID), w-80, small)
	}
	var parts []string
	if !s.p.A.ByEar() {
		parts = append([]string{s.p.A.RigTitle(s.Speech)}, strings.Split(s.p.A.RigLine(s.Speech), " · ")...)
	}
	if state := s.p.A.State(s.Speech); state != "" {
		parts = append(parts, state)
	}
	if s.p.A.Seconds > 0 {
		parts = append(parts, s.Say("round.allowed", s.Number(s.p.A.Seconds, 0)))
	}
	facts := draw.Block{Lines: parts, Style: line, Lead: c.Lead(line)}
	if c.M.Landscape { // there is the width
		facts = c.Block(strings.Join(parts, " · "), w-60, line)
	}
	tasks := c.Block(s.Put(s.p.A.Task), w-80, task)
	blocks := []draw.Block{explain, facts, tasks}
	h := 110 + facts.Height() + tasks.Height() + explain.Height()
	button := 58*c.M.Text + 14
	if c.M.Phone || h+button-explain.Height() > r.H { // the bar has one
		button = 0
	}
	if !s.autoStartAt.IsZero() {
		blocks = append(blocks, draw.Block{Lines: []string{s.Say("round.starts_in", s.startsIn())}, Style: small, Lead: c.Lead(small)})
		h += c.Lead(small) + 16
	}
	h += button
	if h > r.H { // the drill was explained before, and is in the help
		blocks, h = blocks[1:], h-explain.Height()-16
	}
	gap := math.Max(2, math.Min(16, 16+(r.H-h)/4)) // between blocks, and a share of it above and below
	h = math.Min(h, r.H)
	card := draw.R(r.X+(r.W-w)/2, r.Y+math.Max(0, (r.H-h)*0.4), w, h)
	c.Fill(card, 14, c.Theme.Panel)
	y := card.Y + gap*1.9
	for _, b := range blocks {
		b = b.Cut(card.Bottom() - button - y)
		for _, l := range b.Lines {
			y += b.Lead
			c.Fit(card.X+w/2, y, w-60, l, b.Style)
		}
		y += gap
	}
	if button > 0 {
		wide := c.Width(s.Say("round.begin_big"), draw.Style{Size: 22, Bold: true}) + 90
		s.Button(c, "begin", draw.R(card.X+(w-wide)/2, card.Bottom()-button-8, wide, button-14), s.Say("round.begin_big"), 22, true, s.begin)
	}
}
