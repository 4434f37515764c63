package round

import (
	"math"
	"time"

	"slowneedle/audio"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// panel is where everything of an exercise stands, and what its moving parts
// look like now.
type panel struct {
	sliders []controlPlace // one for each control
	faces   []dial
	cells   []draw.Rect // one for each of the answers to choose from
	bulb    widget.LampPlace
	lamp    bool // there is one
	foot    draw.Rect
	monitor draw.Rect
	clock   draw.Rect
	drawn   bool // the moving parts
	lit     bool
	turn    float64 // share of the time to count in that is over, as drawn
	left    float64 // seconds left, as drawn
}

// controlPlace is where a control's slider and what belongs to it stand.
type controlPlace struct {
	widget.Slider
	head  draw.Rect // its name
	pick  draw.Rect // what is touched to choose it; the head, if empty
	read  draw.Rect // where its setting is written; under it, if empty
	shown float64
	lamp  widget.LampPlace // of a stage; none without a radius
	lit   bool
}

// dial is a needle's face with its needles.
type dial struct {
	widget.Face
	sources []int     // what each needle shows: a side of the bus, a channel, or one of the drill's own
	name    string    // of the channel it shows, where it does not stand over a fader
	shown   []float64 // deflections as drawn
	covered []draw.Rect
}

// arrange places everything between a top and the key bar.
func (s *Scene) arrange(c *draw.Canvas, top, bar float64) {
	v := s.p.A.View
	s.view = panel{lamp: !v.LampCovered && v.Needles == 0}
	p := &s.view
	foot := 66 * c.M.Text
	if c.M.Portrait {
		foot = 150 * c.M.Text
	}
	p.foot = draw.R(draw.Margin, bar-foot-18, c.M.W-2*draw.Margin, foot)
	p.monitor = monitorBox(c, bar-16, 114+70*c.M.Text)
	if s.allowed() > 0 {
		p.clock = draw.R(draw.Margin, top, c.M.W-2*draw.Margin, 12+15*c.M.Text)
		top += p.clock.H + 6
	}
	switch {
	case c.M.Landscape:
		s.arrangeLandscape(c, top, bar)
	case s.stages():
		p.foot.W -= p.monitor.W + 24
		if c.M.Portrait {
			s.footOverMonitor(c)
			more := c.Lead(draw.Style{Size: 16}) // a procedure takes more words
			p.foot.Y, p.foot.H = p.foot.Y-more, p.foot.H+more
		}
		s.arrangeStages(c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-16-top))
	case s.asks():
		p.foot.W -= 190 + 70*c.M.Text
		if c.M.Phone {
			s.footOverMonitor(c)
		}
		s.arrangeAnswers(c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-top-20))
	case c.M.Portrait && !v.PerChannel:
		s.arrangeOnePortrait(c, top, bar)
	case v.PerChannel:
		s.arrangeChannels(c, top, bar)
	default:
		s.arrangeOne(c, top, bar)
	}
	if s.lampAlone() {
		s.raiseLamp(c)
	}
}

// asks reports whether the answer is a choice or a number, and no fader's setting.
func (s *Scene) asks() bool { return s.p.A.Ask.Number || len(s.p.A.Ask.Choices) > 0 }

// lampAlone reports whether the lamp is all there is to go by.
func (s *Scene) lampAlone() bool {
	v := s.p.A.View
	return v.NeedleCovered && !v.LampCovered && !v.PerChannel && v.Needles == 0
}

// raiseLamp puts the lamp in the face's place, at least a quarter of the window high.
func (s *Scene) raiseLamp(c *draw.Canvas) {
	p := &s.view
	a := p.faces[0].Area
	p.faces = nil
	l := widget.LampPlace{X: a.X + a.W/2, R: 0.16 * c.M.H, Counted: true}
	frame := l.Area(c.M.Text)
	l.R -= math.Max(0, math.Max(frame.H-a.H, 2*l.R+64-a.W)/2)
	frame = l.Area(c.M.Text)
	l.Y = a.Y + (a.H-frame.H)/2 - frame.Y
	p.bulb = l
}

// monitorBox is the monitor control's place at the right end of a row.
func monitorBox(c *draw.Canvas, bottom, w float64) draw.Rect {
	h := math.Max(34*c.M.Text, c.M.Finger)
	w = math.Max(w, 2*c.M.Finger+62*c.M.Text)
	return draw.R(c.M.W-draw.Margin-w, bottom-h, w, h)
}

// arrangeOne is one big face and a fader or two, or a number, beside it.
func (s *Scene) arrangeOne(c *draw.Canvas, top, bar float64) {
	p := &s.view
	n := len(s.p.Controls)
	one := 120 + 70*c.M.Text
	side := one * math.Max(1, float64(n))
	p.foot.W -= side + 54
	area := draw.R(draw.Margin-8, top, p.foot.W+16, p.foot.Y-top-14)
	if n > 1 {
		area.W -= 40 * c.M.Text // the lamp stands nearer
	}
	s.addFace(widget.FaceIn(area, c.M.Text))
	p.bulb = widget.LampPlace{X: p.foot.Right() - 30 - 10*c.M.Text, Y: top + 42, R: 26}
	bottom := bar - 34*c.M.Text - 34 - 52*c.M.Text
	for i := range n {
		x := c.M.W - draw.Margin - 82 - one*float64(n-1-i)
		sl := widget.NewFader(x, top+20+18*c.M.Text, bottom)
		s.addFader(sl, i, draw.R(x-70, top-2, 140, 22*c.M.Text))
	}
}

// addFace adds the face of a bus, which has a needle for each side of a stereo
// sound.
func (s *Scene) addFace(f widget.Face) {
	d := dial{Face: f, sources: []int{0}}
	if s.p.A.View.Stereo || len(s.p.A.Channels[0].Sound.Channels) == 2 {
		d.sources = []int{0, 1}
	}
	s.view.faces = append(s.view.faces, d)
}

// addFader adds the slider of a control under its head.
func (s *Scene) addFader(sl widget.Slider, i int, head draw.Rect) {
	c := s.p.Controls[i]
	sl.Lo, sl.Hi, sl.Step = c.Min, c.Max, c.Step
	s.view.sliders = append(s.view.sliders, controlPlace{Slider: sl, head: head})
}

// arrangeChannels is a column for each channel, a small face over a fader.
func (s *Scene) arrangeChannels(c *draw.Canvas, top, bar float64) {
	p := &s.view
	lampW := 0.0
	if p.lamp {
		lampW = 120 + 60*c.M.Text
		p.bulb = widget.LampPlace{X: c.M.W - draw.Margin - lampW/2 + 10, Y: top + 80, R: 62}
	}
	p.foot.W -= 190 + 70*c.M.Text
	if c.M.Portrait {
		s.footOverMonitor(c)
		if c.M.Phone && len(s.p.A.Channels) > manyChannels {
			s.arrangeMany(c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-12-top))
			return
		}
	}
	if p.lamp && c.M.Portrait { // over the channels, which need the width
		p.bulb = widget.LampPlace{X: c.M.W / 2, Y: top + 58, R: 46}
		top, lampW = top+124+24*c.M.Text, 0
	}
	all := s.p.A.Channels
	w := (c.M.W - 2*draw.Margin - lampW) / float64(len(all))
	col := math.Min(w, 440)
	for i := range all {
		x := draw.Margin + w*(float64(i)+0.5)
		head := draw.R(x-col/2+4, top, col-8, 26*c.M.Text)
		share := 0.42
		if c.M.Portrait {
			share = 0.3 // longer faders
		}
		faceH := math.Min(math.Min(190, col*0.62), (p.foot.Y-head.Bottom())*share)
		f := widget.SmallFaceIn(c, draw.R(x-col/2+4, head.Bottom()+8, col-8, faceH))
		p.faces = append(p.faces, dial{Face: f, sources: []int{i}})
		sl := widget.NewFader(x+14, f.Bottom+26, p.foot.Y-20-34*c.M.Text)
		sl.Small = true
		sl.Width = w
		p.sliders = append(p.sliders, controlPlace{Slider: sl, head: head})
		if c.M.Finger > 0 { // a finger hits the face more easily
			p.sliders[i].pick = draw.R(head.X, head.Y, head.W, f.Bottom-head.Y)
		}
	}
}

// arrangeAnswers is for a question that is answered by a number or a choice.
func (s *Scene) arrangeAnswers(c *draw.Canvas, place draw.Rect) {
	if s.p.A.Ask.Number {
		s.arrangeNumber(c, place)
		return
	}
	s.arrangeChoices(c, place)
}

// arrangeNumber is a face over a ruler on which the number is set, which stands large
// beside it.
func (s *Scene) arrangeNumber(c *draw.Canvas, place draw.Rect) {
	k := c.M.Text
	low, face := place.CutBottom(72 + 44*k)
	_, face = face.CutBottom(12)
	if c.M.Landscape { // side by side
		halves := place.Columns(2, 30)
		face, low = halves[0], halves[1].Inset(0, math.Max(0, (place.H-low.H)/2))
	}
	s.addFace(widget.FaceIn(draw.R(face.X-8, face.Y, face.W+16, face.H), widget.FaceText(c)))
	read := 50 + 70*k
	name := c.Width(s.Say("round.above_needle"), draw.Style{Size: 15}) + 20
	sl := widget.Slider{X: low.X + 20, Right: low.Right() - read - 36, Top: low.Bottom() - 16 - 22*k}
	s.addFader(sl, 0, draw.R(low.X, low.Y-8, name, 22*k))
	s.view.sliders[0].read = draw.R(low.Right()-read, sl.Top-24*k, read, 36*k)
}

// arrangeChoices is a cell for each answer, side by side or, where there is little
// width, one over the other; in it the drill's own needle, if it has some.
func (s *Scene) arrangeChoices(c *draw.Canvas, place draw.Rect) {
	n, needles := len(s.p.A.Ask.Choices), s.p.A.View.Needles
	if most := 300 * c.M.Text; needles == 0 && !c.M.Portrait && place.H > most {
		place = place.Inset(0, (place.H-most)/2)
	}
	text, cells := widget.FaceText(c), place.Columns(n, 24)
	switch {
	case c.M.Landscape:
		text *= 0.75
	case c.M.Portrait:
		cells = place.Rows(n, 14)
	}
	s.view.cells = cells
	for i, cell := range cells[:needles] {
		_, face := cell.CutTop(40 * c.M.Text) // under its name
		s.view.faces = append(s.view.faces, dial{Face: widget.FaceIn(face, text), sources: []int{i}})
	}
}

// Restart has every moving part drawn again.
func (s *Scene) Restart() { s.view.drawn = false }

// DynamicRects adds where the moving parts stand now.
func (s *Scene) DynamicRects(c *draw.Canvas, add func(draw.Rect)) {
	p := &s.view
	if s.stage == onCard || !p.drawn {
		return
	}
	if !s.meters.covered {
		for i := range p.faces {
			for _, r := range p.faces[i].covered {
				add(r)
			}
		}
	}
	if p.lamp {
		add(p.bulb.Area(c.M.Text))
	}
	for i := range p.sliders {
		if p.sliders[i].Hi > p.sliders[i].Lo {
			add(p.sliders[i].Moving())
		}
		add(p.sliders[i].readout(c))
		if lamp := p.sliders[i].lamp; lamp.R > 0 {
			add(lamp.Area(c.M.Text))
		}
	}
	add(p.clock)
}

// readout is where a slider's setting is written.
func (sl *controlPlace) readout(c *draw.Canvas) draw.Rect {
	w := 60 + 20*c.M.Text
	if sl.read.W > 0 {
		return sl.read
	}
	if sl.Small {
		w = math.Min(34+22*c.M.Text, sl.Width/2-3)
	}
	return draw.R(sl.X-w, sl.Bottom+18, 2*w, 34*c.M.Text)
}

// level is what a needle of a face shows now, in dBFS.
func (s *Scene) level(source int) float64 {
	v := s.p.A.View
	switch {
	case s.meters.programme:
		return s.meters.snap.PPMDBFS[source]
	case v.Needles > 0:
		return s.p.A.NeedleAt(source, s.meters.at)
	case v.PerChannel:
		if cs, ok := s.p.Desk.ChannelAt(source, s.meters.at); ok {
			return cs.NeedleDBFS
		}
		return math.Inf(-1)
	}
	return s.meters.snap.NeedleDBFS[source]
}

// deflect is how far a needle stands at a level in dB relative to the rig's
// reference, on the meter that is shown.
func (s *Scene) deflect(db float64) float64 {
	if s.meters.programme {
		return widget.ProgrammeDeflection(db)
	}
	return widget.Deflection(db)
}

// turn is the share of the time in which a lamp is counted that is over: it goes on in
// steps of a twentieth of a second, or where things should move less of a second.
func (s *Scene) turn() float64 {
	if !s.view.bulb.Counted || s.meters.at <= 0 {
		return 0
	}
	step := int64(audio.Rate / 20)
	if s.session.Prefs.LessMotion {
		step = audio.Rate
	}
	const whole = drills.CountSeconds * audio.Rate
	return float64(s.meters.at%whole/step*step) / whole
}

// allowed is the time on the clock in seconds, or how long what follows the lock is.
func (s *Scene) allowed() float64 {
	if s.stage == performing {
		return float64(s.p.A.After.Len()) / audio.Rate
	}
	return s.p.A.Seconds
}

// secondsLeft is the time left on the clock.
func (s *Scene) secondsLeft() float64 {
	return math.Max(0, s.allowed()-float64(max(s.meters.at, 0))/audio.Rate)
}

// DrawDynamic draws needles, lamp, sliders and clock as they are heard now, each only
// when it has moved: a frame in which nothing did costs nothing.
func (s *Scene) DrawDynamic(c *draw.Canvas) {
	if s.stage == onCard {
		return
	}
	p, rig := &s.view, s.p.A.Rig
	if !s.meters.covered {
		for i := range p.faces {
			s.drawNeedles(c, &p.faces[i], rig)
		}
	}
	if p.lamp {
		lit := s.meters.lamp.Show(time.Since(s.meters.started).Seconds(), s.meters.snap.Lit)
		turn := s.turn()
		if !p.drawn || lit != p.lit || turn != p.turn {
			c.Restore(p.bulb.Area(c.M.Text))
			widget.DrawLamp(c, p.bulb, lit, turn, s.LampName(rig, c.M.Phone), s.Say("lamp.over"))
			p.lit, p.turn = lit, turn
		}
	}
	if s.stages() {
		s.drawStageLamps(c)
	}
	for i := range p.sliders {
		if v := s.p.Value(i); !p.drawn || v != p.sliders[i].shown {
			s.drawSlider(c, &p.sliders[i], v, s.p.Controls[i].Fixed)
		}
	}
	if p.clock.H > 0 {
		if left := s.secondsLeft(); !p.drawn || math.Abs(left-p.left) > 0.05 {
			s.drawClock(c, left)
		}
	}
	p.drawn = true
}

func (s *Scene) drawNeedles(c *draw.Canvas, d *dial, rig drills.Rig) {
	pixel := 0.15 / (widget.SweepAngle * c.Px(d.R))
	moved := !s.view.drawn || len(d.shown) != len(d.sources)
	now := make([]float64, 0, 2)
	for i, src := range d.sources {
		now = append(now, s.deflect(s.level(src)-rig.ReferenceDBFS))
		moved = moved || math.Abs(now[i]-d.shown[i]) > pixel
	}
	if !moved {
		return
	}
	for _, r := range d.covered {
		c.Restore(r)
	}
	d.covered, d.shown = d.covered[:0], append(d.shown[:0], now...)
	for i := len(now) - 1; i >= 0; i-- {
		w := 3.5
		switch {
		case d.Small:
			w = 2.5
		case s.p.A.Classroom: // seen from the last row
			w = 8
		}
		d.covered = widget.DrawNeedle(c, d.Face, now[i], w-float64(i), i > 0, d.covered)
	}
}

func (s *Scene) drawSlider(c *draw.Canvas, sl *controlPlace, v float64, fixed bool) {
	switch sl.shown = v; {
	case sl.Hi <= sl.Lo: // a stage without a control
		return
	case fixed:
		c.Restore(sl.Moving())
		c.Line(sl.X-16, sl.Stand(v), sl.X+16, sl.Stand(v), 4, c.Theme.Dim)
	default:
		c.Restore(sl.Moving())
		widget.DrawKnob(c, sl.Slider, v)
	}
	size := 26.0
	if sl.Small {
		size = 18
	}
	read := sl.readout(c)
	y := read.Y + 24*c.M.Text
	if read.H < 24*c.M.Text { // many, and narrow
		size, y = 13, read.Y+16*c.M.Text
	}
	c.Restore(read)
	label := s.Say("unit.db", s.Signed(v, 1))
	if sl.Small && sl.Width < 130*c.M.Text {
		label = s.Signed(v, 1)
	}
	if sl.Lo >= 0 {
		label = s.Say("unit.db", s.Number(v, 1))
	}
	c.Fit(read.X+read.W/2, y, read.W, label, draw.Style{Size: size, Color: c.Theme.Ink, Bold: true, Align: draw.Middle})
}

func (s *Scene) drawClock(c *draw.Canvas, left float64) {
	p := &s.view
	c.Restore(p.clock)
	share := left / s.allowed()
	label := s.Say("round.left", s.Number(math.Ceil(left), 0))
	st := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Right}
	w := p.clock.W - c.Width(s.Say("round.left", "888"), st) - 16
	y := p.clock.Y + p.clock.H/2
	c.Fill(draw.R(p.clock.X, y-3, w, 6), 3, c.Theme.Faint)
	c.Fill(draw.R(p.clock.X, y-3, math.Max(6, w*share), 6), 3, c.Theme.Ink)
	c.Text(p.clock.Right(), y+5*c.M.Text, label, st)
	p.left = left
}
