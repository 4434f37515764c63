package round

import (
	"math"
	"time"

	"slowneedle/audio"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// panel is where everything of an exercise stands.
type panel struct {
	sliders []controlPlace // one for each control
	faces   []dial
	cells   []draw.Rect // one for each of the answers to choose from
	bulb    widget.LampPlace
	lamp    bool // there is one
	foot    draw.Rect
	monitor draw.Rect
	clock   draw.Rect
}

// controlPlace is where a control's slider and what belongs to it stand.
type controlPlace struct {
	widget.Slider
	head draw.Rect        // its name
	pick draw.Rect        // what is touched to choose it; the head, if empty
	read draw.Rect        // where its setting is written; under it, if empty
	lamp widget.LampPlace // of a stage; none without a radius
}

// dial is a needle's face with its needles.
type dial struct {
	widget.Face
	sources []int  // what each needle shows: a side of the bus, a channel, or one of the drill's own
	name    string // of the channel it shows, where it does not stand over a fader
}

// arrange places everything between a top and the key bar.
func (s *Scene) arrange(c *draw.Canvas, top, bar float64) {
	v := s.p.A.View
	s.view = panel{lamp: !v.LampCovered && v.Needles == 0}
	p := &s.view
	if s.allowed() > 0 {
		p.clock = draw.R(draw.Margin, top, c.M.W-2*draw.Margin, 12+15*c.M.Text)
		top += p.clock.H + 6
	}
	p.monitor = monitorBox(c, bar-16, 114+70*c.M.Text)
	s.arrangeFoot(c, bar)
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, p.foot.Y-14-top)
	switch {
	case s.p.A.Ask.Number:
		s.arrangeNumber(c, place)
	case s.asks():
		s.arrangeChoices(c, place)
	case s.stages() || v.PerChannel && c.M.Phone && len(s.p.A.Channels) > manyChannels:
		s.arrangeColumns(c, place)
	case v.PerChannel:
		s.arrangeChannels(c, place)
	default:
		s.arrangeOne(c, place, bar)
	}
	if s.lampAlone() {
		s.raiseLamp(c)
	}
}

// arrangeFoot places the task and the monitor control over the bar.
func (s *Scene) arrangeFoot(c *draw.Canvas, bar float64) {
	p, lead := &s.view, c.Lead(draw.Style{Size: 16})
	high, wide := 66*c.M.Text, c.M.W-2*draw.Margin
	p.foot = draw.R(draw.Margin, bar-high-18, wide, high)
	switch {
	case c.M.Landscape: // a phone on its side: both in one row, for what is moved takes the height
		high = math.Max(c.M.Finger, 16+2*lead)
		p.foot = draw.R(draw.Margin, bar-10-high, wide-p.monitor.W-16, high)
		p.monitor.Y = p.foot.Y + (high-p.monitor.H)/2
	case !s.asks() && !s.stages() && !s.p.A.View.PerChannel: // see arrangeOne
	case c.M.Portrait: // the task over the monitor control
		high = 28 + 3*lead
		if s.stages() { // a procedure takes more words
			high += lead
		}
		p.foot = draw.R(draw.Margin, p.monitor.Y-12-high, wide, high)
	default:
		p.foot.W -= p.monitor.W + 24
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

// arrangeOne is one big face and a fader or two beside it; in a window that is higher than
// wide the face stands over them and takes the width.
func (s *Scene) arrangeOne(c *draw.Canvas, place draw.Rect, bar float64) {
	p, k, n := &s.view, c.M.Text, len(s.p.Controls)
	one := 120 + 70*k // width of a fader's column
	switch {
	case c.M.Landscape:
		one = 124 + 40*k
	case c.M.Phone && n > 1:
		one = 150
	}
	side := one * math.Max(1, float64(n))
	board := draw.R(place.Right()-side, place.Y, side, p.monitor.Y-18-52*k-place.Y)
	face := draw.R(place.X-8, place.Y, place.W+16, place.H)
	switch {
	case c.M.Portrait:
		share := 0.46
		if c.M.Phone { // longer faders
			share = 0.42
		}
		face.H = (bar - 18 - place.Y) * share
		if !s.lampAlone() { // which needs the height, where a needle's face does not
			face.H = math.Min(place.W*0.72, face.H)
		}
		_, board = board.CutTop(face.H + 16)
		p.foot.W -= math.Max(side, p.monitor.W) + 24
		p.foot.H = math.Min(bar-18-board.Y-130-40*k, 220*k)
		p.foot.Y = bar - 18 - p.foot.H
		p.bulb = widget.LampPlace{X: p.foot.X + p.foot.W/2, Y: board.Y + 60, R: 40}
		if c.M.Phone { // in the middle of its place, and large
			p.bulb.Y, p.bulb.R = (board.Y+p.foot.Y)/2-16*k, 56
		}
	case c.M.Landscape: // the faders reach down to the bar
		board.H = bar - 30 - 44*k - board.Y
		p.foot.W -= side + 16
		p.monitor.X -= side + 16
		face = draw.R(face.X, face.Y-10, face.W-side-16, face.H+10)
		if p.lamp {
			lamp := 60 + 60*k
			p.bulb = widget.LampPlace{X: face.Right() - 8 - lamp/2, Y: place.Y + 44, R: 28}
			face.W -= lamp
		}
	default:
		p.foot.W -= side + 54
		face.W = p.foot.W + 16
		if n > 1 {
			face.W -= 40 * k // the lamp stands nearer
		}
		p.bulb = widget.LampPlace{X: p.foot.Right() - 30 - 10*k, Y: place.Y + 42, R: 26}
	}
	text := k
	if c.M.Portrait {
		text = widget.FaceText(c)
	}
	s.addFace(widget.FaceIn(face, text))
	head := 22 * k
	if n > 1 {
		head = math.Max(head, c.M.Finger)
	}
	for i, column := range board.Columns(n, 0) {
		sl := widget.NewFader(column.X+0.56*column.W, column.Y+head+20, column.Bottom())
		sl.Small, sl.Width = c.M.Phone && n > 1, column.W
		s.addFader(sl, i, draw.R(column.X+6, column.Y-2, column.W-6, head))
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

// arrangeChannels is a column for each channel: a small face over a fader or, on a phone on
// its side, beside it.
func (s *Scene) arrangeChannels(c *draw.Canvas, place draw.Rect) {
	p, k := &s.view, c.M.Text
	switch {
	case !p.lamp:
	case c.M.Portrait: // over the channels, which need the width
		p.bulb = widget.LampPlace{X: c.M.W / 2, Y: place.Y + 58, R: 46}
		_, place = place.CutTop(124 + 24*k)
	default:
		wide, r := 120+60*k, 62.0
		if c.M.Landscape {
			wide, r = 56+66*k, 46
		}
		var lamp draw.Rect
		lamp, place = place.CutRight(wide)
		p.bulb = widget.LampPlace{X: lamp.X + lamp.W/2 + 10, Y: place.Y + r + 18, R: r}
	}
	for i, cell := range place.Columns(len(s.p.A.Channels), 0) {
		head, body := cell.CutTop(26 * k)
		mid, at := cell.X+cell.W/2, controlPlace{}
		var face widget.Face
		if c.M.Landscape {
			beside := math.Max(110, (36+c.Width("−36", draw.Style{Size: 13}))/0.62) // width of the fader
			wide, read := math.Min(cell.W-beside-8, 260), 34*k
			left := draw.R(mid-(wide+beside)/2+4, body.Y+4, wide, body.H-4-read)
			face = widget.SmallFaceIn(c, left)
			at.Slider = widget.NewFader(left.Right()+beside*0.62, body.Y+24, body.Bottom()-16)
			at.Width = beside
			at.head = draw.R(left.X, head.Y, wide, head.H)
			at.pick = draw.R(left.X, head.Y, wide, left.Bottom()-head.Y)
			at.read = draw.R(left.X, body.Bottom()-read, wide, read)
		} else {
			wide, share := math.Min(cell.W, 440)-8, 0.42
			if c.M.Portrait {
				share = 0.3 // longer faders
			}
			high := math.Min(math.Min(190, (wide+8)*0.62), body.H*share)
			face = widget.SmallFaceIn(c, draw.R(mid-wide/2, body.Y+8, wide, high))
			at.Slider = widget.NewFader(mid+14, face.Bottom+26, body.Bottom()-6-34*k)
			at.Width = cell.W
			at.head = draw.R(mid-wide/2, head.Y, wide, head.H)
			if c.M.Finger > 0 { // a finger hits the face more easily
				at.pick = draw.R(at.head.X, head.Y, wide, face.Bottom-head.Y)
			}
		}
		at.Small = true
		p.faces = append(p.faces, dial{Face: face, sources: []int{i}})
		p.sliders = append(p.sliders, at)
	}
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

// readout is where a slider's setting is written.
func (sl controlPlace) readout(c *draw.Canvas) draw.Rect {
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
	return math.Max(0, s.allowed()-s.heardSeconds())
}

// DrawDynamic draws needles, lamp, sliders and clock as they are heard now.
func (s *Scene) DrawDynamic(c *draw.Canvas) {
	if s.stage == onCard {
		return
	}
	p, rig := &s.view, s.p.A.Rig
	if !s.meters.covered {
		for i, d := range p.faces {
			s.drawNeedles(c, i, d, rig)
		}
	}
	if p.lamp {
		lit := s.meters.lamp.Show(time.Since(s.meters.started).Seconds(), s.meters.snap.Lit)
		s.Lamp(c, 0, p.bulb, lit, s.turn(), s.LampName(rig, c.M.Phone), s.Say("lamp.over"))
	}
	if s.stages() {
		s.drawStageLamps(c)
	}
	for i, sl := range p.sliders {
		if v := s.p.Value(i); sl.Hi > sl.Lo { // not a stage without a control
			s.Paint(c, "slider", i, v, func() []draw.Rect { return s.drawSlider(c, sl, v, s.p.Controls[i].Fixed) })
		}
	}
	if left := s.secondsLeft(); p.clock.H > 0 {
		s.Paint(c, "clock", 0, math.Floor(20*left), func() []draw.Rect { return s.drawClock(c, left) })
	}
}

func (s *Scene) drawNeedles(c *draw.Canvas, i int, d dial, rig drills.Rig) {
	w := 3.5
	switch {
	case d.Small:
		w = 2.5
	case s.p.A.Classroom: // seen from the last row
		w = 8
	}
	now := make([]float64, 0, 2)
	for _, source := range d.sources {
		now = append(now, s.deflect(s.level(source)-rig.ReferenceDBFS))
	}
	s.Needles(c, i, d.Face, w, now...)
}

func (s *Scene) drawSlider(c *draw.Canvas, sl controlPlace, v float64, fixed bool) (covers []draw.Rect) {
	if fixed {
		c.Line(sl.X-16, sl.Stand(v), sl.X+16, sl.Stand(v), 4, c.Theme.Dim)
	} else {
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
	label := s.Say("unit.db", s.Signed(v, 1))
	if sl.Small && sl.Width < 130*c.M.Text {
		label = s.Signed(v, 1)
	}
	if sl.Lo >= 0 {
		label = s.Say("unit.db", s.Number(v, 1))
	}
	c.Fit(read.X+read.W/2, y, read.W, label, draw.Style{Size: size, Color: c.Theme.Ink, Bold: true, Align: draw.Middle})
	return []draw.Rect{sl.Moving(), read}
}

func (s *Scene) drawClock(c *draw.Canvas, left float64) (covers []draw.Rect) {
	p := &s.view
	share := left / s.allowed()
	label := s.Say("round.left", s.Number(math.Ceil(left), 0))
	st := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Right}
	w := p.clock.W - c.Width(s.Say("round.left", "888"), st) - 16
	y := p.clock.Y + p.clock.H/2
	c.Fill(draw.R(p.clock.X, y-3, w, 6), 3, c.Theme.Faint)
	c.Fill(draw.R(p.clock.X, y-3, math.Max(6, w*share), 6), 3, c.Theme.Ink)
	c.Text(p.clock.Right(), y+5*c.M.Text, label, st)
	return []draw.Rect{p.clock}
}
