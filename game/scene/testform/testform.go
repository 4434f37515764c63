// Package testform is the screen of the test forms: what comes next, the word that
// one is done, and what changed from one to the other.
package testform

import (
	"image/color"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/drills/ladder"
	"slowneedle/drills/progress"
	"slowneedle/drills/testform"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/widget"
)

// Scene begins a test form, or goes on with one, and tells what changed since an
// earlier one where that is asked for.
type Scene struct {
	scene.Base
	scene.Nothing
	Forms  practice.TestForms
	Ended  bool // a form has just been played to its end: of it only that is told
	change bool // what changed is shown
}

func (s *Scene) Name() string { return "testform" }

func (s *Scene) Actions() []hand.Action {
	begin := hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("round.begin"), Do: s.To.PlayForm}
	if s.Ended {
		begin = hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("summary.done"), Do: s.To.Home}
	}
	acts := []hand.Action{begin}
	if len(s.Forms.Taken) > 1 && s.Forms.Done == 0 {
		label := s.Say("form.show_change")
		if s.change {
			label = s.Say("form.hide_change")
		}
		acts = append(acts, hand.Action{ID: "change", Keys: []ebiten.Key{ebiten.KeyC}, Cap: "cap.c", Label: label, Do: func() { s.change = !s.change }})
	}
	return append(acts, s.HelpAction(), s.LeaveAction())
}

// startLabel is what the button says: begin a form, or go on with it.
func (s *Scene) startLabel() string {
	if s.Forms.Done > 0 {
		return s.Say("form.go_on", string(s.Forms.Next.Form))
	}
	return s.Say("form.begin", string(s.Forms.Next.Form))
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("form.title"), s.Say("form.sub", s.Forms.Next.Rounds), "", "")
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-10)
	if s.change {
		s.drawChange(c, place)
		return
	}
	headline, text := s.Say("form.where_now"), s.Say("form.what")
	switch taken := s.Forms.Taken; {
	case s.Ended && len(taken) > 0:
		headline, text = s.Say("form.done", string(taken[len(taken)-1].Letter)), s.Say("form.kept")
	case s.Forms.Done > 0:
		headline = s.Say("form.so_far", s.Forms.Done, s.Forms.Next.Rounds)
	case s.Forms.Due:
		headline, text = s.Say("form.due"), s.Say("form.due_why")
	case len(taken) > 0:
		last := taken[len(taken)-1]
		headline = s.Say("form.last", string(last.Letter), last.Last.Local().Format("2006-01-02"))
	}
	high := math.Max(60*c.M.Text, c.M.Finger)
	y := s.headline(c, place, headline, c.Theme.Ink)
	room := place.Bottom() - y - high - 30
	said := c.Shrink(text, math.Min(place.W, 980*c.M.Text), draw.Style{Size: 19 / math.Sqrt(c.M.Text), Color: c.Theme.Ink}, 11, func(b draw.Block) bool { return b.Height() <= room })
	y = c.Print(place.X, y+said.Lead, said.Cut(room)) + 4
	if s.Ended {
		s.BigButton(c, draw.R(place.X, y, place.W, high), "done", s.Say("summary.done_big"), s.To.Home, "", draw.Style{})
	} else {
		s.BigButton(c, draw.R(place.X, y, place.W, high), "begin", s.startLabel(), s.To.PlayForm,
			s.Say("form.how_long", s.Forms.Next.Rounds-s.Forms.Done, s.Number(ladder.At(testform.Level).Seconds, 0)), draw.Style{Size: 16, Color: c.Theme.Dim})
	}
}

// headline writes the largest line of the screen and returns the y below it.
func (s *Scene) headline(c *draw.Canvas, r draw.Rect, text string, tone color.NRGBA) float64 {
	big := draw.Style{Size: 44 / math.Sqrt(c.M.Text), Color: tone, Bold: true}
	c.Fit(r.X, r.Y+c.Size(big), r.W, text, big)
	return r.Y + c.Lead(big) + 6
}

// drawChange tells what changed from the first form of the set to the last.
func (s *Scene) drawChange(c *draw.Canvas, r draw.Rect) {
	first, last := s.Forms.Taken[0], s.Forms.Taken[len(s.Forms.Taken)-1]
	change := progress.CompareForms(first.Errors, last.Errors)
	size := change.SizeDB
	headline, tone := s.Say("form.no_change"), c.Theme.Ink
	switch {
	case change.Real() && size.Value < 0:
		headline, tone = s.Say("form.nearer", s.Number(-size.Value, 1)), c.Theme.Teal
	case change.Real():
		headline, tone = s.Say("form.farther", s.Number(size.Value, 1)), c.Theme.Brick
	}
	y := s.headline(c, r, headline, tone)
	text := s.Say("form.size", s.Number(first.SizeDB(), 2), string(first.Letter), s.Number(last.SizeDB(), 2), string(last.Letter))
	if size.OK {
		text += " " + s.Say("form.change", s.Signed(size.Value, 2), s.Signed(size.Lo, 2), s.Signed(size.Hi, 2), s.Number(change.NeededDB, 2))
	}
	if w := change.Spread; w.OK {
		text += " " + s.Say("form.spread", s.Number(w.Value, 2), s.Number(w.Lo, 2), s.Number(w.Hi, 2))
	}
	said := c.Shrink(text, r.W, draw.Style{Size: 19 / math.Sqrt(c.M.Text), Color: c.Theme.Ink}, 11, func(b draw.Block) bool { return b.Height() <= r.H*0.4 })
	y = c.Print(r.X, y+said.Lead, said.Cut(r.Bottom()-y))
	_, plot := r.CutTop(y - r.Y + 10)
	s.drawForms(c, plot)
}

// plotDB is how far the plot of errors reaches to either side.
const plotDB = 8

// drawForms is a row for each form: where its rounds ended around the aim, and how
// wide the mean size of the error is.
func (s *Scene) drawForms(c *draw.Canvas, r draw.Rect) {
	small := draw.Style{Size: 14, Color: c.Theme.Dim}
	high := math.Min(120*c.M.Text, (r.H-2*c.Lead(small))/float64(len(s.Forms.Taken)))
	if high < 26*c.M.Text {
		return
	}
	plot, _ := r.CutRight(r.W - c.Width("A · 2026-12-31", small) - 20)
	errors := widget.Errors{Rect: plot.Inset(plot.W*0.015, 0), Span: plotDB}
	for i, f := range s.Forms.Taken {
		row := draw.R(plot.X, r.Y+high*float64(i), plot.W, high-8)
		c.Fill(row, 8, c.Theme.Panel)
		errors.Y, errors.H = row.Y, row.H
		c.Fill(errors.Between(-f.SizeDB(), f.SizeDB()), 4, c.Theme.Band)
		c.Line(errors.At(0), row.Y, errors.At(0), row.Bottom(), 1.5, c.Theme.Dim)
		for j, e := range f.Errors {
			c.Disc(errors.At(e), row.Y+row.H*(0.25+0.5*float64(j*7%20)/19), 4, c.Theme.Ink)
		}
		c.Text(r.X, row.Y+row.H/2+c.Size(small)*0.36, string(f.Letter)+" · "+f.Last.Local().Format("2006-01-02"), draw.Style{Size: 14, Color: c.Theme.Ink})
	}
	y := r.Y + high*float64(len(s.Forms.Taken)) + c.Size(small)
	for _, db := range []float64{-6, -3, 0, 3, 6} {
		label := s.Say("unit.db", s.Signed(db, 0))
		if db == 0 {
			label = s.Say("verdict.aim")
		}
		c.Text(errors.At(db), y, label, draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Middle})
	}
	legend := c.Block(s.Say("form.legend", progress.MostFormDB, progress.MostFormDB), r.W, small)
	c.Print(r.X, y+legend.Lead, legend.Cut(r.Bottom()-y))
}
