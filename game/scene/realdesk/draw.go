package realdesk

import (
	"math"
	"time"
	"unicode"
	"unicode/utf8"

	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// view is where the moving parts stand.
type view struct {
	face widget.Face
	bulb widget.LampPlace
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	rig := s.rig()
	title, sub := s.Say("live.title"), s.prefs.InputLabel(s.Speech)
	if s.live != nil {
		title = s.Say("desk.title")
		sub = s.Say("live.sent", s.Short(s.prefs.MonitorDB))
		if l := s.live.Latency(); l > 0 {
			sub += " · " + s.Say("live.latency", int(math.Round(1000*l)))
		}
	}
	top := s.DrawHead(c, title, sub, s.RigTitle(rig), s.RigLine(rig))
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-14)
	foot, place := place.CutBottom(s.footHigh(c, place))
	_, place = place.CutBottom(12)

	s.view = view{}
	lampW, lampH := 2*(38+75*c.M.Text), 96+16*c.M.Text
	if c.M.Portrait {
		under, face := place.CutBottom(lampH + 20)
		s.view.face = widget.FaceIn(face, widget.FaceText(c))
		s.view.bulb = widget.LampPlace{X: under.X + under.W/2, Y: under.Y + 44, R: 30}
	} else {
		side, face := place.CutRight(lampW)
		s.view.face = widget.FaceIn(face, widget.FaceText(c))
		s.view.bulb = widget.LampPlace{X: side.X + side.W/2, Y: math.Min(side.Y+60, side.Bottom()-lampH+44), R: 26}
	}
	widget.DrawFace(c, s.view.face, s.Speech)
	widget.DrawTarget(c, s.view.face, widget.Deflection(rig.TargetVU))

	if s.Notice != "" {
		s.FrameNotice(c, foot)
	} else {
		c.Fill(foot, 10, c.Theme.Panel)
		if s.stage == broken || s.stage == clips || s.stage == lost {
			c.Frame(foot, 10, 2, c.Theme.Amber)
		}
	}
	words := c.Shrink(s.words(), foot.W-40, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Align: draw.Middle}, 11, func(b draw.Block) bool {
		return b.Height() <= foot.H-16
	})
	c.Middle(foot.X+foot.W/2, foot.Y+foot.H/2, words.Cut(foot.H-8))
}

// footHigh is how much of a place what is to be done takes.
func (s *Scene) footHigh(c *draw.Canvas, place draw.Rect) float64 {
	switch {
	case c.M.Portrait:
		return math.Min(place.H*0.36, 210*c.M.Text)
	case c.M.Landscape:
		return math.Min(place.H*0.4, 64*c.M.Text)
	}
	return 96 * c.M.Text
}

// words tell what is to be done, or what is wrong.
func (s *Scene) words() string {
	if s.Notice != "" {
		return s.Notice
	}
	switch s.stage {
	case waiting:
		return s.Say("live.waiting")
	case broken:
		return s.sentence(s.in.Err())
	case clips:
		return s.Say("live.clips")
	case own:
		return s.Say("live.own")
	}
	if s.sound.Quiet() {
		return s.Say("live.no_output")
	}
	round, of := s.live.Round()+1, s.live.Rounds()
	switch s.stage {
	case steady:
		return s.Say("live.steady", s.Number(s.live.Reference(), 1))
	case cue:
		return s.Say("live.cue", round, of)
	case playing:
		return s.Say("live.playing", round, of)
	case lost:
		return s.Say("live.lost")
	}
	return s.Say("live.line_up")
}

// sentence puts an error as a sentence of its own.
func (s *Scene) sentence(err error) string {
	text := s.Fault(err)
	first, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[size:] + "."
}

// DrawDynamic draws the needles and the lamp.
func (s *Scene) DrawDynamic(c *draw.Canvas) {
	v, rig := &s.view, s.rig()
	reference := rig.ReferenceDBFS
	if s.live != nil {
		reference = s.live.Reference()
	}
	var now [2]float64
	for ch := range now {
		now[ch] = widget.Deflection(math.Inf(-1))
		if s.heard {
			now[ch] = widget.Deflection(s.snap.NeedleDBFS[ch] - reference)
		}
	}
	s.Needles(c, 0, v.face, 4, now[:]...)
	lit := s.lamp.Show(time.Since(s.started).Seconds(), s.snap.Lit)
	s.Lamp(c, 0, v.bulb, lit, 0, s.LampName(rig, c.M.Phone), s.Say("lamp.over"))
}
