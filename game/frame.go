package game

import "math"

// drawHead writes a screen's title, with two lines on the right.
func (g *Game) drawHead(c *canvas, title, sub, rightTitle, rightSub string) float64 {
	if c.m.upright {
		return g.drawHeadUpright(c, title, sub, rightTitle, rightSub)
	}
	if c.m.lying && g.drawHeadLying(c, title, sub, rightTitle, rightSub) {
		return headLying * c.m.text
	}
	w := (c.m.w - 2*margin) * 0.5
	wide := w // of the second line on the right
	y1 := 22 + 36*math.Sqrt(c.m.text)
	y2 := y1 + 26*c.m.text
	if c.m.lying {
		y1, y2 = 32*c.m.text, 54*c.m.text
		wide = c.m.w - 2*margin - math.Min(w, c.width(sub, style{size: 15})) - 40
	}
	c.fit(margin, y1, w, title, style{size: 26, c: c.th.ink, bold: true})
	c.fit(margin, y2, w, sub, style{size: 15, c: c.th.dim})
	c.fit(c.m.w-margin, y1, w, rightTitle, style{size: 17, c: c.th.ink, align: right})
	c.fit(c.m.w-margin, y2, wide, rightSub, style{size: 15, c: c.th.dim, align: right})
	return y2 + 20
}

// drawHeadUpright is drawHead where there is little width: each line its own.
func (g *Game) drawHeadUpright(c *canvas, title, sub, rightTitle, rightSub string) float64 {
	w := c.m.w - 2*margin
	y := 22 + 36*math.Sqrt(c.m.text)
	st := style{size: 26, c: c.th.ink, bold: true}
	used := math.Min(c.width(title, st), w*0.66)
	c.fit(margin, y, w*0.66, title, st)
	side := style{size: 17, c: c.th.ink, align: right}
	under := []string{sub, rightSub}
	if c.m.phone && c.width(rightTitle, side) > w-used-20 {
		under = []string{sub, rightTitle, rightSub}
	} else {
		c.fit(c.m.w-margin, y, w-used-20, rightTitle, side)
	}
	for _, l := range under {
		st := style{size: 15, c: c.th.dim}
		lines := []string{l}
		if c.m.phone {
			lines = c.wrap(l, w, st)
		}
		for _, l := range lines {
			if l != "" {
				y += 24 * c.m.text
				c.fit(margin, y, w, l, st)
			}
		}
	}
	return y + 20
}

// headLying is how far down the head of a phone on its side reaches, in units of
// text.
const headLying = 54

// drawHeadLying is drawHead in one line, where there is little height. It says
// whether the line had room for everything; if not, nothing is drawn.
func (g *Game) drawHeadLying(c *canvas, title, sub, rightTitle, rightSub string) bool {
	const gap = 24
	y := (headLying - 20) * c.m.text
	big, mid, small := style{size: 24, c: c.th.ink, bold: true}, style{size: 17, c: c.th.ink, align: right}, style{size: 15, c: c.th.dim}
	x, end := float64(margin), c.m.w-margin
	wide := c.width(title, big)
	if need := wide + c.width(sub, small) + c.width(rightTitle, mid) + c.width(rightSub, small) + 3*gap; need > end-x {
		return false
	}
	c.text(x, y, title, big)
	c.text(x+wide+gap, y, sub, small)
	small.align = right
	c.text(end, y, rightSub, small)
	if rightSub != "" {
		end -= c.width(rightSub, small) + gap
	}
	c.text(end, y, rightTitle, mid)
	return true
}

// drawNotice shows the one sentence the trainer has to tell above the key bar,
// whose top is bar, and returns its own: the screen keeps above it.
func (g *Game) drawNotice(c *canvas, bar float64) float64 {
	if g.notice == "" {
		return bar
	}
	st := style{size: 15, c: c.th.ink, align: middle}
	w := math.Min(c.m.w-2*margin, 900)
	lines := c.wrap(g.notice, w-48, st)
	h := math.Max(24+c.lead(st)*float64(len(lines)), c.m.finger)
	r := rect{(c.m.w - w) / 2, bar - 10 - h, w, h}
	c.fill(r, 8, c.th.panel)
	c.frame(r, 8, 2, c.th.amber)
	y := r.y + (h-c.lead(st)*float64(len(lines)))/2 + c.lead(st)*0.74
	for _, l := range lines {
		c.text(c.m.w/2, y, l, st)
		y += c.lead(st)
	}
	g.hot("notice", r, func(g *Game) { g.notice = "" })
	return r.y - 4
}

// button is a place with a word on it, filled when it is the main one.
func (g *Game) button(c *canvas, id string, r rect, label string, size float64, main bool, do func(g *Game)) {
	g.hot(id, r, do)
	st := style{size: size, c: c.th.ink, align: middle, bold: main}
	if main {
		c.fill(r, 10, c.th.ink)
		st.c = c.th.ground
	} else {
		if g.hovered(id) {
			c.fill(r, 10, c.th.panel)
		}
		c.frame(r, 10, 1.5, c.th.dim)
	}
	c.text(r.x+r.w/2, r.y+r.h/2+size*c.m.text*0.35, label, st)
}

// choice is one of several values of a setting.
type choice struct{ value, label string }

// chipWidth is the width of a value that can be chosen.
func chipWidth(c *canvas, ch choice) float64 { return c.width(ch.label, style{size: chipSize(c)}) + 34 }

// chipSize is smaller on a phone, where bold words would touch the ends.
func chipSize(c *canvas) float64 {
	if c.m.phone {
		return 15
	}
	return 16
}

// chips writes a row of values to choose from and returns the y below it. The
// chosen one is filled, and marked by a dot for those who see no difference.
func (g *Game) chips(c *canvas, id string, x, y, w float64, all []choice, chosen string, choose func(g *Game, value string)) float64 {
	st := style{size: chipSize(c), c: c.th.ink, align: middle}
	h := math.Max(34*c.m.text, c.m.finger)
	at := x
	for _, ch := range all {
		cw := chipWidth(c, ch)
		if at > x && at+cw > x+w {
			at, y = x, y+h+10
		}
		r := rect{at, y, cw, h}
		name := id + "." + ch.value
		s := st
		if ch.value == chosen {
			c.fill(r, h/2, c.th.ink)
			s.c, s.bold = c.th.ground, true
		} else {
			if g.hovered(name) {
				c.fill(r, h/2, c.th.panel)
			}
			c.frame(r, h/2, 1.2, c.th.dim)
		}
		c.text(at+cw/2, y+h/2+6*c.m.text, ch.label, s)
		value := ch.value
		g.hot(name, r, func(g *Game) { choose(g, value) })
		at += cw + 10
	}
	return y + h
}
