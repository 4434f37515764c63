package class

import (
	"image/color"
	"math"
	"strings"

	"slowneedle/game/draw"
	"slowneedle/game/practice"
)

func (s *Join) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	title, sub := s.title()
	note := s.Form.Line()
	flat := c.M.Phone && c.M.Landscape
	if flat && note != "" {
		sub, note = note, "" // there is no other place for it
	}
	top := s.DrawHead(c, title, sub, "", "")
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top)
	if s.Finger {
		place.H = s.drawLetters(c, place) - place.Y
	}
	bw, bh := c.Width(s.bigWord(), draw.Style{Size: 22, Bold: true})+64, 54*c.M.Text
	if c.M.Phone {
		point := c.M.Finger / draw.FingerPoints
		bw, bh = c.Width(s.bigWord(), draw.Style{Size: 20, Bold: true})+40*point, c.M.Finger*1.1
	}
	n := s.Form.Fields()
	h := math.Min(150*c.M.Text, (place.H-bh-16)/float64(n))
	var fields []draw.Rect
	button := draw.R(place.X, 0, bw, bh)
	switch {
	case flat: // in a row, the button at its end
		button = draw.R(place.Right()-bw, place.Y+22*c.M.Text, bw, c.M.Finger)
		place.W -= bw + 24
		fields = place.Columns(n, 24)
	case !c.M.Phone && h < 80*c.M.Text: // in a row, the button below
		place.H = math.Min(130*c.M.Text, place.H-bh-12)
		fields = place.Columns(n, 24)
		button.Y = place.Bottom()
	default:
		if !c.M.Phone {
			place.W = math.Min(place.W, 900)
		}
		place.H = h * float64(n)
		fields = place.Rows(n, 0)
		button.Y = place.Bottom()
	}
	for i, r := range fields {
		s.drawField(c, i, r)
	}
	s.Button(c, "begin", button, s.bigWord(), 20, true, s.enter)
	s.drawNote(c, note, button, bar)
}

// drawNote writes a sentence beside the button, or under it where it is long and there is
// room.
func (s *Join) drawNote(c *draw.Canvas, note string, button draw.Rect, bar float64) {
	if note == "" {
		return
	}
	st, least := draw.Style{Size: 17, Color: c.Theme.Ink, Said: draw.Live}, 11.0
	if c.M.Phone {
		st.Size, least = 16, 16
	}
	x := button.Right() + 24
	beside := c.Shrink(note, c.M.W-draw.Margin-x, st, least, func(b draw.Block) bool { return len(b.Lines) <= 3 && b.Height() <= 1.1*button.H })
	under := c.Block(note, c.M.W-2*draw.Margin, st)
	if c.M.Phone && len(beside.Lines) > 2 && button.Bottom()+under.Height() < bar-4 {
		c.Print(draw.Margin, button.Bottom()+under.Lead, under)
		return
	}
	c.Middle(x, button.Y+button.H/2, beside.Cut(button.H))
}

// bigWord is what stands on the button.
func (s *Join) bigWord() string {
	switch {
	case s.Form.GoesOn():
		return s.Say("class.go_on_big")
	case s.Form.Drop:
		return s.Say("class.drop_big")
	}
	return s.Say("class.begin_big")
}

// drawField draws a field under its label, and under it what there is to say of it.
func (s *Join) drawField(c *draw.Canvas, i int, r draw.Rect) {
	th := c.Theme
	label := []string{s.Say("class.code"), s.Say("class.who"), s.Say("class.server")}[i]
	line, right, wrong := s.Form.Check(i)
	if right && !draw.Has(s.Form.Text[i]) {
		line = s.Say("class.boxes")
	}
	hint := draw.Style{Size: 15, Color: th.Dim}
	c.Fit(r.X, r.Y+16*c.M.Text, r.W, label, hint)
	if c.M.Phone {
		hint.Size = 14
	}
	box, size := fieldBox(c, i, r)
	c.Fill(box, 10, th.Panel)
	if s.Form.At == i {
		c.Frame(box, 10, 2.5, th.Ink)
	} else {
		c.Frame(box, 10, 1.2, th.Faint)
	}
	s.drawTyped(c, i, box, size)
	switch {
	case right:
		tick(c, box.Right()-34, box.Y+box.H/2, 9, th.Teal)
	case wrong:
		hint.Color = th.Brick
		c.Text(box.Right()-34, box.Y+box.H/2+8*c.M.Text, "!", draw.Style{Size: 24, Color: th.Brick, Align: draw.Middle, Bold: true})
	}
	y := box.Bottom() + 20*c.M.Text
	names := draw.R(r.X, box.Bottom()+6, r.W, r.Bottom()-box.Bottom()-10)
	if i == practice.FieldWho && len(s.Form.Names) > 0 && s.Form.At == i && names.H > 24*c.M.Text {
		s.drawNames(c, names)
	} else if c.M.Phone {
		c.Print(r.X, y-2*c.M.Text, c.Block(line, r.W, hint).Cut(r.Bottom()-y+c.Size(hint)))
	} else {
		c.Fit(r.X, y, r.W, line, hint)
	}
	s.HitField(c, fieldPlaces[i], label, s.Form.Text[i], box, func() { s.Form.At = i })
}

// fieldBox is where a field in a place is typed into, and the size of its letters. Where
// there is little height the box gives way, not the words about it.
func fieldBox(c *draw.Canvas, i int, r draw.Rect) (box draw.Rect, size float64) {
	if c.M.Phone {
		high := math.Min(58*c.M.Text, r.H-100*c.M.Text)
		if high < c.M.Finger {
			high = math.Min(c.M.Finger, r.H-22*c.M.Text-6)
		}
		return draw.R(r.X, r.Y+22*c.M.Text, r.W, high), 24
	}
	high := math.Max(28, math.Min(62, r.H/c.M.Text-58))
	size = math.Min(30, high*0.6)
	if i == practice.FieldCode {
		size = math.Min(38, high*0.62)
	}
	return draw.R(r.X, r.Y+24*c.M.Text, r.W, high*c.M.Text), size
}

// drawTyped writes what is typed into a field, its end where it is too long, with a bar
// where the next letter comes, or marked where that takes its place.
func (s *Join) drawTyped(c *draw.Canvas, i int, box draw.Rect, size float64) {
	st := draw.Style{Size: size, Color: c.Theme.Ink, Bold: i == practice.FieldCode}
	if st.Bold {
		st.Apart = codeApart
	}
	text, room := s.Form.Text[i], box.W-90
	for c.Width(text, st) > room && st.Size > c.Least(12) {
		st.Size -= 0.5
	}
	for rs := []rune(text); c.Width(text, st) > room && len(rs) > 0; rs = rs[1:] {
		text = string(rs[1:])
	}
	typing := s.Form.At == i && !s.Form.Asking
	marked := typing && i == practice.FieldWho && s.Form.Marked
	w := c.Width(text, st)
	switch {
	case marked:
		c.Fill(draw.R(box.X+14, box.Y+box.H*0.16, w+12, box.H*0.68), 4, c.Theme.Ink)
		st.Color = c.Theme.Panel
	case typing:
		x := box.X + 26 + w
		c.Line(x, box.Y+box.H*0.24, x, box.Y+box.H*0.76, 2.5, c.Theme.Ink)
	}
	c.Text(box.X+20, box.Y+box.H/2+st.Size*c.M.Text*0.36, text, st)
}

// drawNames is the names of the roster that fit what is typed, as many as there is
// room for in a row.
func (s *Join) drawNames(c *draw.Canvas, r draw.Rect) {
	r.H = math.Min(r.H, math.Max(34*c.M.Text, c.M.Finger))
	st := draw.Style{Size: math.Min(17, r.H/c.M.Text*0.6)}
	x := r.X
	for i, name := range s.Form.Names {
		w := c.Width(name, st) + 28
		if x+w > r.Right() && i > 0 {
			return
		}
		chip := draw.R(x, r.Y, math.Min(w, r.W), r.H)
		s.Chip(c, "name."+name, chip, name, name, false, st, func() { s.Form.Take(name) })
		x += w + 10
	}
}

// tick is the mark of what is right.
func tick(c *draw.Canvas, x, y, k float64, col color.NRGBA) {
	c.Path([]draw.Point{draw.P(x-k, y), draw.P(x-k*0.3, y+k*0.8), draw.P(x+k*1.2, y-k*0.9)}, 4, col)
}

// drawLetters is a board of letters for fingers, at the bottom of a place; it
// returns its top.
func (s *Join) drawLetters(c *draw.Canvas, r draw.Rect) float64 {
	rows := []string{"1234567890", "QWERTYUIOP", "ASDFGHJKL", "ZXCVBNM"}
	if s.Form.At == practice.FieldServer {
		rows[3] += ".:-"
	}
	h := math.Min(52*c.M.Text, r.H*0.42/float64(len(rows)))
	if c.M.Phone { // as high as a finger asks for, where the fields above leave that
		above := c.M.Finger + 26*c.M.Text
		if c.M.Portrait {
			above = float64(s.Form.Fields())*(c.M.Finger*0.7+28*c.M.Text) + c.M.Finger*1.1
		}
		h = math.Min(c.M.Finger*0.95, (r.H-above-20)/float64(len(rows)))
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
			s.drawLetter(c, draw.R(x, y, kw, h), k)
			x += kw
		}
		y += h
	}
	return top
}

func (s *Join) drawLetter(c *draw.Canvas, r draw.Rect, k string) {
	label, do := k, func() { s.Form.Write([]rune(s.Form.Cased(k))[0]) }
	switch k {
	case " ":
		label = s.Say("class.blank")
	case "⌫":
		label, do = s.Say("cap.backspace"), func() { s.Form.Rub() }
	default:
		label = s.Form.Cased(k)
	}
	s.Hit(c, "letter."+k, label, r, do)
	r = r.Grow(-3)
	c.Fill(r, 8, c.Theme.Panel)
	c.Frame(r, 8, 1.2, c.Theme.Faint)
	if k == " " { // an open box (ISO 9995-7), for the word is wider than the key of a phone
		x, y, w := r.X+r.W/2, r.Y+r.H*0.55, math.Min(r.W*0.3, 16)
		c.Line(x-w, y, x+w, y, 1.6, c.Theme.Ink)
		c.Line(x-w, y, x-w, y-6, 1.6, c.Theme.Ink)
		c.Line(x+w, y, x+w, y-6, 1.6, c.Theme.Ink)
		return
	}
	st := draw.Style{Size: 20, Color: c.Theme.Ink, Align: draw.Middle}
	if len(label) > 1 {
		st.Size = 13
	}
	c.Fit(r.X+r.W/2, r.Y+r.H/2+st.Size*c.M.Text*0.36, r.W-4, label, st)
}
