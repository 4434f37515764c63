package help

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/scene"
	"slowneedle/game/widget"
)

// Tour shows needle, lamp and fader to someone who comes for the first
// time, a card each.
type Tour struct {
	scene.Base
	scene.Nothing
	card int
}

const tourCards = 3

func tourAction(b scene.Base) hand.Action {
	return hand.Action{ID: "tour", Keys: []ebiten.Key{ebiten.KeyT}, Cap: "cap.t", Label: b.Say("tour.offer"), Do: b.To.Tour}
}

func (s *Tour) Name() string { return "tour" }

func (s *Tour) Actions() []hand.Action {
	next := s.Say("tour.next")
	if s.card == tourCards-1 {
		next = s.Say("tour.end")
	}
	step := func(by int) func() {
		return func() {
			s.card += by
			if s.card >= tourCards {
				s.To.Back()
			}
		}
	}
	acts := []hand.Action{{ID: "enter", Keys: append([]ebiten.Key{ebiten.KeySpace, ebiten.KeyArrowRight}, hand.EnterKeys...), Cap: "cap.enter", Label: next, Do: step(1)}}
	if s.card > 0 {
		acts = append(acts, hand.Action{ID: "left", Keys: []ebiten.Key{ebiten.KeyArrowLeft}, Cap: "cap.left", Label: s.Say("tour.before"), Do: step(-1)})
	}
	return append(acts, s.HelpAction(),
		hand.Action{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("tour.leave"), Do: s.To.Back})
}

func (s *Tour) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("tour.title"), s.Say("tour.card", s.card+1, tourCards), "", "")
	titles := []string{s.Say("tour.needle"), s.Say("tour.lamp"), s.Say("tour.fader")}
	texts := []string{s.Say("tour.needle_text"), s.Say("tour.lamp_text"), s.Say("tour.fader_text")}
	w := math.Min(c.M.W-2*draw.Margin, 1040)
	big := draw.Style{Size: 34 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}
	body := draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: c.Theme.Ink}
	if c.M.Phone && c.M.Portrait {
		body.Size *= 1.2
	}
	text := c.Block(texts[s.card], w, body)
	y := bar - 20 - text.Height() + text.Lead
	picture := draw.R(draw.Margin, top+4, c.M.W-2*draw.Margin, y-c.Lead(body)-c.Lead(big)-top-12)
	c.Text(draw.Margin, y-c.Lead(body)*1.15, titles[s.card], big)
	c.Print(draw.Margin, y, text)
	reads, bulb, peaks := -4.0, widget.LampPlace{X: picture.Right() - 80, Y: picture.Y + 60, R: 30}, picture
	peaks.W -= 200
	if c.M.Phone { // nothing stands under the end of the needle
		reads = -10
	}
	if c.M.Portrait { // no wider than the picture, no higher than serves
		h := math.Min(picture.H, picture.W*[...]float64{0.7, 0.9, 1.1}[s.card])
		picture.Y, picture.H = picture.Y+(picture.H-h)*0.45, h
		bulb.X, bulb.Y = picture.X+picture.W/2, picture.Y+50
		peaks = draw.R(picture.X, picture.Y+130, picture.W, h-130)
	}
	switch s.card {
	case 0:
		f := widget.FaceIn(picture, widget.FaceText(c))
		widget.DrawFace(c, f, s.Speech)
		widget.DrawNeedles(c, f, 3.5, widget.Deflection(reads))
	case 1:
		s.drawPeaks(c, peaks)
		widget.DrawLamp(c, bulb, true, 0, s.Say("lamp.name", s.Short(-6)), s.Say("lamp.over"))
	case 2:
		f := widget.NewFader(picture.X+picture.W/2, picture.Y+24, picture.Bottom()-24)
		widget.DrawTrack(c, f, s.Speech)
		c.Fill(draw.R(f.X-14, f.Stand(-4), 28, f.Stand(-8)-f.Stand(-4)), 5, c.Theme.Teal)
		c.Text(f.X+50, f.Stand(-6)+6, s.Say("verdict.right"), draw.Style{Size: 17, Color: c.Theme.Teal})
		widget.DrawKnob(c, f, -12)
	}
}

// drawPeaks draws drum-like peaks with the line of a needle far below them.
func (s *Tour) drawPeaks(c *draw.Canvas, r draw.Rect) {
	const beats, steps = 8, 40
	in := draw.R(r.X+20, r.Y+30, r.W-20, r.H-50)
	var line []draw.Point
	at := 0.0
	for i := range beats * steps {
		x := in.X + in.W*float64(i)/(beats*steps)
		decay := math.Exp(-float64(i%steps) / 3)
		if i%3 == 0 {
			h := in.H * math.Max(0.03, decay)
			tint := c.Theme.Peak
			if decay > 0.7 {
				tint = c.Theme.Amber
			}
			c.Fill(draw.R(x, in.Bottom()-h, 3, h), 0, tint)
		}
		at += (decay*0.55 - at) * 0.12
		line = append(line, draw.P(x, in.Bottom()-in.H*at))
	}
	c.Path(line, 3.5, c.Theme.Needle)
}
