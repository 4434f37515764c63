package game

import (
	"math"
	"time"

	"slowneedle/audio"
	"slowneedle/drills"
	"slowneedle/game/draw"
)

// panel is where everything of an exercise stands, and what its moving parts
// look like now.
type panel struct {
	sliders []strip
	faces   []dial
	bulb    lampPlace
	lamp    bool // there is one
	foot    draw.Rect
	monitor draw.Rect
	clock   draw.Rect
	trust   bool // the faces are to be chosen from
	drawn   bool
	lit     bool
	left    float64 // seconds left, as drawn
}

// strip is a slider with its name and what it shows now.
type strip struct {
	slider
	channel int
	fixed   bool
	label   string
	head    draw.Rect
	pick    draw.Rect // what is touched to choose it; the head, if empty
	read    draw.Rect // where its setting is written; under it, if empty
	shown   float64
}

// dial is a needle's face with its needles.
type dial struct {
	face
	sources []int // what each needle shows: a side of the bus, a channel, or one of the drill's own
	small   bool
	name    string    // of the channel it shows, where it does not stand over a fader
	shown   []float64 // deflections as drawn
	covered []draw.Rect
}

// choices is how many there are to go between.
func (p *panel) choices() int {
	if p.trust {
		return len(p.faces)
	}
	return len(p.sliders)
}

// arrange places everything between a top and the key bar.
func (s *playScene) arrange(c *draw.Canvas, top, bar float64) {
	v := s.job.view()
	s.pan = panel{lamp: !v.LampCovered}
	p := &s.pan
	foot := 66 * c.M.Text
	if c.M.Portrait {
		foot = 150 * c.M.Text
	}
	p.foot = draw.R(draw.Margin, bar-foot-18, c.M.W-2*draw.Margin, foot)
	p.monitor = monitorBox(c, bar-16, 114+70*c.M.Text)
	if s.job.seconds() > 0 {
		p.clock = draw.R(draw.Margin, top, c.M.W-2*draw.Margin, 12+15*c.M.Text)
		top += p.clock.H + 6
	}
	switch {
	case c.M.Landscape:
		s.arrangeLying(c, top, bar)
	case v.Needles > 0:
		s.arrangeTrust(c, top)
	case c.M.Portrait && !v.PerChannel:
		s.arrangeOneUpright(c, top, bar)
	case v.PerChannel:
		s.arrangeChannels(c, top, bar)
	default:
		s.arrangeOne(c, top, bar)
	}
}

// monitorBox is the monitor control's place at the right end of a row.
func monitorBox(c *draw.Canvas, bottom, w float64) draw.Rect {
	h := math.Max(34*c.M.Text, c.M.Finger)
	w = math.Max(w, 2*c.M.Finger+62*c.M.Text)
	return draw.R(c.M.W-draw.Margin-w, bottom-h, w, h)
}

// arrangeOne is one big face and a fader or two, or a number, beside it.
func (s *playScene) arrangeOne(c *draw.Canvas, top, bar float64) {
	p := &s.pan
	free := s.faders()
	one := 120 + 70*c.M.Text
	side := one * math.Max(1, float64(len(free)))
	p.foot.W -= side + 54
	area := draw.R(draw.Margin-8, top, p.foot.W+16, p.foot.Y-top-14)
	if len(free) > 1 {
		area.W -= 40 * c.M.Text // the lamp stands nearer
	}
	s.addFace(faceIn(area, c.M.Text))
	p.bulb = lampPlace{p.foot.Right() - 30 - 10*c.M.Text, top + 42, 26}
	bottom := bar - 34*c.M.Text - 34 - 52*c.M.Text
	for i, ch := range free {
		x := c.M.W - draw.Margin - 82 - one*float64(len(free)-1-i)
		sl := newFader(x, top+20+18*c.M.Text, bottom)
		s.addFader(sl, ch, draw.R(x-70, top-2, 140, 22*c.M.Text))
	}
}

// faders are the channels whose faders stand beside one face; a number that is
// asked for has a fader's place.
func (s *playScene) faders() []int {
	if s.job.ask().Number {
		return []int{0}
	}
	return s.job.free()
}

// addFace adds the face of a bus, which has a needle for each side of a stereo
// sound.
func (s *playScene) addFace(f face) {
	d := dial{face: f, sources: []int{0}}
	if s.job.view().Stereo || len(s.job.strips()[0].Sound.Channels) == 2 {
		d.sources = []int{0, 1}
	}
	s.pan.faces = append(s.pan.faces, d)
}

// addFader adds a channel's fader, or the number that is asked for, under a head.
func (s *playScene) addFader(sl slider, channel int, head draw.Rect) {
	if a := s.job.ask(); a.Number {
		sl.lo, sl.hi, sl.step = a.Min, a.Max, a.Step
	}
	s.pan.sliders = append(s.pan.sliders, strip{slider: sl, channel: channel, label: s.job.strips()[channel].Label, head: head})
}

// arrangeChannels is a column for each channel, a small face over a fader.
func (s *playScene) arrangeChannels(c *draw.Canvas, top, bar float64) {
	p := &s.pan
	lampW := 0.0
	if p.lamp {
		lampW = 120 + 60*c.M.Text
		p.bulb = lampPlace{c.M.W - draw.Margin - lampW/2, top + 60, 26}
	}
	p.foot.W -= 190 + 70*c.M.Text
	if c.M.Portrait {
		s.footOverMonitor(c)
		if c.M.Phone && len(s.job.strips()) > manyChannels {
			s.arrangeMany(c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-12-top))
			return
		}
	}
	if p.lamp && c.M.Portrait { // over the channels, which need the width
		p.bulb = lampPlace{c.M.W / 2, top + 46, 32}
		top, lampW = top+100+40*c.M.Text, 0
		if c.M.Phone || c.M.Text > 1.2 {
			p.bulb.y, p.bulb.r, top = p.bulb.y-8, 26, top-26-10*c.M.Text
		}
	}
	all := s.job.strips()
	w := (c.M.W - 2*draw.Margin - lampW) / float64(len(all))
	col := math.Min(w, 440)
	for i, st := range all {
		x := draw.Margin + w*(float64(i)+0.5)
		head := draw.R(x-col/2+4, top, col-8, 26*c.M.Text)
		share := 0.42
		if c.M.Portrait {
			share = 0.3 // longer faders
		}
		faceH := math.Min(math.Min(190, col*0.62), (p.foot.Y-head.Bottom())*share)
		f := faceIn(draw.R(x-col/2+2, head.Bottom()+2, col-4, faceH), 0)
		f.r = (col - 26) / (2 * math.Sin(sweepAngle/2))
		f.cy = head.Bottom() + 22 + f.r
		p.faces = append(p.faces, dial{face: f, sources: []int{i}, small: true})
		sl := newFader(x+14, f.bottom+26, p.foot.Y-20-34*c.M.Text)
		sl.small = true
		sl.width = w
		p.sliders = append(p.sliders, strip{slider: sl, channel: i, fixed: st.Fixed, label: st.Label, head: head})
		if c.M.Finger > 0 { // a finger hits the face more easily
			p.sliders[i].pick = draw.R(head.X, head.Y, head.W, f.bottom-head.Y)
		}
	}
}

// arrangeTrust is the drill's own needles side by side.
func (s *playScene) arrangeTrust(c *draw.Canvas, top float64) {
	p := &s.pan
	p.trust, p.lamp = true, false
	p.foot.W -= 190 + 70*c.M.Text
	if c.M.Portrait {
		s.arrangeTrustUpright(c, top)
		return
	}
	n := s.job.view().Needles
	w := (c.M.W - 2*draw.Margin + 24) / float64(n)
	for i := range n {
		a := draw.R(draw.Margin+w*float64(i), top+40*c.M.Text, w-24, p.foot.Y-top-40*c.M.Text-20)
		p.faces = append(p.faces, dial{face: faceIn(a, c.M.Text), sources: []int{i}})
	}
}

// redraw has every moving part drawn again.
func (s *playScene) redraw() { s.pan.drawn = false }

// spots says where the moving parts stand now.
func (s *playScene) spots(c *draw.Canvas, add func(draw.Rect)) {
	p := &s.pan
	if !s.playing || !p.drawn {
		return
	}
	if !s.covered {
		for i := range p.faces {
			for _, r := range p.faces[i].covered {
				add(r)
			}
		}
	}
	if p.lamp {
		add(p.bulb.area(c.M.Text))
	}
	for i := range p.sliders {
		add(p.sliders[i].moving())
		add(p.sliders[i].figure(c))
	}
	add(p.clock)
}

// figure is where a slider's setting is written.
func (sl *strip) figure(c *draw.Canvas) draw.Rect {
	w := 60 + 20*c.M.Text
	if sl.read.W > 0 {
		return sl.read
	}
	if sl.small {
		w = math.Min(34+22*c.M.Text, sl.width/2-3)
	}
	return draw.R(sl.x-w, sl.bottom+18, 2*w, 34*c.M.Text)
}

// level is what a needle of a face shows now, in dBFS.
func (s *playScene) level(source int) float64 {
	v := s.job.view()
	switch {
	case s.programme:
		return s.snap.PPMDBFS[source]
	case v.Needles > 0:
		return s.job.ex.NeedleAt(source, s.at)
	case v.PerChannel:
		if cs, ok := s.desk.ChannelAt(source, s.at); ok {
			return cs.NeedleDBFS
		}
		return math.Inf(-1)
	}
	return s.snap.NeedleDBFS[source]
}

// deflect is how far a needle stands at a level in dB relative to the rig's
// reference, on the meter that is shown.
func (s *playScene) deflect(db float64) float64 {
	if s.programme {
		return programmeDeflection(db)
	}
	return deflection(db)
}

// eitherMeter says whether the programme meter may be shown in the needle's
// place.
func (s *playScene) eitherMeter() bool {
	return s.job.ex.Drill.EitherMeter && !s.job.view().PerChannel
}

// secondsLeft is the time left on the clock.
func (s *playScene) secondsLeft() float64 {
	return math.Max(0, s.job.seconds()-float64(max(s.at, 0))/audio.Rate)
}

// live draws needles, lamp, sliders and clock as they are heard now, each only
// when it has moved: a frame in which nothing did costs nothing.
func (s *playScene) live(g *Game, c *draw.Canvas) {
	if !s.playing {
		return
	}
	p, rig := &s.pan, s.job.rig()
	if !s.covered {
		for i := range p.faces {
			s.liveDial(g, c, &p.faces[i], rig)
		}
	}
	if p.lamp {
		lit := s.lamp.show(time.Since(s.clock).Seconds(), s.snap.Lit)
		if !p.drawn || lit != p.lit {
			g.restore(c, p.bulb.area(c.M.Text))
			drawLamp(c, p.bulb, lit, g.LampName(rig, g.m.Landscape), g.Say("lamp.over"))
			p.lit = lit
		}
	}
	for i := range p.sliders {
		if v := s.value(i); !p.drawn || v != p.sliders[i].shown {
			s.liveSlider(g, c, &p.sliders[i], v)
		}
	}
	if p.clock.H > 0 {
		if left := s.secondsLeft(); !p.drawn || math.Abs(left-p.left) > 0.05 {
			s.liveClock(g, c, left)
		}
	}
	p.drawn = true
}

func (s *playScene) liveDial(g *Game, c *draw.Canvas, d *dial, rig drills.Rig) {
	pixel := 0.15 / (sweepAngle * c.Px(d.r))
	moved := !s.pan.drawn || len(d.shown) != len(d.sources)
	now := make([]float64, 0, 2)
	for i, src := range d.sources {
		now = append(now, s.deflect(s.level(src)-rig.ReferenceDBFS))
		moved = moved || math.Abs(now[i]-d.shown[i]) > pixel
	}
	if !moved {
		return
	}
	for _, r := range d.covered {
		g.restore(c, r)
	}
	d.covered, d.shown = d.covered[:0], append(d.shown[:0], now...)
	for i := len(now) - 1; i >= 0; i-- {
		w := 5.0
		switch {
		case d.small:
			w = 3
		case s.job.room: // seen from the last row
			w = 10
		}
		d.covered = drawNeedle(c, d.face, now[i], w-2*float64(i), i > 0, d.covered)
	}
}

func (s *playScene) liveSlider(g *Game, c *draw.Canvas, sl *strip, v float64) {
	g.restore(c, sl.moving())
	if !sl.fixed {
		drawKnob(c, sl.slider, v)
	} else {
		c.Line(sl.x-16, sl.y(v), sl.x+16, sl.y(v), 4, c.Theme.Dim)
	}
	size := 26.0
	if sl.small {
		size = 18
	}
	read := sl.figure(c)
	y := read.Y + 24*c.M.Text
	if read.H < 24*c.M.Text { // many, and narrow
		size, y = 13, read.Y+16*c.M.Text
	}
	g.restore(c, read)
	label := g.Say("unit.db", g.Signed(v, 1))
	if sl.small && sl.width < 130*c.M.Text {
		label = g.Signed(v, 1)
	}
	if sl.lo >= 0 {
		label = g.Say("unit.db", g.Number(v, 1))
	}
	c.Fit(read.X+read.W/2, y, read.W, label, draw.Style{Size: size, Color: c.Theme.Ink, Bold: true, Align: draw.Middle})
	sl.shown = v
}

func (s *playScene) liveClock(g *Game, c *draw.Canvas, left float64) {
	p := &s.pan
	g.restore(c, p.clock)
	share := left / s.job.seconds()
	label := g.Say("round.left", g.Number(math.Ceil(left), 0))
	st := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Right}
	w := p.clock.W - c.Width(g.Say("round.left", "888"), st) - 16
	y := p.clock.Y + p.clock.H/2
	c.Fill(draw.R(p.clock.X, y-3, w, 6), 3, c.Theme.Faint)
	c.Fill(draw.R(p.clock.X, y-3, math.Max(6, w*share), 6), 3, c.Theme.Ink)
	c.Text(p.clock.Right(), y+5*c.M.Text, label, st)
	p.left = left
}
