package game

import "math"

// touch is a button of a phone's bar.
type touch struct {
	a        action
	label    string
	beside   string // what it does, where the button itself shows an arrow
	w, full  float64
	st, side style
}

// drawButtons is a screen's bar on a phone: a button for each action, large
// enough for a finger, with what it does on it. It returns the bar's top.
func (g *Game) drawButtons(c *canvas, acts []action) float64 {
	point := c.m.finger / fingerPoints
	gap := 8 * point
	if c.m.lying {
		gap = 6 * point
	}
	wide := c.m.w - 2*margin
	rows := touchRows(g.touches(c, acts), wide, gap)
	h := c.m.finger
	foot := 12 * point
	top := c.m.h - foot - (h+gap)*float64(len(rows)) - gap/2
	c.rule(margin, c.m.w-margin, top, 1, c.th.faint)
	for i, row := range rows {
		y := top + gap + (h+gap)*float64(i)
		x, more := float64(margin), 0.0
		if c.m.upright { // the rows end under each other
			for _, t := range row {
				more -= t.full + gap
			}
			more = (more + gap + wide) / float64(len(row))
		}
		for _, t := range row {
			g.drawTouch(c, t, rect{x, y, t.w + more, h})
			x += t.full + more + gap
		}
	}
	return top
}

// touches are the buttons of a bar, with their widths.
func (g *Game) touches(c *canvas, acts []action) []touch {
	point := c.m.finger / fingerPoints
	const size = 14
	pad := 14 * point
	var all []touch
	for _, a := range acts {
		if a.cap == "" || a.desk {
			continue
		}
		t := touch{a: a, label: a.label, st: style{size: size, c: c.th.ink, align: middle}, side: style{size: size, c: c.th.dim}}
		t.st.bold = a.id == "enter" || a.on
		if a.repeat {
			t.label, t.beside = g.say(a.cap), a.label
			t.st.size = 20
		}
		t.w = math.Max(c.m.finger, c.width(t.label, t.st)+pad)
		if t.full = t.w; t.beside != "" {
			t.full += 8*point + c.width(t.beside, t.side)
		}
		all = append(all, t)
	}
	return all
}

// touchRows breaks buttons into as few rows as they need, as even as they can be.
func touchRows(all []touch, wide, gap float64) [][]touch {
	flow := func(wide float64) [][]touch {
		var rows [][]touch
		x := math.Inf(1)
		for _, t := range all {
			if x+t.full > wide {
				rows, x = append(rows, nil), 0
			}
			last := len(rows) - 1
			rows[last] = append(rows[last], t)
			x += t.full + gap
		}
		return rows
	}
	best := flow(wide)
	for w := wide; w > wide/4; w -= wide / 40 {
		if rows := flow(w); len(rows) == len(best) {
			best = rows
		}
	}
	return best
}

func (g *Game) drawTouch(c *canvas, t touch, r rect) {
	id := "key." + t.a.id
	g.hot(id, r, t.a.do)
	switch {
	case t.a.on:
		c.fill(r, 10, c.th.ink)
		t.st.c = c.th.ground
	case t.a.id == "enter" || g.hovered(id):
		c.fill(r, 10, c.th.panel)
	}
	if t.a.id == "enter" {
		c.frame(r, 10, 3, c.th.ink)
	} else {
		c.frame(r, 10, 1.5, c.th.dim)
	}
	c.fit(r.x+r.w/2, r.y+r.h/2+t.st.size*c.m.text*0.35, r.w-8, t.label, t.st)
	c.text(r.right()+8*c.m.finger/fingerPoints, r.y+r.h/2+t.side.size*c.m.text*0.35, t.beside, t.side)
}
