// Package home is the first screen.
package home

import (
	"cmp"
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/plan"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Scene is where everything starts: one key begins a round.
type Scene struct {
	scene.Base
	scene.Nothing
	Session *practice.Session
	Prefs   *store.Keeper
	Silent  func() bool // there is no sound
	open    string      // the choice that is unfolded; empty: none
}

// quitTime is how long the question whether to quit stands.
const quitTime = 3 * time.Second

// quit asks whether to quit, and quits when it is asked for again.
func (s *Scene) quit() {
	ask := s.Say("home.quit_ask")
	if s.Asks(ask) {
		s.To.Quit()
		return
	}
	s.AskFor(quitTime, ask)
}

func (s *Scene) Name() string { return "home" }

func (s *Scene) Actions() []hand.Action {
	acts := []hand.Action{
		{ID: "enter", KeysOnly: true, Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("home.start"), Do: s.To.Start},
	}
	for _, p := range s.picks() {
		acts = append(acts, hand.Action{ID: p.id, KeysOnly: true, Keys: []ebiten.Key{p.key}, Cap: p.cap, Label: s.Say("home." + p.id), Do: func() { p.choose(widget.NextChoice(p.all, p.chosen, 1)) }})
	}
	if s.Prefs.Family == source.Own {
		acts = append(acts, hand.Action{ID: "own", Keys: []ebiten.Key{ebiten.KeyA}, Cap: "cap.a", Label: s.Say("own.key"), Do: s.To.Recordings})
	}
	if r := s.Session.Records; r.Under() && len(r.Last().Done) > 0 {
		acts = append(acts, hand.Action{ID: "end", Keys: []ebiten.Key{ebiten.KeyE}, Cap: "cap.e", Label: s.Say("verdict.end"), Do: s.To.EndPractice})
	}
	acts = append(acts, []hand.Action{
		{ID: "progress", Keys: []ebiten.Key{ebiten.KeyP}, Cap: "cap.p", Label: s.Say("home.progress"), Do: s.To.Progress},
		{ID: "settings", Keys: []ebiten.Key{ebiten.KeyS}, Cap: "cap.s", Label: s.Say("home.settings"), Do: s.To.Settings},
		{ID: "class", Keys: []ebiten.Key{ebiten.KeyC}, Cap: "cap.c", Label: s.Say("class.key"), Do: s.To.Class},
		{ID: "demonstration", Keys: []ebiten.Key{ebiten.KeyO}, Cap: "cap.o", Label: s.Say("class.demonstration_key"), Do: s.To.ForClass},
		{ID: "test", Keys: []ebiten.Key{ebiten.KeyT}, Cap: "cap.t", Label: s.Say("form.key"), Do: s.To.TestForm},
	}...)
	if s.Prefs.Input != "" {
		acts = append(acts, hand.Action{ID: "listen", Keys: []ebiten.Key{ebiten.KeyL}, Cap: "cap.l", Label: s.Say("live.input"), Do: s.To.Listen})
	}
	acts = append(acts, s.HelpAction())
	if !page.Browser {
		acts = append(acts, hand.Action{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("home.quit"), Do: s.quit})
	}
	return acts
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	r, most, k := draw.R(draw.Margin, 24, c.M.W-2*draw.Margin, bar-36), 84.0, math.Sqrt(c.M.Text)
	name := draw.Style{Size: 48 / k, Color: c.Theme.Ink, Bold: true, Said: draw.Heading}
	about := draw.Style{Size: 17 / k, Color: c.Theme.Dim}
	if c.M.Phone {
		point := c.M.Finger / draw.FingerPoints
		r, most = draw.R(draw.Margin, 10*point, r.W, bar-20*point), 40*point
		name.Size, about.Size = 34/k, 16/k
	}
	if c.M.Landscape {
		side, left := r.CutRight(r.W * 0.46)
		s.drawPicks(c, side)
		r = left
		r.W -= 32
	}
	if c.M.Phone && !c.M.Landscape { // at the bottom, where they stay under the finger while what stands above changes
		var below draw.Rect
		below, r = r.CutBottom(math.Min(c.M.Finger*1.35, r.H*0.14) * float64(len(s.picks())))
		defer s.drawPicks(c, below) // what stands above comes first for the tab key
	}
	beside := !c.M.Phone && !c.M.Portrait && r.W >= 900*c.M.Text
	if beside {
		var side draw.Rect
		side, r = r.CutRight(r.W * 0.45)
		c.Fill(side, 12, c.Theme.Panel)
		side = side.Inset(24, 14)
		draw.Stack(side, 60, s.plan(c, side.W))
		r.W -= 40
	}
	title := c.TextPart(c.Block("slowneedle", r.W, name), 0, 1)
	if c.M.Landscape {
		title.Drop = 5
	}
	parts := []draw.Part{title}
	if s.Session.Records.Book.Len() == 0 && !c.M.Landscape {
		parts = append(parts, c.TextPart(c.Block(s.Say("home.job"), math.Min(r.W, 900*c.M.Text), about), 2, 6))
	}
	if c.M.Phone {
		parts = append(parts, s.unfinished(c, r.W)...)
	}
	parts = append(parts, s.due(c, r.W)...)
	switch {
	case c.M.Phone:
		parts = append(parts, s.last(c, 6)...)
	default:
		folds := s.folds()
		parts = append(parts, draw.Part{High: widget.ChipsHigh(c, folds, r.W), Above: 30, Loose: true, Draw: func(r draw.Rect) {
			s.Chips(c, "fold", r.X, r.Y, r.W, folds, s.open, s.unfold)
		}})
		parts = append(parts, s.under(c, r.W, beside)...)
	}
	draw.Stack(r, most, parts)
}

// folds are the choices, each with what is chosen, behind which the others are.
func (s *Scene) folds() (all []widget.Choice) {
	for _, p := range s.picks() {
		all = append(all, widget.Choice{Value: p.id, Label: p.title + ": " + widget.ChoiceLabel(p.all, p.chosen)})
	}
	return all
}

// unfold shows what there is to choose, or hides it again.
func (s *Scene) unfold(id string) {
	if s.open == id {
		id = ""
	}
	s.open = id
}

// under is what stands at the foot of the screen: what there is to choose, or what was
// begun, or how the last practice went unless that stands beside it.
func (s *Scene) under(c *draw.Canvas, w float64, beside bool) []draw.Part {
	small := draw.Style{Size: 15, Color: c.Theme.Dim}
	for _, p := range s.picks() {
		if p.id != s.open {
			continue
		}
		parts := []draw.Part{{High: widget.ChipsHigh(c, p.all, w), Above: 16, Draw: func(r draw.Rect) {
			s.Chips(c, p.id, r.X, r.Y, r.W, p.all, p.chosen, func(v string) { p.choose(v); s.open = "" })
		}}}
		if p.id == "rig" {
			parts = append(parts, c.TextPart(c.Block(s.rigSentence(), w, small), 8, 5))
		}
		return parts
	}
	if parts := s.unfinished(c, w); parts != nil {
		return parts
	}
	if parts := s.last(c, 4); parts != nil && !beside {
		return parts
	}
	drop := c.TextPart(c.Block(s.Say("home.drop"), w, small), 16, 5)
	drop.Loose = true
	if s.Notice != "" { // it may stand there
		drop.Draw = func(draw.Rect) {}
	}
	return []draw.Part{drop}
}

// unfinished tells of rounds of a class that were begun here and are left to be
// played, with a button that leads to them; nil if there are none.
func (s *Scene) unfinished(c *draw.Canvas, w float64) []draw.Part {
	n := s.Session.Series
	if n == nil || n.Over() || len(n.Hand.Takes) == 0 && !n.Exam() { // an exam's round is open from the first on
		return nil
	}
	on, h := s.Say("class.go_on_big"), math.Max(44*c.M.Text, c.M.Finger)
	wide := c.Width(on, draw.Style{Size: 18}) + 70
	text := s.Say("class.unfinished", cmp.Or(n.Title, s.Say("class.yours")), n.Hand.Who, len(n.Hand.Takes), n.Hand.Sheet.Rounds)
	line := c.Block(text, w-wide-24, draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: c.Theme.Ink})
	return []draw.Part{{High: math.Max(h, line.Height()), Above: 16, Loose: true, Drop: 4, Draw: func(r draw.Rect) {
		c.Middle(r.X, r.Y+r.H/2, line)
		s.Button(c, "series", draw.R(r.Right()-wide, r.Y+(r.H-h)/2, wide, h), on, 18, false, s.To.PlaySeries)
	}}}
}

// last is how the last practice went, or goes; nil if there is none.
func (s *Scene) last(c *draw.Canvas, drop int) []draw.Part {
	if last := s.Session.Records.Last(); len(last.Done) > 0 {
		return []draw.Part{{High: 66 + 60*c.M.Text, Above: 16, Loose: true, Drop: drop, Draw: func(r draw.Rect) { s.drawLast(c, r, last) }}}
	}
	return nil
}

// drawLast is how the last practice went, or goes: a mark a round.
func (s *Scene) drawLast(c *draw.Canvas, r draw.Rect, last plan.Practice) {
	right, told := 0, 0
	for i, done := range last.Done {
		if last.Told(i) {
			told++
			if done.Right {
				right++
			}
		}
	}
	c.Fill(r, 10, c.Theme.Panel)
	in := r.Inset(16, 8)
	said := draw.Style{Size: 15, Color: c.Theme.Ink}
	head, plot := in.CutTop(c.Lead(said))
	text := s.Say("home.last_today", right, len(last.Done))
	y1, m1, d1 := last.Began.Date()
	y2, m2, d2 := time.Now().Date()
	days := time.Date(y2, m2, d2, 12, 0, 0, 0, time.UTC).Sub(time.Date(y1, m1, d1, 12, 0, 0, 0, time.UTC)).Hours() / 24
	switch {
	case len(last.Ahead) > 0 && told == 0:
		text = s.Say("home.played", len(last.Done))
	case len(last.Ahead) > 0:
		text = s.Say("home.so_far", right, told)
	case days >= 1:
		text = s.Say("home.last_days", int(days), right, len(last.Done))
	}
	c.Fit(head.X, head.Y+c.Size(said), head.W, text, said)
	_, plot = plot.CutTop(8)
	widget.DrawRounds(c, plot, last)
}

// due is what the big button starts and why, and the button itself with how long it
// takes beside it.
func (s *Scene) due(c *draw.Canvas, w float64) []draw.Part {
	k, lines := math.Sqrt(c.M.Text), 1
	if c.M.Portrait {
		lines = 2
	}
	label, what, why, how := s.startWords()
	small, note := draw.Style{Size: 14, Color: c.Theme.Dim}, draw.Style{Size: 16, Color: c.Theme.Dim}
	if form := s.formWords(); form != "" {
		label, small.Color = form, c.Theme.Teal
	}
	if s.Silent() {
		how, note.Color = s.Say("sound.none"), c.Theme.Warn
	}
	head := c.Shrink(what, w, draw.Style{Size: 42 / k, Color: c.Theme.Ink, Bold: true}, 18, func(b draw.Block) bool { return len(b.Lines) <= lines })
	var parts []draw.Part
	if label != "" {
		parts = append(parts, draw.Part{High: c.Lead(small), Above: 14, Loose: true, Drop: 2, Draw: func(r draw.Rect) {
			c.Fit(r.X, r.Y+c.Size(small), r.W, label, small)
		}})
	}
	parts = append(parts, c.TextPart(head, 2, 0))
	if why != "" {
		parts = append(parts, c.TextPart(c.Block(why, w, draw.Style{Size: 18 / k, Color: c.Theme.Dim}), 2, 3))
	}
	return append(parts, draw.Part{High: math.Max(60*c.M.Text, c.M.Finger*1.2), Above: 12, Draw: func(r draw.Rect) {
		s.BigButton(c, r, "start", s.Say("home.start_big"), s.To.Start, how, note)
	}})
}

// startWords tell what the big button starts, why where advice chose it, and how
// long it takes.
func (s *Scene) startWords() (label, what, why, how string) {
	r := s.Session.Records
	switch a, ok := r.Advice(); {
	case s.Prefs.Family == source.Own:
		drill, ok := drills.DrillByID(s.Prefs.Drill)
		if !ok || !drill.OnRecordings() {
			drill.ID = drills.Standard
		}
		what = s.DrillName(drill.ID) + " · " + s.Say("family.own")
		label, how = s.Say("home.chosen"), s.Say("home.endless")
	case ok:
		p := r.Due()
		what, why = s.DrillName(a.Drill)+" · "+s.Say("family."+string(a.Family)), s.ReasonFor(a)
		label, how = s.Say("home.due"), s.Say("home.rounds", len(p.Ahead), s.Prefs.PracticeLength()*2/3)
		if s.Prefs.Drill != "" {
			label = s.Say("home.chosen")
		}
		if len(p.Done) > 0 {
			label, how = s.Say("home.under_way"), s.Say("home.left", len(p.Ahead))
		}
	}
	return label, what, why, how
}

// formWords propose the test form that is under way or due; empty if none is.
func (s *Scene) formWords() string {
	f := s.Session.TestForms()
	switch {
	case f.Done > 0:
		return s.Say("home.form_left", string(f.Next.Form), f.Done, f.Next.Rounds)
	case f.Due:
		return s.Say("home.form_due", string(f.Next.Form))
	}
	return ""
}

// picks are what can be chosen on the first screen.
func (s *Scene) picks() []pick {
	set := func(do func(p *store.Settings, v string)) func(string) {
		return func(v string) { s.Prefs.Change(func(p *store.Settings) { do(p, v) }) }
	}
	return []pick{
		{"drill", ebiten.KeyD, "cap.d", s.Say("home.drill_title"), s.drills(), s.Prefs.Drill, set(func(p *store.Settings, v string) { p.Drill = v })},
		{"family", ebiten.KeyF, "cap.f", s.Say("home.family_title"), s.families(), string(s.Prefs.Family), s.chooseFamily},
		{"rig", ebiten.KeyR, "cap.r", s.Say("home.rig_title"), s.rigs(), s.Prefs.RigChoice, set(func(p *store.Settings, v string) { p.RigChoice = v })},
	}
}

// chooseFamily chooses what is practised on. Where there are no recordings yet, it goes to
// their screen and leaves all families chosen, from which the key goes on.
func (s *Scene) chooseFamily(v string) {
	f := source.Family(v)
	if f == source.Own && len(s.Session.Own.List) == 0 {
		s.To.Recordings()
		f = ""
	}
	s.Prefs.Change(func(p *store.Settings) { p.Family = f })
}

// pick is one choice of the first screen: its key, its name, and its values.
type pick struct {
	id         string
	key        ebiten.Key
	cap, title string
	all        []widget.Choice
	chosen     string
	choose     func(v string)
}

// families are the kinds of source one can ask for; the empty one is drawn.
func (s *Scene) families() []widget.Choice {
	all := []widget.Choice{{Value: "", Label: s.Say("family.any")}}
	for _, f := range source.Generated() {
		all = append(all, widget.Choice{Value: string(f), Label: s.Say("family." + string(f))})
	}
	return append(all, widget.Choice{Value: string(source.Own), Label: s.Say("family.own")})
}

func (s *Scene) rigs() []widget.Choice {
	var all []widget.Choice
	for _, r := range store.RigChoices {
		all = append(all, widget.Choice{Value: r, Label: s.Say("rig." + r)})
	}
	return all
}

// drills are what can be practised; the empty one is what the learner needs
// most.
func (s *Scene) drills() []widget.Choice {
	all := []widget.Choice{{Value: "", Label: s.Say("home.need")}}
	for _, d := range drills.Drills() {
		all = append(all, widget.Choice{Value: d.ID, Label: s.DrillName(d.ID)})
	}
	return all
}

// rigSentence describes what the chosen rig is.
func (s *Scene) rigSentence() string {
	if rig := s.Prefs.ChosenRig(); rig != nil {
		return s.RigLine(*rig)
	}
	return s.Say("rig.drawn_line")
}

// drawPicks is a row for each choice, with arrows.
func (s *Scene) drawPicks(c *draw.Canvas, r draw.Rect) {
	picks := s.picks()
	row := math.Min(c.M.Finger*1.7, r.H/float64(len(picks)))
	room := 0.0
	for _, p := range picks {
		for _, ch := range p.all {
			room = math.Max(room, widget.ValueWidth(c, ch.Label, row))
		}
	}
	for i, p := range picks {
		at := draw.R(r.X, r.Y+row*float64(i), r.W, row)
		now := widget.ChoiceLabel(p.all, p.chosen)
		wide := math.Max(math.Min(room, r.W*0.74), widget.ValueWidth(c, now, row))
		s.DrawRow(c, widget.ListRow{Name: p.id, Label: p.title, Value: now, Step: func(by int) { p.choose(widget.NextChoice(p.all, p.chosen, by)) }}, false, at, wide)
	}
}
