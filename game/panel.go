package game

import (
	"math"
	"time"

	"slowneedle/audio"
	"slowneedle/drills"
)

// panel is where everything of an exercise stands, and what its moving parts
// look like now.
type panel struct {
	sliders []strip
	faces   []dial
	bulb    lampPlace
	lamp    bool // there is one
	foot    rect
	monitor rect
	clock   rect
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
	head    rect
	pick    rect // what is touched to choose it; the head, if empty
	read    rect // where its setting is written; under it, if empty
	shown   float64
}

// dial is a needle's face with its needles.
type dial struct {
	face
	sources []int // what each needle shows: a side of the bus, a channel, or one of the drill's own
	small   bool
	name    string    // of the channel it shows, where it does not stand over a fader
	shown   []float64 // deflections as drawn
	covered []rect
}

// choices is how many there are to go between.
func (p *panel) choices() int {
	if p.trust {
		return len(p.faces)
	}
	return len(p.sliders)
}

// arrange places everything between a top and the key bar.
func (s *playScene) arrange(c *canvas, top, bar float64) {
	v := s.job.view()
	s.pan = panel{lamp: !v.LampCovered}
	p := &s.pan
	foot := 66 * c.m.text
	if c.m.upright {
		foot = 150 * c.m.text
	}
	p.foot = rect{margin, bar - foot - 18, c.m.w - 2*margin, foot}
	p.monitor = monitorBox(c, bar-16, 114+70*c.m.text)
	if s.job.seconds() > 0 {
		p.clock = rect{margin, top, c.m.w - 2*margin, 12 + 15*c.m.text}
		top += p.clock.h + 6
	}
	switch {
	case c.m.lying:
		s.arrangeLying(c, top, bar)
	case v.Needles > 0:
		s.arrangeTrust(c, top)
	case c.m.upright && !v.PerChannel:
		s.arrangeOneUpright(c, top, bar)
	case v.PerChannel:
		s.arrangeChannels(c, top, bar)
	default:
		s.arrangeOne(c, top, bar)
	}
}

// monitorBox is the monitor control's place at the right end of a row.
func monitorBox(c *canvas, bottom, w float64) rect {
	h := math.Max(34*c.m.text, c.m.finger)
	w = math.Max(w, 2*c.m.finger+62*c.m.text)
	return rect{c.m.w - margin - w, bottom - h, w, h}
}

// arrangeOne is one big face and a fader or two, or a number, beside it.
func (s *playScene) arrangeOne(c *canvas, top, bar float64) {
	p := &s.pan
	free := s.faders()
	one := 120 + 70*c.m.text
	side := one * math.Max(1, float64(len(free)))
	p.foot.w -= side + 54
	area := rect{margin - 8, top, p.foot.w + 16, p.foot.y - top - 14}
	if len(free) > 1 {
		area.w -= 40 * c.m.text // the lamp stands nearer
	}
	s.addFace(faceIn(area, c.m.text))
	p.bulb = lampPlace{p.foot.right() - 30 - 10*c.m.text, top + 42, 26}
	bottom := bar - 34*c.m.text - 34 - 52*c.m.text
	for i, ch := range free {
		x := c.m.w - margin - 82 - one*float64(len(free)-1-i)
		sl := newFader(x, top+20+18*c.m.text, bottom)
		s.addFader(sl, ch, rect{x - 70, top - 2, 140, 22 * c.m.text})
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
func (s *playScene) addFader(sl slider, channel int, head rect) {
	if a := s.job.ask(); a.Number {
		sl.lo, sl.hi, sl.step = a.Min, a.Max, a.Step
	}
	s.pan.sliders = append(s.pan.sliders, strip{slider: sl, channel: channel, label: s.job.strips()[channel].Label, head: head})
}

// arrangeChannels is a column for each channel, a small face over a fader.
func (s *playScene) arrangeChannels(c *canvas, top, bar float64) {
	p := &s.pan
	lampW := 0.0
	if p.lamp {
		lampW = 120 + 60*c.m.text
		p.bulb = lampPlace{c.m.w - margin - lampW/2, top + 60, 26}
	}
	p.foot.w -= 190 + 70*c.m.text
	if c.m.upright {
		s.footOverMonitor(c)
		if c.m.phone && len(s.job.strips()) > manyChannels {
			s.arrangeMany(c, rect{margin, top, c.m.w - 2*margin, p.foot.y - 12 - top})
			return
		}
	}
	if p.lamp && c.m.upright { // over the channels, which need the width
		p.bulb = lampPlace{c.m.w / 2, top + 46, 32}
		top, lampW = top+100+40*c.m.text, 0
		if c.m.phone || c.m.text > 1.2 {
			p.bulb.y, p.bulb.r, top = p.bulb.y-8, 26, top-26-10*c.m.text
		}
	}
	all := s.job.strips()
	w := (c.m.w - 2*margin - lampW) / float64(len(all))
	col := math.Min(w, 440)
	for i, st := range all {
		x := margin + w*(float64(i)+0.5)
		head := rect{x - col/2 + 4, top, col - 8, 26 * c.m.text}
		share := 0.42
		if c.m.upright {
			share = 0.3 // longer faders
		}
		faceH := math.Min(math.Min(190, col*0.62), (p.foot.y-head.bottom())*share)
		f := faceIn(rect{x - col/2 + 2, head.bottom() + 2, col - 4, faceH}, 0)
		f.r = (col - 26) / (2 * math.Sin(sweepAngle/2))
		f.cy = head.bottom() + 22 + f.r
		p.faces = append(p.faces, dial{face: f, sources: []int{i}, small: true})
		sl := newFader(x+14, f.bottom+26, p.foot.y-20-34*c.m.text)
		sl.small = true
		sl.width = w
		p.sliders = append(p.sliders, strip{slider: sl, channel: i, fixed: st.Fixed, label: st.Label, head: head})
		if c.m.finger > 0 { // a finger hits the face more easily
			p.sliders[i].pick = rect{head.x, head.y, head.w, f.bottom - head.y}
		}
	}
}

// arrangeTrust is the drill's own needles side by side.
func (s *playScene) arrangeTrust(c *canvas, top float64) {
	p := &s.pan
	p.trust, p.lamp = true, false
	p.foot.w -= 190 + 70*c.m.text
	if c.m.upright {
		s.arrangeTrustUpright(c, top)
		return
	}
	n := s.job.view().Needles
	w := (c.m.w - 2*margin + 24) / float64(n)
	for i := range n {
		a := rect{margin + w*float64(i), top + 40*c.m.text, w - 24, p.foot.y - top - 40*c.m.text - 20}
		p.faces = append(p.faces, dial{face: faceIn(a, c.m.text), sources: []int{i}})
	}
}

// redraw has every moving part drawn again.
func (s *playScene) redraw() { s.pan.drawn = false }

// spots says where the moving parts stand now.
func (s *playScene) spots(c *canvas, add func(rect)) {
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
		add(p.bulb.area(c.m.text))
	}
	for i := range p.sliders {
		add(p.sliders[i].moving())
		add(p.sliders[i].figure(c))
	}
	add(p.clock)
}

// figure is where a slider's setting is written.
func (sl *strip) figure(c *canvas) rect {
	w := 60 + 20*c.m.text
	if sl.read.w > 0 {
		return sl.read
	}
	if sl.small {
		w = math.Min(34+22*c.m.text, sl.width/2-3)
	}
	return rect{sl.x - w, sl.bottom + 18, 2 * w, 34 * c.m.text}
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
func (s *playScene) live(g *Game, c *canvas) {
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
			g.restore(c, p.bulb.area(c.m.text))
			c.drawLamp(p.bulb, lit, g.lampName(rig), g.say("lamp.over"))
			p.lit = lit
		}
	}
	for i := range p.sliders {
		if v := s.value(i); !p.drawn || v != p.sliders[i].shown {
			s.liveSlider(g, c, &p.sliders[i], v)
		}
	}
	if p.clock.h > 0 {
		if left := s.secondsLeft(); !p.drawn || math.Abs(left-p.left) > 0.05 {
			s.liveClock(g, c, left)
		}
	}
	p.drawn = true
}

func (s *playScene) liveDial(g *Game, c *canvas, d *dial, rig drills.Rig) {
	pixel := 0.15 / (sweepAngle * c.px(d.r))
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
		d.covered = c.drawNeedle(d.face, now[i], w-2*float64(i), i > 0, d.covered)
	}
}

func (s *playScene) liveSlider(g *Game, c *canvas, sl *strip, v float64) {
	g.restore(c, sl.moving())
	if !sl.fixed {
		c.drawKnob(sl.slider, v)
	} else {
		c.line(sl.x-16, sl.y(v), sl.x+16, sl.y(v), 4, c.th.dim)
	}
	size := 26.0
	if sl.small {
		size = 18
	}
	read := sl.figure(c)
	y := read.y + 24*c.m.text
	if read.h < 24*c.m.text { // many, and narrow
		size, y = 13, read.y+16*c.m.text
	}
	g.restore(c, read)
	label := g.say("unit.db", g.signed(v, 1))
	if sl.small && sl.width < 130*c.m.text {
		label = g.signed(v, 1)
	}
	if sl.lo >= 0 {
		label = g.say("unit.db", g.number(v, 1))
	}
	c.fit(read.x+read.w/2, y, read.w, label, style{size: size, c: c.th.ink, bold: true, align: middle})
	sl.shown = v
}

func (s *playScene) liveClock(g *Game, c *canvas, left float64) {
	p := &s.pan
	g.restore(c, p.clock)
	share := left / s.job.seconds()
	label := g.say("round.left", g.number(math.Ceil(left), 0))
	st := style{size: 15, c: c.th.ink, align: right}
	w := p.clock.w - c.width(g.say("round.left", "888"), st) - 16
	y := p.clock.y + p.clock.h/2
	c.fill(rect{p.clock.x, y - 3, w, 6}, 3, c.th.faint)
	c.fill(rect{p.clock.x, y - 3, math.Max(6, w*share), 6}, 3, c.th.ink)
	c.text(p.clock.right(), y+5*c.m.text, label, st)
	p.left = left
}
