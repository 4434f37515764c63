package widget

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// DrawCourse draws the peaks of a soundcheck and of the take that followed it, side by
// side as they were at a gain in dB, under the ceiling and under where the ceiling
// would have been at the right one.
func DrawCourse(c *draw.Canvas, r draw.Rect, check, take *source.Sound, gainDB, rightDB float64, rig drills.Rig, s *words.Speech) {
	th, small := c.Theme, draw.Style{Size: 13, Color: c.Theme.Dim}
	c.Fill(r, 10, th.Panel)
	foot := 12 + 16*c.M.Text
	in := draw.R(r.X+14, r.Y+14+6*c.M.Text, r.W-28, r.H-14-6*c.M.Text-foot)
	right := rig.CeilingDBFS + gainDB - rightDB
	p := plot{in, math.Max(rig.CeilingDBFS, right) + 4, math.Min(rig.CeilingDBFS, right) - 30}
	const column, gap = audio.Rate * 2 / 5, 5 // frames of a bar, bars between the two
	bars := []int{(check.Len() + column - 1) / column, (take.Len() + column - 1) / column}
	step := in.W / float64(bars[0]+gap+bars[1])
	x := in.X
	for k, sound := range []*source.Sound{check, take} {
		for i := range bars[k] {
			peak := 0.0
			for _, ch := range sound.Channels {
				for _, v := range ch[i*column : min((i+1)*column, len(ch))] {
					peak = math.Max(peak, math.Abs(float64(v)))
				}
			}
			db := audio.DB(peak) + gainDB
			tint := th.Dim
			if db > rig.CeilingDBFS {
				tint = th.Brick
			}
			if db > p.bottom {
				c.Fill(draw.R(x+float64(i)*step, p.y(db), math.Max(step*0.6, 1/c.M.Unit), in.Bottom()-p.y(db)), 0, tint)
			}
		}
		x += float64(bars[k]+gap) * step
	}
	c.Fit(in.X, r.Bottom()-10, in.W/2, s.Say("course.check"), small)
	small.Align = draw.Right
	c.Fit(in.Right(), r.Bottom()-10, in.W/2, s.Say("course.take"), small)
	high := 15 * c.M.Text
	line := func(db, labelY float64, label string, st draw.Style) {
		c.Dashes(in.X, in.Right(), p.y(db), st.Color)
		st.Align = draw.Right
		w := math.Min(c.Width(label, st), in.W-8)
		c.Fill(draw.R(in.Right()-w-6, labelY-11*c.M.Text, w+8, 14*c.M.Text), 4, th.Panel)
		c.Fit(in.Right()-2, labelY, in.W-8, label, st)
	}
	at, other := p.y(rig.CeilingDBFS)-5, p.y(right)-5
	if math.Abs(at-other) < high { // the labels stand over each other
		if other = at - high; right < rig.CeilingDBFS {
			other = at + high + 8
		}
	}
	line(right, other, s.Say("course.right"), draw.Style{Size: 13, Color: th.Teal})
	line(rig.CeilingDBFS, at, s.Say("strip.ceiling", s.Short(rig.CeilingDBFS)), draw.Style{Size: 13, Color: th.Brick})
}
