// Package summary is the screen at the end of a practice.
package summary

import (
	"math"
	"slices"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/scene"
	"slowneedle/game/widget"
)

// Scene tells how a practice went, and what to do next.
type Scene struct {
	scene.Base
	scene.Nothing
	Summary plan.Summary
	Last    plan.Practice   // that it sums up
	Next    progress.Advice // for the next practice
}

func (s *Scene) Name() string { return "summary" }

func (s *Scene) Actions() []hand.Action {
	return []hand.Action{
		{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("summary.done"), Do: s.To.Home},
		{ID: "again", Keys: []ebiten.Key{ebiten.KeyA}, Cap: "cap.a", Label: s.Say("summary.again"), Do: s.To.Start},
		{ID: "progress", Keys: []ebiten.Key{ebiten.KeyP}, Cap: "cap.p", Label: s.Say("home.progress"), Do: s.To.Progress},
		s.HelpAction(),
		s.LeaveAction(),
	}
}

func (s *Scene) Draw(c *draw.Canvas) {
	sum, th := s.Summary, c.Theme
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("summary.title"), s.drills()+" · "+s.Say("summary.took", int(math.Ceil(sum.Took.Minutes()))), "", "")
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-10)

	big := draw.Style{Size: 44 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true, Said: draw.Live}
	if 2*sum.Right > len(sum.Rounds) {
		big.Color = th.Teal
	}
	y := place.Y + c.Size(big)
	c.Fit(place.X, y, place.W, s.Say("summary.right", sum.Right, len(sum.Rounds)), big)
	habit := c.Shrink(strings.TrimSpace(s.Habit(sum.Habit)+" "+s.Estimates(sum.Estimates)), place.W, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink}, 11, func(b draw.Block) bool { return len(b.Lines) < 3 })
	y += 8 + habit.Lead
	y = c.Print(place.X, y, habit.Cut(math.Max(habit.Lead, place.H*0.25))) - habit.Lead*0.5 + 4
	_, place = place.CutTop(y - place.Y)

	button := !c.M.Phone && place.H > 340*c.M.Text
	if button {
		var foot draw.Rect
		foot, place = place.CutBottom(64*c.M.Text + 12)
		s.drawDone(c, draw.R(foot.X, foot.Y, foot.W, 64*c.M.Text))
	}
	figures, high := s.figures(!button), 0.0
	if c.M.Portrait && c.M.Phone {
		high = math.Min(place.H*0.6, float64(len(figures))*76*c.M.Text)
	} else {
		high = math.Min(place.H*0.5, 108*c.M.Text)
	}
	foot, plot := place.CutBottom(high)
	cells := foot.Columns(len(figures), 28)
	if c.M.Portrait && c.M.Phone {
		cells = foot.Rows(len(figures), 6)
	}
	for i, f := range figures {
		f.draw(c, cells[i])
	}
	_, plot = plot.CutBottom(14)
	s.drawPlot(c, plot)
}

// drills names the drills that were practised.
func (s *Scene) drills() string {
	var all []string
	for _, r := range s.Summary.Rounds {
		if name := s.DrillName(r.Drill); !slices.Contains(all, name) {
			all = append(all, name)
		}
	}
	return strings.Join(all, " · ")
}

// drawPlot is a mark a round, with the kinds of source below where there is room.
func (s *Scene) drawPlot(c *draw.Canvas, r draw.Rect) {
	if r.H < 60 {
		return
	}
	c.Fill(r, 10, c.Theme.Panel)
	rounds := s.Summary.Rounds
	name := draw.Style{Size: 13, Color: c.Theme.Dim, Align: draw.Middle}
	in := r.Inset(14, 8)
	wide := in.W / float64(max(1, len(rounds)))
	labelled := r.H > 90*c.M.Text && !slices.ContainsFunc(rounds, func(d plan.Round) bool {
		return c.Width(s.Say("family."+string(d.Family)), name) > wide-6
	})
	if labelled {
		_, in = in.CutBottom(c.Lead(name))
	}
	if legend := (draw.Style{Size: 13, Color: c.Theme.Dim}); in.H > 150*c.M.Text {
		c.Fit(in.X, in.Y+c.Size(legend), in.W, s.Say("summary.legend"), legend)
		_, in = in.CutTop(c.Lead(legend))
	}
	for i, column := range widget.DrawRounds(c, in, s.Last) {
		if labelled {
			c.Text(column.X+column.W/2, r.Bottom()-10, s.Say("family."+string(rounds[i].Family)), name)
		}
	}
}

// figure is one of the figures under the plot.
type figure struct{ name, value, why string }

// figures are what was gained, what is next and when; reason has the last with
// its reason.
func (s *Scene) figures(reason bool) []figure {
	sum := s.Summary
	steps := figure{name: s.Say("summary.steps"), value: s.Say("summary.same")}
	if len(sum.Steps) > 0 {
		steps.value = s.ShortSigned(float64(sum.Gained()))
		step := slices.MaxFunc(sum.Steps, func(a, b plan.Step) int { return a.To - a.From - b.To + b.From })
		steps.why = s.Say("summary.step", s.DrillName(step.Drill), s.Say("family."+string(step.Family)), step.From, step.To)
	}
	next := figure{s.Say("summary.next"), s.DrillName(s.Next.Drill), s.ReasonFor(s.Next)}
	rest := figure{name: s.Say("summary.rest")}
	var why string
	if rest.value, why = s.rest(); reason {
		rest.why = why
	}
	return []figure{steps, next, rest}
}

// rest tells when to go on, and why then.
func (s *Scene) rest() (when, why string) {
	if s.Summary.Rest == plan.Tomorrow {
		return s.Say("summary.tomorrow"), s.Say("summary.tomorrow_why")
	}
	return s.Say("summary.break"), s.Say("summary.break_why")
}

// draw writes a figure; where there is little height its reason goes.
func (f figure) draw(c *draw.Canvas, r draw.Rect) {
	name, value := draw.Style{Size: 14, Color: c.Theme.Dim}, draw.Style{Size: 24 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}
	c.Rule(r.X, r.Right(), r.Y, 1, c.Theme.Faint)
	y := r.Y + c.Lead(name)
	if y > r.Bottom() {
		return
	}
	c.Fit(r.X, y, r.W, f.name, name)
	if c.M.Portrait && c.M.Phone { // beside it
		value.Align = draw.Right
		c.Fit(r.Right(), y, r.W-c.Width(f.name, name)-16, f.value, value)
	} else if y += c.Lead(value); y < r.Bottom() {
		c.Fit(r.X, y, r.W, f.value, value)
	}
	y += c.Lead(name) * 1.1
	room := r.Bottom() - y + c.Size(name)
	why := c.Shrink(f.why, r.W, name, 11, func(b draw.Block) bool { return b.Height() <= room })
	c.Print(r.X, y, why.Cut(room))
}

// drawDone is the one big button, with the reason beside it.
func (s *Scene) drawDone(c *draw.Canvas, r draw.Rect) {
	_, why := s.rest()
	s.BigButton(c, r, "done", s.Say("summary.done_big"), s.To.Home, why, draw.Style{Size: 17, Color: c.Theme.Dim})
}
