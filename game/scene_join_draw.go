package game

import (
	"image/color"
	"math"
	"strings"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

func (s *joinScene) draw(g *Game, c *canvas) {
	bar := g.drawBar(c, s.actions(g))
	if c.m.phone {
		s.drawPhone(g, c, bar)
		return
	}
	top := g.drawHead(c, g.say("class.join"), g.say("class.join_sub"), "", "")
	if s.finger {
		bar = s.drawLetters(g, c, rect{margin, top, c.m.w - 2*margin, bar - top})
	}
	w := math.Min(c.m.w-2*margin, 900)
	n := float64(s.fields())
	bw := c.width(g.say("class.begin_big"), style{size: 22, bold: true}) + 64
	bh := 54 * c.m.text
	h := math.Min(150*c.m.text, (bar-top-bh-12)/n)
	x, y := float64(margin), top
	if h < 80*c.m.text { // side by side
		w = (c.m.w - 2*margin - 24*(n-1)) / n
		h = math.Min(130*c.m.text, bar-top-bh-12)
		for i := range s.fields() {
			s.drawField(g, c, i, rect{x + (w+24)*float64(i), y, w, h})
		}
		y += h
	} else {
		for i := range s.fields() {
			s.drawField(g, c, i, rect{x, y, w, h})
			y += h
		}
	}
	button := rect{margin, y, bw, bh}
	g.button(c, "begin", button, s.bigWord(g), 20, true, s.enter)
	st := style{size: 17, c: c.th.ink}
	x = button.right() + 24
	lines := c.wrap(s.note(g), c.m.w-margin-x, st)
	for len(lines) > 3 && st.size > 11 {
		st.size--
		lines = c.wrap(s.note(g), c.m.w-margin-x, st)
	}
	ty := y + bh/2 - c.lead(st)*float64(len(lines)-1)/2 + 6*c.m.text
	for _, l := range lines {
		c.text(x, ty, l, st)
		ty += c.lead(st)
	}
}

// bigWord is what stands on the button.
func (s *joinScene) bigWord(g *Game) string {
	if s.goesOn(g) {
		return g.say("class.go_on_big")
	}
	return g.say("class.begin_big")
}

// note is the sentence beside the button.
func (s *joinScene) note(g *Game) string {
	switch {
	case s.asking:
		return g.say("class.asking")
	case s.says != "":
		return s.says
	case s.drop:
		return g.say("class.drop_ask", len(g.series.hand.Takes), g.series.hand.Sheet.Rounds, g.series.hand.Who)
	case s.goesOn(g):
		return g.say("class.go_on_line", len(g.series.hand.Takes), g.series.hand.Sheet.Rounds)
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
			return g.sheetWords(n), true, false
		}
		if length := len(strings.ReplaceAll(text, " ", "")); length < 12 && !isFault(err, "code.character") && !s.tried {
			return g.say("class.code_hint"), false, false
		}
		return g.fault(err), false, true
	case fieldWho:
		if err := handin.CheckWho(handin.TidyWho(text)); err != nil {
			if text == "" && !s.tried {
				return g.say("class.who_hint"), false, false
			}
			return g.fault(err), false, true
		}
		return g.say("class.who_hint"), true, false
	}
	if full, err := address(text); err != nil {
		return g.fault(err), false, s.tried
	} else if full != "" {
		return full, true, false
	}
	return g.say("class.server_hint"), false, false
}

func (s *joinScene) drawField(g *Game, c *canvas, i int, r rect) {
	th := c.th
	label := []string{g.say("class.code"), g.say("class.who"), g.say("class.server")}[i]
	text := s.text[i]
	line, right, wrong := s.check(g, i)
	lab := style{size: 15, c: th.dim}
	hint := style{size: 15, c: th.dim}
	c.fit(r.x, r.y+16*c.m.text, r.w, label, lab)
	// Where there is little height the box gives way, not the words about it.
	high := math.Max(28, math.Min(62, r.h/c.m.text-58))
	box := rect{r.x, r.y + 24*c.m.text, r.w, high * c.m.text}
	size := math.Min(30, high*0.6)
	if i == fieldCode {
		size = math.Min(38, high*0.62)
	}
	if c.m.phone {
		hint.size, size = 14, 24
		box = rect{r.x, r.y + 22*c.m.text, r.w, math.Max(c.m.finger, math.Min(58*c.m.text, r.h-100*c.m.text))}
	}
	c.fill(box, 10, th.panel)
	if s.at == i {
		c.frame(box, 10, 2.5, th.ink)
	} else {
		c.frame(box, 10, 1.2, th.faint)
	}
	st := style{size: size, c: th.ink, bold: i == fieldCode}
	room := box.w - 90
	if got := c.width(text, st); got > room {
		st.size *= room / got
	}
	base := box.y + box.h/2 + st.size*c.m.text*0.36
	marked := i == fieldWho && s.marked && s.at == i && !s.asking
	if marked {
		c.fill(rect{box.x + 14, box.y + box.h*0.16, c.width(text, st) + 12, box.h * 0.68}, 4, th.ink)
		st.c = th.panel
	}
	c.text(box.x+20, base, text, st)
	if s.at == i && !s.asking && !marked {
		x := box.x + 22 + c.width(text, st)
		c.line(x+4, box.y+box.h*0.24, x+4, box.y+box.h*0.76, 2.5, th.ink)
	}
	mark := style{size: 24, c: th.teal, align: middle, bold: true}
	y := box.bottom() + 20*c.m.text
	switch {
	case right:
		s.tick(c, box.right()-34, box.y+box.h/2, 9, th.teal)
	case wrong:
		mark.c = c.tone(false, true)
		c.text(box.right()-34, box.y+box.h/2+8*c.m.text, "!", mark)
		hint.c = mark.c
	}
	if c.m.phone {
		c.para(r.x, y-2*c.m.text, r.w, line, hint)
	} else {
		c.fit(r.x, y, r.w, line, hint)
	}
	g.hot(fieldPlaces[i], box, func(*Game) { s.at = i })
}

// tick is the mark of what is right.
func (s *joinScene) tick(c *canvas, x, y, k float64, col color.NRGBA) {
	c.path([]point{{x - k, y}, {x - k*0.3, y + k*0.8}, {x + k*1.2, y - k*0.9}}, 4, col)
}

// drawLetters is a board of letters for fingers, at the bottom of a place; it
// returns its top.
func (s *joinScene) drawLetters(g *Game, c *canvas, r rect) float64 {
	rows := []string{"1234567890", "QWERTYUIOP", "ASDFGHJKL", "ZXCVBNM"}
	if s.at == fieldServer {
		rows[3] += ".:-"
	}
	h := math.Min(52*c.m.text, r.h*0.42/float64(len(rows)))
	if c.m.phone {
		h = c.m.finger * 0.95
	}
	w := math.Min(r.w/10, 96)
	y := r.bottom() - 14 - h*float64(len(rows))
	if c.m.phone {
		y += 8
	}
	top := y
	for i, row := range rows {
		keys := strings.Split(row, "")
		if i == len(rows)-1 {
			keys = append(keys, " ", "⌫")
		}
		x := r.x + (r.w-w*float64(len(keys)))/2
		if i == len(rows)-1 {
			x -= w / 2
		}
		for _, k := range keys {
			kw := w
			if k == "⌫" {
				kw = w * 2
			}
			s.drawLetter(g, c, rect{x, y, kw, h}, k)
			x += kw
		}
		y += h
	}
	return top
}

func (s *joinScene) drawLetter(g *Game, c *canvas, r rect, k string) {
	label, do := k, func(*Game) { s.write([]rune(s.cased(k))[0]) }
	switch k {
	case " ":
		label = g.say("cap.space")
	case "⌫":
		label, do = g.say("cap.backspace"), func(*Game) { s.rub() }
	default:
		label = s.cased(k)
	}
	g.hot("letter."+k, r, do)
	r = r.grow(-3)
	c.fill(r, 8, c.th.panel)
	c.frame(r, 8, 1.2, c.th.faint)
	st := style{size: 20, c: c.th.ink, align: middle}
	if len(label) > 1 {
		st.size = math.Max(13, c.m.least/c.m.text)
	}
	c.fit(r.x+r.w/2, r.y+r.h/2+st.size*c.m.text*0.36, r.w-4, label, st)
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
