package game

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/game/draw"
)

func (s *sheetScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	if c.M.Phone || c.M.Portrait {
		s.drawPhone(g, c, bar)
		return
	}
	top := g.drawHead(c, g.Say("sheet.title"), g.Say("sheet.sub"), "", "")
	rows := s.rows(g)
	const lines, gap = 4, 40.0
	all := bar - top - 12
	h := math.Min(54*c.M.Text, all*0.58/(lines+1))
	board := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, all-h*(lines+1)-10)
	s.drawCode(g, c, board)
	w := (board.W - gap) / 2
	y := board.Bottom() + 10
	s.drawRows(g, c, rows[:8], 0, 220, func(i int) draw.Rect {
		return draw.R(draw.Margin+(w+gap)*float64(i/lines), y+h*float64(i%lines), w, h)
	})
	s.drawFamilies(g, c, draw.R(draw.Margin, y+h*lines, board.W, h), h)
}

// drawRows draws rows, the first of which is number from, where place says, with
// their arrows under each other, and at least room for a value and its arrows.
func (s *sheetScene) drawRows(g *Game, c *draw.Canvas, rows []sheetRow, from int, room float64, place func(i int) draw.Rect) {
	for i, row := range rows {
		room = math.Max(room, setRoom(c, row.value, place(i).H))
	}
	for i, row := range rows {
		g.drawRow(c, "sheet."+row.id, row.name, row.value, from+i == s.at, place(i), room, row.step != nil, func(by int) func(*Game) {
			return func(*Game) { s.at = from + i; row.step(by) }
		})
	}
}

// drawCode writes the code for the whiteboard, in groups of four, as large as
// its place allows, and the sheet in words under it.
func (s *sheetScene) drawCode(g *Game, c *draw.Canvas, r draw.Rect) {
	th := c.Theme
	c.Fill(r, 14, th.Panel)
	n, code, err := s.made(g)
	small := draw.Style{Size: 15, Color: th.Dim, Align: draw.Middle}
	mid := r.X + r.W/2
	if err != nil {
		st := draw.Style{Size: 19, Color: tone(c, false, true), Align: draw.Middle}
		text := c.Wrap(g.Fault(err), r.W-60, st)
		y := r.Y + r.H/2 - c.Lead(st)*(float64(len(text))-1)/2
		for _, l := range text {
			c.Text(mid, y, l, st)
			y += c.Lead(st)
		}
		return
	}
	st := draw.Style{Size: 18, Color: th.Ink, Align: draw.Middle}
	words := c.Wrap(g.SheetWords(n), r.W-40, st)
	for len(words) > 1 && st.Size > 15 || len(words) > 2 && st.Size > 11 {
		st.Size--
		words = c.Wrap(g.SheetWords(n), r.W-40, st)
	}
	c.Text(mid, r.Y+8+16*c.M.Text, g.Say("sheet.code"), small)
	head, foot := 14+18*c.M.Text, 10+c.Lead(st)*float64(len(words))
	place := draw.R(r.X+24, r.Y+head, r.W-48, r.H-head-foot)
	lines, big := codeLines(c, code, place)
	step := place.H / float64(len(lines))
	for i, l := range lines {
		c.Text(mid, place.Y+step*(float64(i)+0.5)+big.Size*c.M.Text*0.35, l, big)
	}
	y := r.Bottom() - foot + c.Lead(st)*0.74
	for _, l := range words {
		c.Text(mid, y, l, st)
		y += c.Lead(st)
	}
}

// codeLines breaks a code into the lines that let it be largest.
func codeLines(c *draw.Canvas, code string, r draw.Rect) ([]string, draw.Style) {
	st := draw.Style{Size: 10, Color: c.Theme.Ink, Bold: true, Align: draw.Middle}
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
			widest = math.Max(widest, c.Width(l, draw.Style{Size: 100, Bold: true}))
		}
		size := math.Min(100*r.W/widest, r.H/float64(len(lines))/c.M.Text/0.92)
		if size = math.Min(size, 150/c.M.Text); best == nil || size > st.Size*1.2 {
			best, st.Size = lines, size
		}
	}
	return best, st
}

// drawFamilies is the row of the families, each of which can be taken in or out;
// line is the height of one line of it.
func (s *sheetScene) drawFamilies(g *Game, c *draw.Canvas, r draw.Rect, line float64) {
	th := c.Theme
	at := len(s.rows(g)) - 1
	name := draw.Style{Size: 17, Color: th.Dim}
	if s.at == at {
		markRow(c, r)
		name.Color = th.Ink
	}
	label := c.Width(g.Say("sheet.families"), name)
	c.Fit(r.X+14, r.Y+line/2+6*c.M.Text, r.W*0.3, g.Say("sheet.families"), name)
	chips := draw.R(r.X+14+label+30, r.Y, r.W-label-50, line)
	if r.H > line*1.5 {
		chips = draw.R(r.X+14, r.Y+line, r.W-20, line)
	}
	have, list := s.all(), source.Generated()
	w := math.Min(chips.W/float64(len(list)), 200*c.M.Text)
	h := math.Max(math.Min(36*c.M.Text, line-8), math.Min(c.M.Finger, line-2))
	x := chips.Right() - w*float64(len(list))
	if c.M.Portrait {
		x = chips.X
	}
	for i, f := range list {
		b := draw.R(x+w*float64(i)+4, chips.Y+(line-h)/2, w-8, h)
		if c.M.Phone && c.M.Portrait {
			b = draw.R(x, b.Y, s.familyWidth(g, c, f, chips.W), h)
			x += b.W + 8
		}
		text := g.Say("family." + string(f))
		if !c.M.Portrait && !c.M.Phone {
			text = strconv.Itoa(i+1) + "  " + text
		}
		st := draw.Style{Size: 16, Color: th.Ink, Align: draw.Middle}
		switch in := len(s.n.Families) == 0 || slices.Contains(s.n.Families, f); {
		case !slices.Contains(have, f):
			st.Color = th.Faint
		case in:
			c.Fill(b, h/2, th.Ink)
			st.Color, st.Bold = th.Ground, true
		default:
			c.Frame(b, h/2, 1.2, th.Dim)
		}
		if slices.Contains(have, f) {
			g.hot("sheet.family."+string(f), b, func(*Game) { s.at = at; s.toggle(f) })
		}
		c.Fit(b.X+b.W/2, b.Y+h/2+6*c.M.Text, b.W-12, text, st)
	}
}
