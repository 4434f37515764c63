package round

import (
	"math"
	"time"

	"slowneedle/game/draw"
	"slowneedle/game/sound"
	"slowneedle/game/widget"
)

// manyChannels is how many channels a phone has room for with a face each.
const manyChannels = 4

// arrangeColumns is a column for each control, and one face, which shows the chosen one,
// beside them or, in a window that is higher than wide, over them: for a chain, whose
// columns stand in the order of the signal and have a lamp each, and on a phone for more
// channels than it has room for with a face each.
func (s *Scene) arrangeColumns(c *draw.Canvas, r draw.Rect) {
	p, k, chain := &s.view, c.M.Text, s.stages()
	board := s.arrangeChosen(c, r)
	head, lamp, read, gap := math.Max(26*k, c.M.Finger*0.7), 10+4*k, 34*k, 8.0
	switch {
	case !chain: // little room, and a finger hits the whole column
		head, lamp, read, gap = 26*k, 0, 22*k, 0
	case s.p.A.View.Procedure:
		lamp = 0
	case c.M.Landscape:
		lamp, gap = 8, 4
	}
	top := head + 2*lamp + 3*gap
	if chain {
		top = math.Max(top, c.M.Finger)
	}
	shares := s.columnShares(c)
	x := board.X
	for i, control := range s.p.Controls {
		w := board.W * shares[i]
		sl := widget.Slider{X: x + w/2, Top: board.Y + top + 20, Bottom: board.Bottom() - read - 14,
			Lo: control.Min, Hi: control.Max, Step: control.Step, Small: true, Width: w}
		at := controlPlace{
			head: draw.R(x+3, board.Y, w-6, head),
			pick: draw.R(x, board.Y, w, top),
			read: draw.R(x, board.Bottom()-read, w, read)}
		switch {
		case !chain:
			sl.Bare = i > 0
			if at.pick.H = board.H; i == 0 { // beside its figures
				at.pick, _ = at.pick.CutRight(w/2 + 26)
			}
		case w < 96*k || sl.Bottom-sl.Top < 80:
			sl.Bare = true
		default:
			sl.X += 10 + 6*k
		}
		if control.Fixed && chain {
			sl.Hi = sl.Lo
		}
		if i > 0 && lamp > 0 { // a source has none
			at.lamp = widget.LampPlace{X: x + w/2, Y: board.Y + head + gap + lamp + 5, R: lamp, Bare: true}
		}
		at.Slider = sl
		p.sliders = append(p.sliders, at)
		x += w
	}
}

// arrangeChosen places the lamp of a desk and the face, which shows the chosen control, and
// returns the place that is left.
func (s *Scene) arrangeChosen(c *draw.Canvas, r draw.Rect) (board draw.Rect) {
	p, chain, bulb := &s.view, s.stages(), 0.0
	if p.lamp {
		bulb = 70 + 62*c.M.Text
		p.bulb = widget.LampPlace{X: r.Right() - bulb/2, Y: r.Y + 62, R: 48}
	}
	share := 0.4 // of the width, for the face
	if c.M.Landscape {
		share = 0.3
	}
	face := draw.R(r.X-8, r.Y-6, r.W*share, r.H+6)
	board = draw.R(face.Right()+16, r.Y, r.Right()-bulb-face.Right()-16, r.H)
	if c.M.Portrait {
		high := math.Min(r.H*0.48, (r.W-bulb)*0.66)
		face = draw.R(r.X-8, r.Y, r.W-bulb+16, high)
		board = draw.R(r.X, r.Y+high+8, r.W, r.H-high-8)
	}
	chosen := s.p.Controls[s.p.Chosen]
	d := dial{Face: widget.FaceIn(face, math.Min(widget.FaceText(c), 1.2)), sources: []int{chosen.Index}}
	if !chain || !c.M.Landscape && !c.M.Phone { // there is room for it
		d.name = s.Part(chosen.Label)
	}
	p.faces = []dial{d}
	if !chain { // for the figures beside the first fader
		board, _ = board.CutRight(board.W - 44)
	}
	return board
}

// columnShares are the widths of the columns, of all their width: those of a chain's
// stages without a control are narrower.
func (s *Scene) columnShares(c *draw.Canvas) []float64 {
	narrow, sum := 0.72, 0.0
	if c.M.Portrait {
		narrow = 0.9 // names are as long without one
	}
	shares := make([]float64, len(s.p.Controls))
	for i, control := range s.p.Controls {
		shares[i] = 1
		if control.Fixed && s.stages() {
			shares[i] = narrow
		}
		sum += shares[i]
	}
	for i := range shares {
		shares[i] /= sum
	}
	return shares
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
