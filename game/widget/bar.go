package widget

import (
	"math"
	"strings"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
)

// key is a key of the bar; on a phone a button, large enough for a finger.
type key struct {
	a        hand.Action
	label    string // on it
	beside   string // what it does, unless that stands on it
	w, full  float64
	space    float64 // between it and that
	gap      float64 // behind both
	st, side draw.Style
}

// main reports whether a button is the one that leads on.
func (k key) main(c *draw.Canvas) bool { return c.M.Phone && k.a.ID == "enter" }

// key lays out the key of an action, or what stands in its place on a phone.
func (s *Screen) key(c *draw.Canvas, a hand.Action) key {
	point := c.M.Finger / draw.FingerPoints
	k := key{a: a, label: s.Say(a.Cap), beside: a.Label, space: 8, gap: 24,
		st:   draw.Style{Size: 14, Bold: a.On},
		side: draw.Style{Size: 15, Color: c.Theme.Dim}}
	least, pad := 26*c.M.Text, 16.0
	if c.M.Phone {
		least, pad = c.M.Finger, 14*point
		k.space, k.gap, k.side.Size = 8*point, 8*point, 14
		if c.M.Landscape {
			k.gap = 6 * point
		}
		k.st.Bold = a.On || k.main(c)
		if a.Repeat {
			k.st.Size = 20
		} else {
			k.label, k.beside = a.Label, ""
		}
	}
	k.w = math.Max(least, c.Width(k.label, k.st)+pad)
	k.full = k.w
	switch {
	case k.beside != "":
		k.full += k.space + c.Width(k.beside, k.side)
	case !c.M.Phone:
		k.gap = 6
	}
	return k
}

// keyRows breaks keys into as few rows as they need, as even as they can be.
func keyRows(all []key, wide float64) [][]key {
	flow := func(wide float64) [][]key {
		var rows [][]key
		x := math.Inf(1)
		for _, k := range all {
			if x+k.full > wide {
				rows, x = append(rows, nil), 0
			}
			last := len(rows) - 1
			rows[last] = append(rows[last], k)
			x += k.full + k.gap
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

// keyBar is where the keys of a screen stand along the bottom.
type keyBar struct {
	rows  [][]key
	top   float64
	first float64 // the upper edge of the first row's keys
	pitch float64 // from row to row
	h     float64 // of a key
	hit   float64 // the height of what can be pressed
}

// layBar lays the keys out.
func (s *Screen) layBar(c *draw.Canvas, acts []hand.Action) keyBar {
	var keys []key
	for _, a := range acts {
		if a.Cap != "" && !(c.M.Phone && a.KeysOnly) {
			keys = append(keys, s.key(c, a))
		}
	}
	k := keyBar{rows: keyRows(keys, c.M.W-2*draw.Margin), h: 26 * c.M.Text, pitch: math.Max(36*c.M.Text, c.M.Finger)}
	k.hit = k.pitch - 2
	head, foot := 12.0, 22.0
	if c.M.Phone && len(keys) > 0 {
		k.h, k.hit, head = c.M.Finger, c.M.Finger, keys[0].gap
		k.pitch, foot = k.h+head, 12*c.M.Finger/draw.FingerPoints+head/2
	}
	k.top = c.M.H - foot - k.pitch*float64(max(1, len(k.rows)))
	k.first = k.top + head
	return k
}

// BarTop is where the keys of a screen would begin.
func (s *Screen) BarTop(c *draw.Canvas, acts []hand.Action) float64 { return s.layBar(c, acts).top }

// DrawBar draws the keys of a screen along the bottom and makes them hit areas. It
// returns where they begin.
func (s *Screen) DrawBar(c *draw.Canvas, acts []hand.Action) float64 {
	bar := s.layBar(c, acts)
	c.Rule(draw.Margin, c.M.W-draw.Margin, bar.top, 1, c.Theme.Faint)
	for i, row := range bar.rows {
		x, y, more := float64(draw.Margin), bar.first+bar.pitch*float64(i), 0.0
		if c.M.Phone && c.M.Portrait { // the rows end under each other
			used := -row[0].gap
			for _, k := range row {
				used += k.full + k.gap
			}
			more = (c.M.W - 2*draw.Margin - used) / float64(len(row))
		}
		for _, k := range row {
			s.HitOn(c, "key."+k.a.ID, s.actionName(k.a), k.a.On, draw.R(x, y+(bar.h-bar.hit)/2, k.full+more, bar.hit), k.a.Do)
			s.drawKey(c, k, draw.R(x, y, k.w+more, bar.h))
			x += k.full + more + k.gap
		}
	}
	s.bar = bar.top
	return bar.top
}

func (s *Screen) drawKey(c *draw.Canvas, k key, r draw.Rect) {
	radius := 6.0
	if c.M.Phone {
		radius = 10
	}
	if k.main(c) {
		c.Fill(r, radius, c.Theme.Panel)
	}
	s.drawPressable(c, "key."+k.a.ID, r, radius, k.a.On, k.label, k.st)
	if k.main(c) {
		c.Frame(r, radius, 3, c.Theme.Ink)
	}
	c.Text(r.Right()+k.space, r.Y+r.H/2+c.Size(k.side)*0.35, k.beside, k.side)
}

// actionName is what an action is called without its picture: one that shows only an
// arrow by the arrow too.
func (s *Screen) actionName(a hand.Action) string {
	if a.Label != "" && !a.Repeat {
		return a.Label
	}
	arrows := strings.NewReplacer("↑", s.Say("arrow.up"), "↓", s.Say("arrow.down"), "←", s.Say("arrow.left"), "→", s.Say("arrow.right"))
	return strings.TrimSpace(arrows.Replace(s.Say(a.Cap)) + " " + a.Label)
}
