package game

import (
	"image/color"
	"math"
	"strings"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

func (s *joinScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	if c.M.Phone {
		s.drawPhone(g, c, bar)
		return
	}
	top := g.drawHead(c, g.Say("class.join"), g.Say("class.join_sub"), "", "")
	if s.finger {
		bar = s.drawLetters(g, c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top))
	}
	w := math.Min(c.M.W-2*draw.Margin, 900)
	n := float64(s.fields())
	bw := c.Width(g.Say("class.begin_big"), draw.Style{Size: 22, Bold: true}) + 64
	bh := 54 * c.M.Text
	h := math.Min(150*c.M.Text, (bar-top-bh-12)/n)
	x, y := float64(draw.Margin), top
	if h < 80*c.M.Text { // side by side
		w = (c.M.W - 2*draw.Margin - 24*(n-1)) / n
		h = math.Min(130*c.M.Text, bar-top-bh-12)
		for i := range s.fields() {
			s.drawField(g, c, i, draw.R(x+(w+24)*float64(i), y, w, h))
		}
		y += h
	} else {
		for i := range s.fields() {
			s.drawField(g, c, i, draw.R(x, y, w, h))
			y += h
		}
	}
	button := draw.R(draw.Margin, y, bw, bh)
	g.button(c, "begin", button, s.bigWord(g), 20, true, s.enter)
	st := draw.Style{Size: 17, Color: c.Theme.Ink}
	x = button.Right() + 24
	lines := c.Wrap(s.note(g), c.M.W-draw.Margin-x, st)
	for len(lines) > 3 && st.Size > 11 {
		st.Size--
		lines = c.Wrap(s.note(g), c.M.W-draw.Margin-x, st)
	}
	ty := y + bh/2 - c.Lead(st)*float64(len(lines)-1)/2 + 6*c.M.Text
	for _, l := range lines {
		c.Text(x, ty, l, st)
		ty += c.Lead(st)
	}
}

// bigWord is what stands on the button.
func (s *joinScene) bigWord(g *Game) string {
	if s.goesOn(g) {
		return g.Say("class.go_on_big")
	}
	return g.Say("class.begin_big")
}

// note is the sentence beside the button.
func (s *joinScene) note(g *Game) string {
	switch {
	case s.asking:
		return g.Say("class.asking")
	case s.says != "":
		return s.says
	case s.drop:
		return g.Say("class.drop_ask", len(g.series.hand.Takes), g.series.hand.Sheet.Rounds, g.series.hand.Who)
	case s.goesOn(g):
		return g.Say("class.go_on_line", len(g.series.hand.Takes), g.series.hand.Sheet.Rounds)
	}
	return ""
}

// check says how a field stands: the sentence under it, whether it is right, and
// whether it is wrong already.
func (s *joinScene) check(g *Game, i int) (line string, right, wrong bool) {
	text := s.text[i]
	switch i {
	case fieldCode:
		n, err := sheet.ParseCode(text)
		if err == nil {
			return g.SheetWords(n), true, false
		}
		if length := len(strings.ReplaceAll(text, " ", "")); length < 12 && !words.IsFault(err, "code.character") && !s.tried {
			return g.Say("class.code_hint"), false, false
		}
		return g.Fault(err), false, true
	case fieldWho:
		if err := handin.CheckWho(handin.TidyWho(text)); err != nil {
			if text == "" && !s.tried {
				return g.Say("class.who_hint"), false, false
			}
			return g.Fault(err), false, true
		}
		return g.Say("class.who_hint"), true, false
	}
	if full, err := address(text); err != nil {
		return g.Fault(err), false, s.tried
	} else if full != "" {
		return full, true, false
	}
	return g.Say("class.server_hint"), false, false
}

func (s *joinScene) drawField(g *Game, c *draw.Canvas, i int, r draw.Rect) {
	th := c.Theme
	label := []string{g.Say("class.code"), g.Say("class.who"), g.Say("class.server")}[i]
	text := s.text[i]
	line, right, wrong := s.check(g, i)
	lab := draw.Style{Size: 15, Color: th.Dim}
	hint := draw.Style{Size: 15, Color: th.Dim}
	c.Fit(r.X, r.Y+16*c.M.Text, r.W, label, lab)
	// Where there is little height the box gives way, not the words about it.
	high := math.Max(28, math.Min(62, r.H/c.M.Text-58))
	box := draw.R(r.X, r.Y+24*c.M.Text, r.W, high*c.M.Text)
	size := math.Min(30, high*0.6)
	if i == fieldCode {
		size = math.Min(38, high*0.62)
	}
	if c.M.Phone {
		hint.Size, size = 14, 24
		box = draw.R(r.X, r.Y+22*c.M.Text, r.W, math.Max(c.M.Finger, math.Min(58*c.M.Text, r.H-100*c.M.Text)))
	}
	c.Fill(box, 10, th.Panel)
	if s.at == i {
		c.Frame(box, 10, 2.5, th.Ink)
	} else {
		c.Frame(box, 10, 1.2, th.Faint)
	}
	st := draw.Style{Size: size, Color: th.Ink, Bold: i == fieldCode}
	room := box.W - 90
	if got := c.Width(text, st); got > room {
		st.Size *= room / got
	}
	base := box.Y + box.H/2 + st.Size*c.M.Text*0.36
	marked := i == fieldWho && s.marked && s.at == i && !s.asking
	if marked {
		c.Fill(draw.R(box.X+14, box.Y+box.H*0.16, c.Width(text, st)+12, box.H*0.68), 4, th.Ink)
		st.Color = th.Panel
	}
	c.Text(box.X+20, base, text, st)
	if s.at == i && !s.asking && !marked {
		x := box.X + 22 + c.Width(text, st)
		c.Line(x+4, box.Y+box.H*0.24, x+4, box.Y+box.H*0.76, 2.5, th.Ink)
	}
	mark := draw.Style{Size: 24, Color: th.Teal, Align: draw.Middle, Bold: true}
	y := box.Bottom() + 20*c.M.Text
	switch {
	case right:
		tick(c, box.Right()-34, box.Y+box.H/2, 9, th.Teal)
	case wrong:
		mark.Color = tone(c, false, true)
		c.Text(box.Right()-34, box.Y+box.H/2+8*c.M.Text, "!", mark)
		hint.Color = mark.Color
	}
	if c.M.Phone {
		c.Para(r.X, y-2*c.M.Text, r.W, line, hint)
	} else {
		c.Fit(r.X, y, r.W, line, hint)
	}
	g.hot(fieldPlaces[i], box, func(*Game) { s.at = i })
}

// tick is the mark of what is right.
func tick(c *draw.Canvas, x, y, k float64, col color.NRGBA) {
	c.Path([]draw.Point{draw.P(x-k, y), draw.P(x-k*0.3, y+k*0.8), draw.P(x+k*1.2, y-k*0.9)}, 4, col)
}

// drawLetters is a board of letters for fingers, at the bottom of a place; it
// returns its top.
func (s *joinScene) drawLetters(g *Game, c *draw.Canvas, r draw.Rect) float64 {
	rows := []string{"1234567890", "QWERTYUIOP", "ASDFGHJKL", "ZXCVBNM"}
	if s.at == fieldServer {
		rows[3] += ".:-"
	}
	h := math.Min(52*c.M.Text, r.H*0.42/float64(len(rows)))
	if c.M.Phone {
		h = c.M.Finger * 0.95
	}
	w := math.Min(r.W/10, 96)
	y := r.Bottom() - 14 - h*float64(len(rows))
	if c.M.Phone {
		y += 8
	}
	top := y
	for i, row := range rows {
		keys := strings.Split(row, "")
		if i == len(rows)-1 {
			keys = append(keys, " ", "⌫")
		}
		x := r.X + (r.W-w*float64(len(keys)))/2
		if i == len(rows)-1 {
			x -= w / 2
		}
		for _, k := range keys {
			kw := w
			if k == "⌫" {
				kw = w * 2
			}
			s.drawLetter(g, c, draw.R(x, y, kw, h), k)
			x += kw
		}
		y += h
	}
	return top
}

func (s *joinScene) drawLetter(g *Game, c *draw.Canvas, r draw.Rect, k string) {
	label, do := k, func(*Game) { s.write([]rune(s.cased(k))[0]) }
	switch k {
	case " ":
		label = g.Say("cap.space")
	case "⌫":
		label, do = g.Say("cap.backspace"), func(*Game) { s.rub() }
	default:
		label = s.cased(k)
	}
	g.hot("letter."+k, r, do)
	r = r.Grow(-3)
	c.Fill(r, 8, c.Theme.Panel)
	c.Frame(r, 8, 1.2, c.Theme.Faint)
	st := draw.Style{Size: 20, Color: c.Theme.Ink, Align: draw.Middle}
	if len(label) > 1 {
		st.Size = math.Max(13, c.M.Least/c.M.Text)
	}
	c.Fit(r.X+r.W/2, r.Y+r.H/2+st.Size*c.M.Text*0.36, r.W-4, label, st)
}

// cased is a letter as it will be written: a name's are small after the first of
// a word.
func (s *joinScene) cased(k string) string {
	t := s.text[s.at]
	if s.at == fieldCode || s.at == fieldWho && (t == "" || strings.HasSuffix(t, " ")) {
		return k
	}
	return strings.ToLower(k)
}
