package round

import (
	"math"
	"time"

	"slowneedle/game/draw"
	"slowneedle/game/sound"
	"slowneedle/game/widget"
)

// The chain: a column for each stage in the order of the signal, with its lamp and
// its control, and one face, which shows the chosen stage.

// arrangeStages places the face beside the columns, or over them in a window that
// is higher than wide.
func (s *Scene) arrangeStages(c *draw.Canvas, r draw.Rect) {
	p, k := &s.view, c.M.Text
	face := draw.R(r.X-8, r.Y-6, r.W*0.4, r.H)
	board := draw.R(face.Right()+16, r.Y, r.Right()-face.Right()-16, r.H)
	if c.M.Portrait {
		high := math.Min(r.H*0.5, r.W*0.66)
		face = draw.R(r.X-8, r.Y, r.W+16, high)
		board = draw.R(r.X, r.Y+high+8, r.W, r.H-high-8)
	} else if c.M.Landscape {
		face.W, board.X = r.W*0.3, r.X+r.W*0.3
		board.W = r.Right() - board.X
	}
	chosen := s.p.Controls[s.p.Chosen]
	p.faces = []dial{{Face: widget.FaceIn(face, math.Min(widget.FaceText(c), 1.2)), sources: []int{chosen.Index}, name: s.Part(chosen.Label)}}
	if c.M.Landscape || c.M.Phone { // there is no room for it, and its head is marked
		p.faces[0].name = ""
	}
	narrow := 0.72 // a column without a control, against one with
	if c.M.Portrait {
		narrow = 0.9 // names are as long without one
	}
	parts := 0.0
	for _, control := range s.p.Controls {
		parts += 1
		if control.Fixed {
			parts -= 1 - narrow
		}
	}
	head, lamp, read, gap := math.Max(26*k, c.M.Finger*0.7), 10+4*k, 34*k, 8.0
	if c.M.Landscape {
		lamp, gap = 8, 4
	}
	if s.p.A.View.Procedure {
		lamp = 0
	}
	x := board.X
	for i, control := range s.p.Controls {
		w := board.W / parts
		if control.Fixed {
			w *= narrow
		}
		sl := widget.Slider{X: x + w/2, Top: board.Y + math.Max(head+2*lamp+3*gap, c.M.Finger) + 20, Bottom: board.Bottom() - read - 14,
			Lo: control.Min, Hi: control.Max, Step: control.Step, Small: true, Width: w, Bare: w < 96*k}
		sl.Bare = sl.Bare || sl.Bottom-sl.Top < 80
		if !sl.Bare {
			sl.X += 10 + 6*k
		}
		if control.Fixed {
			sl.Hi = sl.Lo
		}
		st := controlPlace{Slider: sl,
			head: draw.R(x+3, board.Y, w-6, head),
			pick: draw.R(x, board.Y, w, sl.Top-20-board.Y),
			read: draw.R(x, board.Bottom()-read, w, read)}
		if i > 0 && lamp > 0 { // a source has none
			st.lamp = widget.LampPlace{X: x + w/2, Y: board.Y + head + gap + lamp + 5, R: lamp, Bare: true}
		}
		p.sliders = append(p.sliders, st)
		x += w
	}
}

// stages reports whether the exercise is a chain.
func (s *Scene) stages() bool { return len(s.p.A.Stages) > 0 }

// drawFlow draws the way of the signal from lamp to lamp.
func (s *Scene) drawFlow(c *draw.Canvas) {
	for i, sl := range s.view.sliders[:len(s.view.sliders)-1] {
		next := s.view.sliders[i+1]
		x, y, h := next.head.X-3, next.lamp.Y, 5*math.Sqrt(c.M.Text)
		from := sl.head.X + sl.head.W/2
		if sl.lamp.R > 0 {
			from = sl.lamp.X + sl.lamp.R + 12
		}
		c.Line(from, y, next.lamp.X-next.lamp.R-12, y, 2, c.Theme.Faint)
		c.Wedge(x-h, y-h, x-h, y+h, x+h, y, c.Theme.Dim)
	}
}

// drawStageLamps draws the lamps of stages.
func (s *Scene) drawStageLamps(c *draw.Canvas) {
	now := time.Since(s.meters.started).Seconds()
	for i, sl := range s.view.sliders {
		if sl.lamp.R > 0 {
			m, _ := s.p.Desk.ChannelAt(s.p.Controls[i].Index, s.meters.at)
			s.Lamp(c, 1+i, sl.lamp, s.meters.stages[i].Show(now, m.Lit), 0, "", "")
		}
	}
}

// stageLamps are the gates of the stages' lamps.
func stageLamps(n int, reduced bool) []sound.LampGate {
	gates := make([]sound.LampGate, n)
	for i := range gates {
		gates[i].Reduced = reduced
	}
	return gates
}

// drawSteps draws the needle of each step of a line-up where the step left it, with the
// mark of what it was to read, and returns the place that is left for so many scales.
func (s *Verdict) drawSteps(c *draw.Canvas, r draw.Rect, scales int) draw.Rect {
	name := draw.Style{Size: 17, Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
	reads := draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Middle}
	const least = 90.0 // height of a face
	words := 2*c.Lead(name) + 10
	const gap = 14.0
	high := r.H - gap - scaleHigh(c.M.Text)*float64(scales)
	if high < least+words {
		high = r.H - gap - 40*c.M.Text*float64(scales)
	}
	if high = math.Min(high, 230+words); high < least+words || scales == 0 {
		return r
	}
	steps, rest := r.CutTop(high)
	for i, at := range steps.Columns(scales, 18) {
		p := s.parts[i]
		c.Fill(at, 10, c.Theme.Panel)
		f := widget.SmallFaceIn(c, draw.R(at.X+10, at.Y+c.Lead(name)+6, at.W-20, at.H-words-8))
		widget.DrawFace(c, f, s.Speech)
		widget.DrawTarget(c, f, widget.Deflection(p.TargetVU))
		widget.DrawNeedles(c, f, 2.5, widget.Deflection(p.TargetVU+p.ErrorDB))
		mid := at.X + at.W/2
		c.Fit(mid, at.Y+c.Lead(name), at.W-16, s.Part(p.Label), name)
		reads.Color = c.Theme.Verdict(p.InWindow)
		c.Fit(mid, at.Bottom()-10, at.W-16, s.Say("verdict.reads", s.Signed(p.TargetVU+p.ErrorDB, 1), s.Signed(p.TargetVU, 1)), reads)
	}
	_, rest = rest.CutTop(gap)
	return rest
}
