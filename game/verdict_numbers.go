package game

import (
	"image/color"
	"math"

	"slowneedle/drills"
	"slowneedle/game/draw"
)

// figure is one line of the verdict's numbers.
type figure struct {
	key, value string
	c          color.NRGBA
}

// tone picks the colour of a verdict.
func tone(c *draw.Canvas, right, spoiled bool) color.NRGBA {
	switch {
	case right:
		return c.Theme.Teal
	case spoiled:
		return c.Theme.Brick
	}
	return c.Theme.Ink
}

// spoilt is the distortion in percent that spoils a take: 3 %, by which tape's
// highest level is told (common practice).
const spoilt = 3

// figures are the numbers of a verdict that its drill has.
func (s *verdictScene) figures(g *Game, c *draw.Canvas) []figure {
	v, th, rig := s.verdict, c.Theme, s.job.rig()
	db := func(t string) string { return g.Say("unit.db", t) }
	vu := func(t string) string { return g.Say("unit.vu", t) }
	drill := s.job.drill()
	var all []figure
	add := func(key, value string, col color.NRGBA) { all = append(all, figure{key, value, col}) }
	switch {
	case drill == drills.CallUnder:
		add("call_error", db(g.Signed(v.CalledDB-v.UnderReadDB, 1)), tone(c, v.InWindow, true))
	case s.job.ex == nil || !s.job.ex.Drill.NoError:
		add("error", db(g.Signed(v.ErrorDB, 1)), tone(c, v.InWindow, true))
	}
	switch drill {
	case drills.CallUnder:
		add("called", db(g.Number(v.CalledDB, 1)), th.Ink)
		add("under_read", db(g.Number(v.UnderReadDB, 1)), th.Ink)
		add("needle", vu(g.Signed(v.ReadingVU, 1)), th.Ink)
	case drills.TrustIt:
		add("right", v.Part, th.Teal)
	case drills.Ride:
		add("share", g.Say("unit.percent", g.Number(100*v.Share, 0)), tone(c, v.InWindow, true))
		add("aim_vu", vu(g.Signed(v.AimVU, 1)), th.Ink)
		add("headroom", db(g.Signed(v.HeadroomDB, 1)), tone(c, false, v.HeadroomDB < 0))
	case drills.LineUp:
		if len(s.parts) < 2 {
			add("aim", db(g.Signed(v.AimDB, 1)), th.Ink)
		}
		add("aim_vu", vu(g.Signed(v.AimVU, 1)), th.Ink)
		add("needle", vu(g.Signed(v.ReadingVU, 1)), th.Ink)
	case drills.MatchEar:
	case drills.WholeDesk:
		add("aim_vu", vu(g.Signed(v.AimVU, 1)), th.Ink)
		add("headroom", db(g.Signed(v.HeadroomDB, 1)), tone(c, false, v.HeadroomDB < 0))
	default:
		add("aim", db(g.Signed(v.AimDB, 1)), th.Ink)
		add("under_read", db(g.Number(v.UnderReadDB, 1)), th.Ink)
		add("needle", vu(g.Signed(v.ReadingVU, 1)), th.Ink)
		add("headroom", db(g.Signed(v.HeadroomDB, 1)), tone(c, false, v.HeadroomDB < 0))
		lamp := th.Ink
		if v.Zone == drills.ZoneLit || v.Zone == drills.ZoneBusy {
			lamp = th.Amber
		}
		add("lamp", g.Say("unit.a_second", g.Number(v.FlicksPerS, 1)), lamp)
	}
	if !rig.Soft() && (drill == drills.SetTake || drill == ownDrill) || v.Clipped > 0 {
		add("clipped", g.Say("verdict.samples", v.Clipped), tone(c, false, v.Clipped > 0))
	}
	if d := s.damage; d != nil {
		add("noise", db(g.Number(d.snr, 0)), th.Ink)
		add("distortion", g.Say("unit.percent", g.Number(d.distortion, 1)), tone(c, false, d.distortion > spoilt))
	}
	add("time", g.Seconds(v.Seconds), th.Ink)
	if len(s.job.free()) > 0 {
		add("moves", g.Number(float64(v.MoveCount), 0), th.Ink)
	}
	return all
}

// drawNumbers lists the verdict's figures.
func (s *verdictScene) drawNumbers(g *Game, c *draw.Canvas, r draw.Rect) {
	rows := s.figures(g, c)
	if c.M.Portrait && s.halves(g, c, rows, r.W) || c.M.Landscape && r.H < 1.4*c.M.Least*float64(len(rows)) {
		s.drawNumbersTwice(g, c, r, rows)
		return
	}
	step := math.Min(r.H/float64(len(rows)), 56)
	size := math.Max(math.Min(20/math.Sqrt(c.M.Text), step*0.5/c.M.Text), c.M.Least/c.M.Text)
	for i, row := range rows {
		y := r.Y + step*(float64(i)+0.62)
		key := draw.Style{Size: math.Max(size*0.8, math.Min(size, c.M.Least/c.M.Text)), Color: c.Theme.Dim}
		name := g.Say("figure." + row.key)
		c.Text(r.X, y, name, key)
		c.Fit(r.Right(), y, r.W-c.Width(name, key)-12, row.value, draw.Style{Size: size, Color: row.c, Bold: true, Align: draw.Right})
		c.Rule(r.X, r.Right(), r.Y+step*float64(i+1)-step*0.08, 1, c.Theme.Faint)
	}
}

// twiceGap is the gap between two columns of figures, twiceText their size.
const twiceGap, twiceText = 28.0, 14.0

// halves says whether the figures fit in half of a width.
func (s *verdictScene) halves(g *Game, c *draw.Canvas, rows []figure, w float64) bool {
	st := draw.Style{Size: math.Max(twiceText, c.M.Least/c.M.Text)}
	for _, row := range rows {
		name, value := c.Width(g.Say("figure."+row.key), st), c.Width(row.value, draw.Style{Size: st.Size, Bold: true})
		if name+value+8 > (w-twiceGap)/2 {
			return false
		}
	}
	return true
}

// drawNumbersTwice lists them in two columns.
func (s *verdictScene) drawNumbersTwice(g *Game, c *draw.Canvas, r draw.Rect, rows []figure) {
	const gap = twiceGap
	w := (r.W - gap) / 2
	lines := (len(rows) + 1) / 2
	step := math.Min(r.H/float64(lines), 40*c.M.Text)
	st := draw.Style{Size: math.Max(twiceText, c.M.Least/c.M.Text), Color: c.Theme.Dim}
	for i, row := range rows {
		x, y := r.X+(w+gap)*float64(i/lines), r.Y+step*float64(i%lines)
		name := g.Say("figure." + row.key)
		base := y + step*0.5 + st.Size*c.M.Text*0.35
		c.Fit(x, base, w-c.Width(row.value, draw.Style{Size: st.Size, Bold: true})-8, name, st)
		value := draw.Style{Size: st.Size * 1.1, Color: row.c, Bold: true, Align: draw.Right}
		if room := w - c.Width(name, st) - 8; c.Width(row.value, value) > room {
			value.Size = st.Size
		}
		c.Text(x+w, base, row.value, value)
		c.Rule(x, x+w, y+step, 1, c.Theme.Faint)
	}
}
