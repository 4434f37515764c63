// Package progress is the screen of what the learner's history tells.
package progress

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Scene shows the step of each drill on each kind of source or, by choice, where
// the learner stops on each and how the share inside the window goes.
type Scene struct {
	scene.Base
	scene.Nothing
	Records    *practice.Records
	Prefs      *store.Keeper
	drill, rig string
	errors     bool // they are shown, not the steps
	desk       bool // the errors at a real desk are
	mastered   mastered
	paged      bool // there is no room for the steps of all drills
	first      int  // the first drill whose steps are shown
	next       int  // and of the next page
}

func (s *Scene) Name() string { return "progress" }

func (s *Scene) Actions() []hand.Action {
	enter := s.Say("home.start")
	if a, ok := s.Records.Advice(); ok {
		enter = s.Say("progress.practise", s.Say("family."+string(a.Family)))
	}
	all := []hand.Action{
		{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: enter, Do: s.To.Start},
	}
	switch next := s.Say("progress.steps"); {
	case s.desk:
		all = append(all,
			hand.Action{ID: "view", Keys: []ebiten.Key{ebiten.KeyT}, Cap: "cap.t", Label: next, Do: func() { s.errors, s.desk = false, false }},
			s.rigAction())
	case s.errors:
		do := func() { s.errors = false }
		if s.Records.Book.RealDesk().Len() > 0 {
			next, do = s.Say("desk.title"), s.ShowDesk
		}
		all = append(all,
			hand.Action{ID: "view", Keys: []ebiten.Key{ebiten.KeyT}, Cap: "cap.t", Label: next, Do: do},
			hand.Action{ID: "drill", Keys: []ebiten.Key{ebiten.KeyD}, Cap: "cap.d", Label: s.Say("home.drill"), Do: func() { s.drill = widget.NextChoice(s.drills(), s.drill, 1) }},
			s.rigAction())
	default:
		if s.paged {
			all = append(all, s.MoreAction(func() { s.first = s.next % len(drills.Drills()) }))
		}
		all = append(all, hand.Action{ID: "view", Keys: []ebiten.Key{ebiten.KeyT}, Cap: "cap.t", Label: s.Say("progress.errors"), Do: func() { s.errors = true }})
	}
	all = append(all, []hand.Action{
		{ID: "export", Keys: []ebiten.Key{ebiten.KeyE}, Cap: "cap.e", Label: s.Say("progress.export"), Do: s.Records.Export},
		{ID: "forget", Keys: []ebiten.Key{ebiten.KeyX}, Cap: "cap.x", Label: s.Say("progress.forget"), Do: func() { s.AskFor(widget.NoticeTime, s.Say("progress.forget_ask")) }},
		s.HelpAction(),
		{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("key.home"), Do: s.To.Home},
	}...)
	if s.Asks(s.Say("progress.forget_ask")) { // by another key, and elsewhere for a finger
		all = append(all, hand.Action{ID: "sure", Keys: []ebiten.Key{ebiten.KeyDelete}, Cap: "cap.delete", Label: s.Say("progress.forget_sure"), Do: s.Records.ForgetAll})
	}
	return all
}

func (s *Scene) rigAction() hand.Action {
	return hand.Action{ID: "rig", Keys: []ebiten.Key{ebiten.KeyR}, Cap: "cap.r", Label: s.Say("home.rig"), Do: func() { s.rig = widget.NextChoice(s.rigs(), s.rig, 1) }}
}

// ShowDesk shows the errors at a real desk.
func (s *Scene) ShowDesk() { s.errors, s.desk, s.drill, s.rig = true, true, "", "" }

func (s *Scene) drills() []widget.Choice {
	all := []widget.Choice{{Value: "", Label: s.Say("progress.all_drills")}}
	for _, d := range drills.Drills() {
		if !d.NoError {
			all = append(all, widget.Choice{Value: d.ID, Label: s.DrillName(d.ID)})
		}
	}
	return all
}

func (s *Scene) rigs() []widget.Choice {
	return []widget.Choice{{Value: "", Label: s.Say("progress.all_rigs")}, {Value: "digital", Label: s.Say("rig.digital")}, {Value: "tape", Label: s.Say("rig.tape")}}
}

func (s *Scene) Draw(c *draw.Canvas) {
	s.Records.Wait()
	book := s.Records.Book
	if s.desk {
		book = book.RealDesk()
	}
	shown := book.Summary(progress.Key{Drill: s.drill, Rig: s.rig}, 0)
	rightTitle, rightSub := "", ""
	if a, ok := s.Records.Advice(); ok && book.Len() > 0 {
		rightTitle = s.Say("progress.next", s.DrillName(a.Drill), s.Say("family."+string(a.Family)))
		rightSub = s.ReasonFor(a)
	}
	sub := s.Say("progress.takes", shown.Takes, widget.ChoiceLabel(s.drills(), s.drill), widget.ChoiceLabel(s.rigs(), s.rig))
	more := ""
	switch {
	case s.desk:
		sub = s.Say("desk.takes", shown.Takes, widget.ChoiceLabel(s.rigs(), s.rig))
		rightTitle, rightSub = s.Say("desk.title"), s.Say("desk.apart")
	case !s.errors:
		sub, more = s.Say("progress.all_takes", book.Len()), s.StreakNote(book.Streak(time.Now()))
	case s.drill != "": // errors of unlike drills have no trend together
		more = s.TrendNote(shown)
	}
	if more != "" {
		sub += " · " + more
	}
	top := s.DrawHead(c, s.Say("progress.title"), sub, rightTitle, rightSub)
	s.paged = false
	if !s.errors && book.Len() > 0 {
		s.paged = s.placeSteps(c, book, top, s.BarTop(c, s.Actions())).fit < len(drills.Drills())
	}
	bar := s.DrawBar(c, s.Actions())
	if book.Len() == 0 {
		s.DrawEmpty(c, top, bar, s.Say("progress.empty"))
		return
	}
	if !s.errors {
		s.drawSteps(c, book, s.placeSteps(c, book, top, bar))
		return
	}
	bias := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-14)
	var series draw.Rect
	if c.M.Landscape {
		series, bias = bias.CutRight(bias.W * 0.43)
		_, bias = bias.CutRight(28)
	} else {
		series, bias = bias.CutBottom(math.Min(200, bias.H*0.28))
		_, bias = bias.CutBottom(14)
	}
	s.drawBias(c, book, bias)
	s.drawSeries(c, book, series)
}

// families are those that can be drawn and, where there are takes of them, own
// recordings.
func (s *Scene) families(book *progress.Book) []source.Family {
	all := source.Generated()
	if book.Summary(progress.Key{Drill: s.drill, Rig: s.rig, Family: source.Own}, 0).Takes > 0 {
		all = append(all, source.Own)
	}
	return all
}

// drawBias is a row for each family: mean error, its interval, and the numbers,
// beside the line or, where there is little width, over it.
func (s *Scene) drawBias(c *draw.Canvas, book *progress.Book, r draw.Rect) {
	k, over := c.M.Text, c.M.Finger > 0
	small := draw.Style{Size: 14, Color: c.Theme.Dim}
	y := r.Y
	if !c.M.Landscape {
		y += 20 * k
		c.Fit(r.X, y, r.W, s.Say("progress.where"), draw.Style{Size: 18, Color: c.Theme.Ink})
	}
	nameW, numW := 60+70*k, 130+200*k
	families := s.families(book)
	if over {
		nameW, numW = 12, 12
		rows := float64(len(families))*c.Size(draw.Style{Size: 15}) + 40*k
		legend := c.Block(s.Say("progress.legend"), r.W, small).Cut(math.Max(0, r.Bottom()-y-rows))
		y = c.Print(r.X, y+legend.Lead, legend) - legend.Lead*0.6
	} else {
		c.Fit(r.Right(), y, r.W*0.62, s.Say("progress.legend"), draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Right})
		y += 14 * k
	}
	all := draw.R(r.X, y, r.W, r.Bottom()-y-40*k)
	axis := widget.Errors{Rect: draw.R(r.X+nameW, y, r.W-nameW-numW, all.H), Span: 6}
	if !over { // one through all rows
		c.Fill(axis.Between(-progress.CloseDB, progress.CloseDB), 4, c.Theme.Band)
	}
	for i, row := range all.Rows(len(families), 0) {
		at := axis
		at.Y, at.H = row.Y, row.H
		if over {
			line, _ := row.CutBottom(math.Max(12, row.H-20*k))
			at.Y, at.H = line.Y, line.H-2
		}
		s.drawFamily(c, book, families[i], row, at)
	}
	for d := -axis.Span; d <= axis.Span; d += 2 {
		c.Text(axis.At(d), axis.Bottom()+17*k, s.ShortSigned(d), draw.Style{Size: 14, Color: c.Theme.Dim, Align: draw.Middle})
	}
	c.Text(axis.X-6, axis.Bottom()+35*k, s.Say("progress.cold"), small)
	small.Align = draw.Right
	c.Text(axis.Right()+6, axis.Bottom()+35*k, s.Say("progress.hot"), small)
}

// drawFamily is one of those rows, with the errors at a place.
func (s *Scene) drawFamily(c *draw.Canvas, book *progress.Book, family source.Family, row draw.Rect, at widget.Errors) {
	th, k, over := c.Theme, c.M.Text, c.M.Finger > 0
	name, numbers := draw.Style{Size: 19, Color: th.Ink}, draw.Style{Size: 15, Color: th.Dim, Align: draw.Right}
	word := s.Say("family." + string(family))
	nameW, base, room := at.X-row.X-8, row.Y+row.H/2+6*k, row.Right()-at.Right()-20
	if over {
		name.Size, numbers.Size = 15, 14
		nameW, base = c.Width(word, name), row.Y+15*k
		room = row.W - nameW - 16
	}
	if over {
		c.Fill(at.Between(-progress.CloseDB, progress.CloseDB), 4, th.Band)
	}
	for d := -at.Span; d <= at.Span; d += 2 {
		c.Line(at.At(d), at.Y, at.At(d), at.Bottom(), 1, th.Faint)
	}
	c.Fit(row.X, base, nameW, word, name)
	sum := book.Summary(progress.Key{Drill: s.drill, Rig: s.rig, Family: family}, 0)
	note := s.BiasNote(sum)
	if s.drill != "" {
		m := book.Mastery(progress.Key{Drill: s.drill, Family: family}, time.Now())
		for _, db := range m.Errors { // each take from the first on
			c.Disc(at.At(db), at.Y+at.H/2, math.Min(3, at.H*0.15), th.Faint)
		}
		if m.Takes > 0 {
			note = s.StepNote(m) + "; " + note
		}
	}
	drawMean(c, sum, at)
	c.Fit(row.Right(), base, room, note, numbers)
}

// drawMean draws a mean error and its interval, if there are takes enough.
func drawMean(c *draw.Canvas, sum progress.Summary, at widget.Errors) {
	b := sum.BiasDB
	if !b.OK {
		return
	}
	tone := c.Theme.Ink
	switch {
	case math.Abs(b.Value) > progress.CloseDB && b.Excludes(0):
		tone = c.Theme.Brick
	case b.Lo > -progress.CloseDB && b.Hi < progress.CloseDB:
		tone = c.Theme.Teal
	}
	x, y, r := at.At(b.Value), at.Y+at.H/2, math.Min(9, at.H*0.45)
	c.Line(at.At(b.Lo), y, at.At(b.Hi), y, 4, tone)
	if math.Abs(b.Value) > at.Span { // it lies further out
		tip := math.Copysign(1.6*r, b.Value)
		c.Wedge(x, y-r, x, y+r, x+tip, y, tone)
		return
	}
	c.Disc(x, y, r, tone)
}

// drawSeries is the share inside the window, some takes at a time.
func (s *Scene) drawSeries(c *draw.Canvas, book *progress.Book, r draw.Rect) {
	th := c.Theme
	c.Fill(r, 10, th.Panel)
	groups := book.Series(progress.Key{Drill: s.drill, Rig: s.rig}, 40)
	st := draw.Style{Size: 15, Color: th.Dim}
	per := progress.MinTakes
	if len(groups) > 0 {
		per = groups[0].Takes
	}
	c.Fit(r.X+16, r.Y+8+18*c.M.Text, r.W-32, s.Say("progress.share", per), st)
	in := draw.R(r.X+24, r.Y+24+20*c.M.Text, r.W-48-60*c.M.Text, r.H-44-20*c.M.Text)
	y := func(v float64) float64 { return in.Bottom() - in.H*v }
	if len(groups) == 0 {
		c.Text(r.X+r.W/2, r.Y+r.H/2+8, s.Say("progress.no_series", progress.MinTakes), draw.Style{Size: 16, Color: th.Dim, Align: draw.Middle})
		return
	}
	share := draw.Style{Size: 13, Color: th.Dim}
	shares := []float64{0.25, 0.5, 0.75, 1}
	if in.H/4 < c.Lead(share) {
		shares = []float64{0.5, 1}
	}
	for _, v := range shares {
		c.Rule(in.X, in.Right(), y(v), 1, th.Faint)
		c.Text(in.Right()+10, y(v)+5*c.M.Text, s.Say("unit.percent", int(v*100)), share)
	}
	step := in.W / math.Max(1, float64(len(groups)-1))
	var pts []draw.Point
	for i, gr := range groups {
		x := in.X + step*float64(i)
		if len(groups) == 1 {
			x = in.X + in.W/2
		}
		c.Line(x, y(gr.InWindow.Lo), x, y(gr.InWindow.Hi), 1.5, th.Faint)
		pts = append(pts, draw.P(x, y(gr.InWindow.Value)))
	}
	c.Path(pts, 3.5, th.Ink)
	for _, p := range pts {
		c.Disc(p.X, p.Y, 5, th.Ink)
	}
}
