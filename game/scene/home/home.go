// Package home is the first screen.
package home

import (
	"cmp"
	"image/color"
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
	To      homeGuide
	Session *practice.Session
	Prefs   *store.Keeper
	Silent  func() bool // there is no sound
	leaves  time.Time   // until when a second escape quits
	open    string      // the choice that is unfolded; empty: none
}

// homeGuide is where the first screen leads to.
type homeGuide interface {
	scene.Guide
	Start()
	Progress()
	Settings()
	Recordings()
	Class()
	PlaySeries()
	ForClass()
	TestForm()
	EndPractice()
	Listen()
	Quit()
}

// quitTime is how long the question whether to quit stands.
const quitTime = 3 * time.Second

// quit asks whether to quit, and quits when it is asked for again.
func (s *Scene) quit() {
	if time.Now().Before(s.leaves) {
		s.To.Quit()
		return
	}
	s.leaves = time.Now().Add(quitTime)
	s.AskFor(quitTime, s.Say("home.quit_ask"))
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
	acts = append(acts, s.HelpAction(s.To))
	if !page.Browser {
		acts = append(acts, hand.Action{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("home.quit"), Do: s.quit})
	}
	return acts
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	k := c.M.Text
	if c.M.Phone {
		s.drawPhone(c, bar)
		return
	}
	r := draw.R(draw.Margin, 24, c.M.W-2*draw.Margin, bar-36)
	comes, parts := s.parts()
	wide := r.W >= 900*k && !c.M.Portrait && len(parts) > 0
	if wide { // what comes stands beside it
		var side draw.Rect
		side, r = r.CutRight(r.W * 0.45)
		s.drawPlan(c, side, comes, parts)
		_, r = r.CutRight(40)
	}
	title := draw.Style{Size: 48 / math.Sqrt(k), Color: c.Theme.Ink, Bold: true, Said: draw.Heading}
	about := draw.Block{}
	if s.Session.Records.Book.Len() == 0 {
		about = c.Block(s.Say("home.job"), math.Min(r.W, 900*k), draw.Style{Size: 17 / math.Sqrt(k), Color: c.Theme.Dim})
	}
	due := s.due(c, r.W)
	folds := s.folds()
	foldsHigh := chipsHigh(c, folds, r.W)
	under := s.under(c, r.W, !wide)
	free := func() float64 {
		return r.H - c.Lead(title) - about.Height() - due.high() - foldsHigh - under.high - 60
	}
	if free() < 0 {
		about.Lines = nil // what it is about gives way to what there is to do
	}
	if free() < 0 {
		under = below{}
	}
	gap := math.Max(0, math.Min(84, free()/4))

	y := r.Y + c.Size(title)
	c.Text(r.X, y, "slowneedle", title)
	if len(about.Lines) > 0 {
		y = c.Print(r.X, y+10+about.Lead, about) - about.Lead
	}
	y += 14 + gap
	y = s.drawDue(c, due, r.X, y) + 16 + gap
	y = s.Chips(c, "fold", r.X, y, r.W, folds, s.open, s.unfold) + 16 + gap
	if under.draw != nil {
		under.draw(y)
	}
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

// below is what stands at the foot of the screen: how high it is, and how it is
// drawn from a height down.
type below struct {
	high float64
	draw func(y float64)
}

// under is what there is to choose or, unless that stands elsewhere, how the last
// practice went.
func (s *Scene) under(c *draw.Canvas, w float64, lastToo bool) below {
	for _, p := range s.picks() {
		if p.id != s.open {
			continue
		}
		line := draw.Block{}
		if p.id == "rig" {
			line = c.Block(s.rigSentence(), w, draw.Style{Size: 15, Color: c.Theme.Dim})
		}
		return below{chipsHigh(c, p.all, w) + line.Height() + 8, func(y float64) {
			y = s.Chips(c, p.id, draw.Margin, y, w, p.all, p.chosen, func(v string) { p.choose(v); s.open = "" })
			c.Print(draw.Margin, y+4+line.Lead, line)
		}}
	}
	if text := s.unfinished(); text != "" {
		line, st := c.Block(text, w, draw.Style{Size: 18, Color: c.Theme.Ink}), draw.Style{Size: 18, Bold: true}
		button := math.Max(44*c.M.Text, c.M.Finger)
		return below{line.Height() + button + 24, func(y float64) {
			y = c.Print(draw.Margin, y+line.Lead, line) - line.Lead + 14
			s.Button(c, "series", draw.R(draw.Margin, y, c.Width(s.Say("class.go_on_big"), st)+70, button), s.Say("class.go_on_big"), 18, false, s.To.PlaySeries)
		}}
	}
	last := s.Session.Records.Last()
	if len(last.Done) > 0 && lastToo {
		high := 70 + 64*c.M.Text
		return below{high, func(y float64) { s.drawLast(c, draw.R(draw.Margin, y, w, high), last) }}
	}
	drop := c.Block(s.Say("home.drop"), w, draw.Style{Size: 15, Color: c.Theme.Dim})
	return below{drop.Height() + 8, func(y float64) {
		if s.Notice == "" { // it may stand there
			c.Print(draw.Margin, y+drop.Lead, drop)
		}
	}}
}

// unfinished tells of rounds of a class that were begun here and are left to be
// played; empty if there are none.
func (s *Scene) unfinished() string {
	n := s.Session.Series
	if n == nil || n.Over() || len(n.Hand.Takes) == 0 {
		return ""
	}
	return s.Say("class.unfinished", cmp.Or(n.Title, s.Say("class.key")), n.Hand.Who, len(n.Hand.Takes), n.Hand.Sheet.Rounds)
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
	widget.DrawRounds(c, plot, last)
}

// due is what the big button starts, in lines, and the button itself.
type due struct {
	label         string
	what, why     draw.Block
	button, how   string
	tint          color.NRGBA // of how
	proposes      bool        // the label asks for a test form
	buttonH, wide float64
}

func (d due) high() float64 { return 36 + d.what.Height() + d.why.Height() + d.buttonH }

// due makes them for a width.
func (s *Scene) due(c *draw.Canvas, w float64) due {
	k, most := c.M.Text, 1
	if c.M.Portrait {
		most = 2
	}
	label, what, why, how := s.startWords()
	form := s.formWords()
	d := due{label: cmp.Or(form, label), proposes: form != "", button: s.Say("home.start_big"), how: how, tint: c.Theme.Dim, buttonH: math.Max(60*k, c.M.Finger), wide: w}
	if c.M.Phone {
		d.buttonH = c.M.Finger * 1.2
	}
	if s.Silent() {
		d.how, d.tint = s.Say("sound.none"), c.Theme.Warn
	}
	d.what = c.Shrink(what, w, draw.Style{Size: 42 / math.Sqrt(k), Color: c.Theme.Ink, Bold: true}, 18, func(b draw.Block) bool { return len(b.Lines) <= most })
	d.why = c.Block(why, w, draw.Style{Size: 18 / math.Sqrt(k), Color: c.Theme.Dim})
	if why == "" {
		d.why.Lines = nil
	}
	return d
}

// drawDue writes what is due and why, and the button under it, and returns the y
// below.
func (s *Scene) drawDue(c *draw.Canvas, d due, x, y float64) float64 {
	small := draw.Style{Size: 14, Color: c.Theme.Dim}
	if d.proposes {
		small.Color = c.Theme.Teal
	}
	if d.label != "" {
		y += c.Size(small)
		c.Fit(x, y, d.wide, d.label, small)
	}
	y = c.Print(x, y+d.what.Lead*0.85, d.what) - d.what.Lead*0.85
	y += d.why.Lead * 0.9
	y = c.Print(x, y, d.why) - d.why.Lead*0.6 + 14
	st := draw.Style{Size: 24, Bold: true}
	b := draw.R(x, y, math.Min(d.wide, c.Width(d.button, st)+100), d.buttonH)
	s.Button(c, "start", b, d.button, 24, true, s.To.Start)
	if left := d.wide - b.W - 22; left > 90*c.M.Text {
		c.FitLines(b.Right()+22, b.Y+b.H/2, left, d.how, draw.Style{Size: 16, Color: d.tint})
	}
	return b.Bottom()
}

// startWords tell what the big button starts, why where advice chose it, and how
// long it takes.
func (s *Scene) startWords() (label, what, why, how string) {
	r := s.Session.Records
	switch a, ok := r.Advice(s.Prefs.Drill, s.Prefs.Family); {
	case s.Prefs.Family == source.Own:
		drill, ok := drills.DrillByID(s.Prefs.Drill)
		if !ok || !drill.OnRecordings() {
			drill.ID = drills.Standard
		}
		what = s.DrillName(drill.ID) + " · " + s.Say("family.own")
		label, how = s.Say("home.chosen"), s.Say("home.endless")
	case ok:
		p := r.Due(s.Prefs.Drill, s.Prefs.Family)
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

// chooseFamily chooses what is practised on; where there are no recordings yet, it goes to
// their screen.
func (s *Scene) chooseFamily(v string) {
	f := source.Family(v)
	if f == source.Own && len(s.Session.Own.List) == 0 {
		s.To.Recordings()
		return
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

// drawPhone is the first screen on a phone: what is due, a row for each choice
// and, where there is room, how the last practice went.
func (s *Scene) drawPhone(c *draw.Canvas, bar float64) {
	point := c.M.Finger / draw.FingerPoints
	r := draw.R(draw.Margin, 10*point, c.M.W-2*draw.Margin, bar-14*point)
	title := draw.Style{Size: 34 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Said: draw.Heading}
	rows := math.Min(c.M.Finger*1.35, r.H*0.14) * float64(len(s.picks()))
	if c.M.Landscape {
		side, left := r.CutRight(r.W * 0.46)
		d := s.due(c, left.W-32)
		y := left.Y
		if room := left.H - d.high() - c.Lead(title); room > 0 {
			c.Text(left.X, y+c.Size(title), "slowneedle", title)
			y += c.Lead(title) + math.Min(30*point, room/2)
		} else {
			d.cut(left.H)
		}
		s.drawDue(c, d, left.X, y)
		s.drawPicks(c, side)
		return
	}
	c.Text(r.X, r.Y+c.Size(title), "slowneedle", title)
	_, r = r.CutTop(c.Lead(title))
	if about := c.Block(s.Say("home.job"), r.W, draw.Style{Size: 16 / math.Sqrt(c.M.Text), Color: c.Theme.Dim}); s.Session.Records.Book.Len() == 0 {
		if d := s.due(c, r.W); r.H-rows-d.high()-40*point > about.Height() {
			y := c.Print(r.X, r.Y+about.Lead, about)
			_, r = r.CutTop(y - about.Lead*0.5 - r.Y)
		}
	}
	if text := s.unfinished(); text != "" {
		line := c.Block(text, r.W-150*c.M.Text, draw.Style{Size: 16, Color: c.Theme.Ink})
		strip, rest := r.CutTop(math.Max(c.M.Finger*1.1, line.Height()+8))
		c.Middle(strip.X, strip.Y+strip.H/2, line)
		s.Button(c, "series", draw.R(strip.Right()-140*c.M.Text, strip.Y+(strip.H-c.M.Finger)/2, 140*c.M.Text, c.M.Finger), s.Say("class.go_on_big"), 18, false, s.To.PlaySeries)
		r = rest
	}
	d := s.due(c, r.W)
	d.cut(r.H - rows - 8*point)
	_, r = r.CutTop(s.drawDue(c, d, r.X, r.Y+4) + 8*point - r.Y)
	last, high := s.Session.Records.Last(), 60+50*c.M.Text
	if free := r.H - rows; len(last.Done) > 0 && free > high+16*point {
		foot, _ := r.CutBottom(math.Min(free-16*point, 1.6*high))
		s.drawLast(c, foot, last)
		r.H -= foot.H + 12*point
	}
	r, _ = r.CutTop(math.Max(rows, math.Min(r.H, rows*1.3)))
	s.drawPicks(c, r)
}

// cut leaves out what has no room in a height.
func (d *due) cut(high float64) {
	if d.high() > high {
		d.label = ""
	}
	if over := d.high() - 26 - high; over > 0 {
		d.why = d.why.Cut(math.Max(0, d.why.Height()-over))
	}
	if over := d.high() - 26 - high; over > 0 {
		d.what = d.what.Cut(math.Max(d.what.Lead, d.what.Height()-over))
	}
}

// chipsHigh is the height that chips need in a width.
func chipsHigh(c *draw.Canvas, all []widget.Choice, wide float64) float64 {
	rows, x := 1, 0.0
	for _, ch := range all {
		w := widget.ChipWidth(c, ch)
		if x > 0 && x+w > wide {
			rows, x = rows+1, 0
		}
		x += w + 10
	}
	return (math.Max(34*c.M.Text, c.M.Finger)+10)*float64(rows) - 10
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
		s.DrawRow(c, widget.ListRow{Name: p.id, Label: p.title, Value: now}, false, at, wide, func(by int) { p.choose(widget.NextChoice(p.all, p.chosen, by)) })
	}
}
