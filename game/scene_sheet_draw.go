package game

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"slowneedle/audio/source"
)

func (s *sheetScene) draw(g *Game, c *canvas) {
	bar := g.drawBar(c, s.actions(g))
	if c.m.phone || c.m.upright {
		s.drawPhone(g, c, bar)
		return
	}
	top := g.drawHead(c, g.say("sheet.title"), g.say("sheet.sub"), "", "")
	rows := s.rows(g)
	const lines, gap = 4, 40.0
	all := bar - top - 12
	h := math.Min(54*c.m.text, all*0.58/(lines+1))
	board := rect{margin, top, c.m.w - 2*margin, all - h*(lines+1) - 10}
	s.drawCode(g, c, board)
	w := (board.w - gap) / 2
	y := board.bottom() + 10
	s.drawRows(g, c, rows[:8], 0, 220, func(i int) rect {
		return rect{margin + (w+gap)*float64(i/lines), y + h*float64(i%lines), w, h}
	})
	s.drawFamilies(g, c, rect{margin, y + h*lines, board.w, h}, h)
}

// drawRows draws rows, the first of which is number from, where place says, with
// their arrows under each other, and at least room for a value and its arrows.
func (s *sheetScene) drawRows(g *Game, c *canvas, rows []sheetRow, from int, room float64, place func(i int) rect) {
	for i, row := range rows {
		room = math.Max(room, c.setRoom(row.value, place(i).h))
	}
	for i, row := range rows {
		g.drawRow(c, "sheet."+row.id, row.name, row.value, from+i == s.at, place(i), room, row.step != nil, func(by int) func(*Game) {
			return func(*Game) { s.at = from + i; row.step(by) }
		})
	}
}

// drawCode writes the code for the whiteboard, in groups of four, as large as
// its place allows, and the sheet in words under it.
func (s *sheetScene) drawCode(g *Game, c *canvas, r rect) {
	th := c.th
	c.fill(r, 14, th.panel)
	n, code, err := s.made(g)
	small := style{size: 15, c: th.dim, align: middle}
	mid := r.x + r.w/2
	if err != nil {
		st := style{size: 19, c: c.tone(false, true), align: middle}
		text := c.wrap(g.fault(err), r.w-60, st)
		y := r.y + r.h/2 - c.lead(st)*(float64(len(text))-1)/2
		for _, l := range text {
			c.text(mid, y, l, st)
			y += c.lead(st)
		}
		return
	}
	st := style{size: 18, c: th.ink, align: middle}
	words := c.wrap(g.sheetWords(n), r.w-40, st)
	for len(words) > 1 && st.size > 15 || len(words) > 2 && st.size > 11 {
		st.size--
		words = c.wrap(g.sheetWords(n), r.w-40, st)
	}
	c.text(mid, r.y+8+16*c.m.text, g.say("sheet.code"), small)
	head, foot := 14+18*c.m.text, 10+c.lead(st)*float64(len(words))
	place := rect{r.x + 24, r.y + head, r.w - 48, r.h - head - foot}
	lines, big := codeLines(c, code, place)
	step := place.h / float64(len(lines))
	for i, l := range lines {
		c.text(mid, place.y+step*(float64(i)+0.5)+big.size*c.m.text*0.35, l, big)
	}
	y := r.bottom() - foot + c.lead(st)*0.74
	for _, l := range words {
		c.text(mid, y, l, st)
		y += c.lead(st)
	}
}

// codeLines breaks a code into the lines that let it be largest.
func codeLines(c *canvas, code string, r rect) ([]string, style) {
	st := style{size: 10, c: c.th.ink, bold: true, align: middle}
	groups := strings.Fields(code)
	var best []string
	for n := 1; n <= min(3, len(groups)); n++ {
		var lines []string
		per, widest := (len(groups)+n-1)/n, 0.0
		if per > 1 && len(groups)%per == 1 {
			continue // a group would stand alone
		}
		for part := range slices.Chunk(groups, per) {
			l := strings.Join(part, "  ")
			lines = append(lines, l)
			widest = math.Max(widest, c.width(l, style{size: 100, bold: true}))
		}
		size := math.Min(100*r.w/widest, r.h/float64(len(lines))/c.m.text/0.92)
		if size = math.Min(size, 150/c.m.text); best == nil || size > st.size*1.2 {
			best, st.size = lines, size
		}
	}
	return best, st
}

// drawFamilies is the row of the families, each of which can be taken in or out;
// line is the height of one line of it.
func (s *sheetScene) drawFamilies(g *Game, c *canvas, r rect, line float64) {
	th := c.th
	at := len(s.rows(g)) - 1
	name := style{size: 17, c: th.dim}
	if s.at == at {
		c.markRow(r)
		name.c = th.ink
	}
	label := c.width(g.say("sheet.families"), name)
	c.fit(r.x+14, r.y+line/2+6*c.m.text, r.w*0.3, g.say("sheet.families"), name)
	chips := rect{r.x + 14 + label + 30, r.y, r.w - label - 50, line}
	if r.h > line*1.5 {
		chips = rect{r.x + 14, r.y + line, r.w - 20, line}
	}
	have, list := s.all(), source.Generated()
	w := math.Min(chips.w/float64(len(list)), 200*c.m.text)
	h := math.Max(math.Min(36*c.m.text, line-8), math.Min(c.m.finger, line-2))
	x := chips.right() - w*float64(len(list))
	if c.m.upright {
		x = chips.x
	}
	for i, f := range list {
		b := rect{x + w*float64(i) + 4, chips.y + (line-h)/2, w - 8, h}
		if c.m.phone && c.m.upright {
			b = rect{x, b.y, s.familyWidth(g, c, f, chips.w), h}
			x += b.w + 8
		}
		text := g.say("family." + string(f))
		if !c.m.upright && !c.m.phone {
			text = strconv.Itoa(i+1) + "  " + text
		}
		st := style{size: 16, c: th.ink, align: middle}
		switch in := len(s.n.Families) == 0 || slices.Contains(s.n.Families, f); {
		case !slices.Contains(have, f):
			st.c = th.faint
		case in:
			c.fill(b, h/2, th.ink)
			st.c, st.bold = th.ground, true
		default:
			c.frame(b, h/2, 1.2, th.dim)
		}
		if slices.Contains(have, f) {
			g.hot("sheet.family."+string(f), b, func(*Game) { s.at = at; s.toggle(f) })
		}
		c.fit(b.x+b.w/2, b.y+h/2+6*c.m.text, b.w-12, text, st)
	}
}
