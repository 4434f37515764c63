package game

import (
	"image/color"
	"math"

	"slowneedle/drills"
)

// figure is one line of the verdict's numbers.
type figure struct {
	key, value string
	c          color.NRGBA
}

// tone picks the colour of a verdict.
func (c *canvas) tone(right, spoiled bool) color.NRGBA {
	switch {
	case right:
		return c.th.teal
	case spoiled:
		return c.th.brick
	}
	return c.th.ink
}

// spoilt is the distortion in percent that spoils a take: 3 %, by which tape's
// highest level is told (common practice).
const spoilt = 3

// figures are the numbers of a verdict that its drill has.
func (s *verdictScene) figures(g *Game, c *canvas) []figure {
	v, th, rig := s.verdict, c.th, s.job.rig()
	db := func(t string) string { return g.say("unit.db", t) }
	vu := func(t string) string { return g.say("unit.vu", t) }
	drill := s.job.drill()
	var all []figure
	add := func(key, value string, col color.NRGBA) { all = append(all, figure{key, value, col}) }
	switch {
	case drill == drills.CallUnder:
		add("call_error", db(g.signed(v.CalledDB-v.UnderReadDB, 1)), c.tone(v.InWindow, true))
	case s.job.ex == nil || !s.job.ex.Drill.NoError:
		add("error", db(g.signed(v.ErrorDB, 1)), c.tone(v.InWindow, true))
	}
	switch drill {
	case drills.CallUnder:
		add("called", db(g.number(v.CalledDB, 1)), th.ink)
		add("under_read", db(g.number(v.UnderReadDB, 1)), th.ink)
		add("needle", vu(g.signed(v.ReadingVU, 1)), th.ink)
	case drills.TrustIt:
		add("right", v.Part, th.teal)
	case drills.Ride:
		add("share", g.say("unit.percent", g.number(100*v.Share, 0)), c.tone(v.InWindow, true))
		add("aim_vu", vu(g.signed(v.AimVU, 1)), th.ink)
		add("headroom", db(g.signed(v.HeadroomDB, 1)), c.tone(false, v.HeadroomDB < 0))
	case drills.LineUp:
		if len(s.parts) < 2 {
			add("aim", db(g.signed(v.AimDB, 1)), th.ink)
		}
		add("aim_vu", vu(g.signed(v.AimVU, 1)), th.ink)
		add("needle", vu(g.signed(v.ReadingVU, 1)), th.ink)
	case drills.MatchEar:
	case drills.WholeDesk:
		add("aim_vu", vu(g.signed(v.AimVU, 1)), th.ink)
		add("headroom", db(g.signed(v.HeadroomDB, 1)), c.tone(false, v.HeadroomDB < 0))
	default:
		add("aim", db(g.signed(v.AimDB, 1)), th.ink)
		add("under_read", db(g.number(v.UnderReadDB, 1)), th.ink)
		add("needle", vu(g.signed(v.ReadingVU, 1)), th.ink)
		add("headroom", db(g.signed(v.HeadroomDB, 1)), c.tone(false, v.HeadroomDB < 0))
		lamp := th.ink
		if v.Zone == drills.ZoneLit || v.Zone == drills.ZoneBusy {
			lamp = th.amber
		}
		add("lamp", g.say("unit.a_second", g.number(v.FlicksPerS, 1)), lamp)
	}
	if !rig.Soft() && (drill == drills.SetTake || drill == ownDrill) || v.Clipped > 0 {
		add("clipped", g.say("verdict.samples", v.Clipped), c.tone(false, v.Clipped > 0))
	}
	if d := s.damage; d != nil {
		add("noise", db(g.number(d.snr, 0)), th.ink)
		add("distortion", g.say("unit.percent", g.number(d.distortion, 1)), c.tone(false, d.distortion > spoilt))
	}
	add("time", g.seconds(v.Seconds), th.ink)
	if len(s.job.free()) > 0 {
		add("moves", g.number(float64(v.MoveCount), 0), th.ink)
	}
	return all
}

// drawNumbers lists the verdict's figures.
func (s *verdictScene) drawNumbers(g *Game, c *canvas, r rect) {
	rows := s.figures(g, c)
	if c.m.upright && s.halves(g, c, rows, r.w) || c.m.lying && r.h < 1.4*c.m.least*float64(len(rows)) {
		s.drawNumbersTwice(g, c, r, rows)
		return
	}
	step := math.Min(r.h/float64(len(rows)), 56)
	size := math.Max(math.Min(20/math.Sqrt(c.m.text), step*0.5/c.m.text), c.m.least/c.m.text)
	for i, row := range rows {
		y := r.y + step*(float64(i)+0.62)
		key := style{size: math.Max(size*0.8, math.Min(size, c.m.least/c.m.text)), c: c.th.dim}
		name := g.say("figure." + row.key)
		c.text(r.x, y, name, key)
		c.fit(r.right(), y, r.w-c.width(name, key)-12, row.value, style{size: size, c: row.c, bold: true, align: right})
		c.rule(r.x, r.right(), r.y+step*float64(i+1)-step*0.08, 1, c.th.faint)
	}
}

// twiceGap is the gap between two columns of figures, twiceText their size.
const twiceGap, twiceText = 28.0, 14.0

// halves says whether the figures fit in half of a width.
func (s *verdictScene) halves(g *Game, c *canvas, rows []figure, w float64) bool {
	st := style{size: math.Max(twiceText, c.m.least/c.m.text)}
	for _, row := range rows {
		name, value := c.width(g.say("figure."+row.key), st), c.width(row.value, style{size: st.size, bold: true})
		if name+value+8 > (w-twiceGap)/2 {
			return false
		}
	}
	return true
}

// drawNumbersTwice lists them in two columns.
func (s *verdictScene) drawNumbersTwice(g *Game, c *canvas, r rect, rows []figure) {
	const gap = twiceGap
	w := (r.w - gap) / 2
	lines := (len(rows) + 1) / 2
	step := math.Min(r.h/float64(lines), 40*c.m.text)
	st := style{size: math.Max(twiceText, c.m.least/c.m.text), c: c.th.dim}
	for i, row := range rows {
		x, y := r.x+(w+gap)*float64(i/lines), r.y+step*float64(i%lines)
		name := g.say("figure." + row.key)
		base := y + step*0.5 + st.size*c.m.text*0.35
		c.fit(x, base, w-c.width(row.value, style{size: st.size, bold: true})-8, name, st)
		value := style{size: st.size * 1.1, c: row.c, bold: true, align: right}
		if room := w - c.width(name, st) - 8; c.width(row.value, value) > room {
			value.size = st.size
		}
		c.text(x+w, base, row.value, value)
		c.rule(x, x+w, y+step, 1, c.th.faint)
	}
}

// seconds writes a duration in the interface's words.
func (g *Game) seconds(s float64) string {
	if s < 60 {
		return g.say("unit.s", g.short(s))
	}
	return g.say("unit.min_s", int(s)/60, int(s)%60)
}
