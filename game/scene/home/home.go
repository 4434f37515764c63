// Package home is the first screen.
package home

import (
	"image/color"
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
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
}

// homeGuide is where the first screen leads to.
type homeGuide interface {
	scene.Guide
	Start()
	Progress()
	Settings()
	Class()
	ForClass()
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
	s.TellFor(quitTime, s.Say("home.quit_ask"))
}

func (s *Scene) Name() string { return "home" }

func (s *Scene) Actions() []hand.Action {
	acts := []hand.Action{
		{ID: "enter", KeysOnly: true, Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("home.start"), Do: s.To.Start},
	}
	for _, p := range s.picks() {
		acts = append(acts, hand.Action{ID: p.id, KeysOnly: true, Keys: []ebiten.Key{p.key}, Cap: p.cap, Label: s.Say("home." + p.id), Do: func() { p.choose(widget.NextChoice(p.all, p.chosen, 1)) }})
	}
	acts = append(acts, []hand.Action{
		{ID: "progress", Keys: []ebiten.Key{ebiten.KeyP}, Cap: "cap.p", Label: s.Say("home.progress"), Do: s.To.Progress},
		{ID: "settings", Keys: []ebiten.Key{ebiten.KeyS}, Cap: "cap.s", Label: s.Say("home.settings"), Do: s.To.Settings},
		{ID: "class", Keys: []ebiten.Key{ebiten.KeyC}, Cap: "cap.c", Label: s.Say("class.key"), Do: s.To.Class},
		{ID: "room", Keys: []ebiten.Key{ebiten.KeyO}, Cap: "cap.o", Label: s.Say("class.room_key"), Do: s.To.ForClass},
		s.HelpAction(s.To),
	}...)
	if !page.Browser {
		acts = append(acts, hand.Action{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("home.quit"), Do: s.quit})
	}
	return acts
}

func (s *Scene) Draw(c *draw.Canvas) {
	th := c.Theme
	bar := s.DrawBar(c, s.Actions())
	if c.M.Phone {
		s.drawPhone(c, bar)
		return
	}
	col := math.Min(c.M.W-2*draw.Margin, 1180)
	y := 34 + 56*math.Sqrt(c.M.Text)
	c.Text(draw.Margin, y, "slowneedle", draw.Style{Size: 52 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true})
	sub := draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: th.Dim}
	if y += 40 * c.M.Text; s.Screen.Notice != "" && c.M.Text > 1.2 {
		y -= 24 * c.M.Text // what it is about gives way to what there is to tell
	} else if s.Session.Records.Book.Len() == 0 {
		y = c.Para(draw.Margin, y, col*math.Min(1, 0.74*c.M.Text), s.Say("home.job"), sub)
	} else {
		y = c.Para(draw.Margin, y, col, s.Say("home.takes", s.Session.Records.Book.Len()), sub)
	}

	lab := draw.Style{Size: 15, Color: th.Dim}
	names := 0.0 // width of the column with the names of the groups
	for _, p := range s.picks() {
		names = math.Max(names, c.Width(p.title, lab)+24)
	}
	for _, p := range s.picks() {
		c.Text(draw.Margin, y+22*c.M.Text, p.title, lab)
		y = s.Chips(c, p.id, draw.Margin+names, y, c.M.W-2*draw.Margin-names, p.all, p.chosen, p.choose) + 16 + 6*c.M.Text
	}
	if bar-y > 230*c.M.Text {
		y = c.Para(draw.Margin+names, y+8, c.M.W-2*draw.Margin-names, s.rigSentence(), draw.Style{Size: 15 / math.Sqrt(c.M.Text), Color: th.Dim})
	}
	s.drawStart(c, draw.R(draw.Margin, y, c.M.W-2*draw.Margin, bar-y))
}

// drawStart is the foot of the page: the resting needle under its arc, and the
// one big button.
func (s *Scene) drawStart(c *draw.Canvas, r draw.Rect) {
	th := c.Theme
	bw := c.Width(s.Say("home.start_big"), draw.Style{Size: 24, Bold: true}) + 72
	bh := 64 * c.M.Text
	small := draw.Style{Size: 14, Color: th.Dim}
	foot := 28 + 22*c.M.Text
	if r.H < 200*c.M.Text || c.M.Portrait {
		foot = 20 // no room for the hint, or nothing to be dropped
	}
	by := r.Bottom() - bh - foot
	busy := draw.Margin + bw
	lines := s.startLines(c, r.W-bw-24)
	y := by + bh/2 + (6-12*float64(len(lines)-1))*c.M.Text // all of them on the button's middle
	for _, l := range lines {
		c.Text(draw.Margin+bw+24, y, l.text, l.st)
		busy = math.Max(busy, draw.Margin+bw+24+c.Width(l.text, l.st))
		y += 24 * c.M.Text
	}
	if foot > 20 {
		c.Text(draw.Margin, r.Bottom()-14, s.Say("home.drop"), small)
		busy = math.Max(busy, draw.Margin+c.Width(s.Say("home.drop"), small))
	}
	half := math.Sin(widget.SweepAngle / 2)
	f := widget.Face{R: math.Min(560, (r.Right()-busy-70)/(2*half)), Bottom: r.Bottom()}
	f.R = math.Min(f.R, (r.H-30)/0.45)
	f.Cx = r.Right() - 24 - f.R*half
	f.Cy = r.Y + 30 + f.R
	if f.R > 240 {
		c.Bow(f.Cx, f.Cy, f.R, f.Angle(0), f.Angle(widget.ZeroVU), 3, th.Faint)
		c.Bow(f.Cx, f.Cy, f.R, f.Angle(widget.ZeroVU), f.Angle(1), 9, th.Faint)
		for _, v := range widget.VuMarks {
			x1, y1 := f.At(widget.Deflection(v), f.R-8)
			x2, y2 := f.At(widget.Deflection(v), f.R-18)
			c.Line(x1, y1, x2, y2, 2, th.Faint)
		}
		widget.DrawNeedle(c, f, 0, 4, false, nil)
	}
	s.Button(c, "start", draw.R(draw.Margin, by, bw, bh), s.Say("home.start_big"), 24, true, s.To.Start)
}

// startLine is a line beside the big button.
type startLine struct {
	text string
	st   draw.Style
}

// startLines are the lines beside the big button, none wider than w.
func (s *Scene) startLines(c *draw.Canvas, w float64) (all []startLine) {
	add := func(text string, size float64, tint color.NRGBA) {
		st := draw.Style{Size: size, Color: tint}
		for _, l := range c.Wrap(text, w, st) {
			if l != "" {
				all = append(all, startLine{l, st})
			}
		}
	}
	if s.Silent() {
		add(s.Say("sound.none"), 15, c.Theme.Amber)
	}
	what, why := s.startWords()
	add(what, 16, c.Theme.Ink)
	add(why, 15, c.Theme.Dim)
	return all
}

// startWords say what the big button starts, and why, where advice chose it.
func (s *Scene) startWords() (what, why string) {
	switch a, ok := s.Session.Records.Advice(s.Prefs.Drill, s.Prefs.Family); {
	case s.Prefs.Family == source.Own:
		what = s.DrillName(drills.SetTake) + " · " + s.Say("family.own") // whichever drill is chosen
	case s.Prefs.Drill != "":
		what = s.DrillName(s.Prefs.Drill) + " · " + widget.ChoiceLabel(s.families(), string(s.Prefs.Family))
	case ok:
		return s.DrillName(a.Drill) + " · " + s.Say("family."+string(a.Family)), s.ReasonFor(a)
	}
	return what, why
}

// picks are what can be chosen on the first screen.
func (s *Scene) picks() []pick {
	set := func(do func(p *store.Settings, v string)) func(string) {
		return func(v string) { s.Prefs.Change(func(p *store.Settings) { do(p, v) }) }
	}
	return []pick{
		{"drill", ebiten.KeyD, "cap.d", s.Say("home.drill_title"), s.drills(), s.Prefs.Drill, set(func(p *store.Settings, v string) { p.Drill = v })},
		{"family", ebiten.KeyF, "cap.f", s.Say("home.family_title"), s.families(), string(s.Prefs.Family), set(func(p *store.Settings, v string) { p.Family = source.Family(v) })},
		{"rig", ebiten.KeyR, "cap.r", s.Say("home.rig_title"), s.rigs(), s.Prefs.RigChoice, set(func(p *store.Settings, v string) { p.RigChoice = v })},
	}
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
	if s.Session.Own.Chosen != nil {
		all = append(all, widget.Choice{Value: string(source.Own), Label: s.Say("family.own")})
	}
	return all
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

// drawPhone is the first screen on a phone: the choices as chips where they all
// have room, otherwise a row each, and the big button.
func (s *Scene) drawPhone(c *draw.Canvas, bar float64) {
	point := c.M.Finger / draw.FingerPoints
	wide := c.M.W - 2*draw.Margin
	title := draw.Style{Size: 40 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true}
	sub := draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: c.Theme.Dim}
	y := 22*point + title.Size*c.M.Text*0.72
	c.Text(draw.Margin, y, "slowneedle", title)
	about := s.Say("home.job")
	if s.Session.Records.Book.Len() > 0 {
		about = s.Say("home.takes", s.Session.Records.Book.Len())
	}
	if c.M.Landscape { // beside the name
		x := draw.Margin + c.Width("slowneedle", title) + 24
		if b := c.Block(about, c.M.W-draw.Margin-x, sub); len(b.Lines) < 3 {
			c.Print(x, y-b.Lead*float64(len(b.Lines)-1)/2, b)
		}
		y += 12 * point
		left := (wide - 32) * 0.56
		s.drawPicks(c, draw.R(draw.Margin, y, left, bar-y-4*point))
		s.drawBegin(c, draw.R(draw.Margin+left+32, y, wide-left-32, bar-y-8*point))
		return
	}
	foot := c.M.Finger*1.5 + 40*point
	b := c.Block(about, wide, sub)
	if bar-foot-y-20*point-b.Height() < s.chipsHigh(c, wide) && len(b.Lines) > 1 {
		b.Lines = nil // what it is about gives way to what there is to choose
	}
	y = c.Print(draw.Margin, y+8*point+b.Lead, b) - b.Lead + 10*point
	place := draw.R(draw.Margin, y, wide, bar-foot-y)
	if high := s.chipsHigh(c, wide); place.H >= high {
		s.drawChips(c, place, math.Min(14*point, (place.H-high)/3))
	} else {
		s.drawPicks(c, place)
	}
	s.drawBegin(c, draw.R(draw.Margin, bar-foot, wide, foot-10*point))
}

// pickTitle is the height of what stands over a group of chips, in units of text.
const pickTitle = 26

// chipsHigh is the height that all chips need under their titles.
func (s *Scene) chipsHigh(c *draw.Canvas, wide float64) float64 {
	high := 0.0
	for _, p := range s.picks() {
		rows, x := 1, 0.0
		for _, ch := range p.all {
			w := widget.ChipWidth(c, ch)
			if x > 0 && x+w > wide {
				rows, x = rows+1, 0
			}
			x += w + 10
		}
		high += pickTitle*c.M.Text + (c.M.Finger+10)*float64(rows)
	}
	return high
}

func (s *Scene) drawChips(c *draw.Canvas, r draw.Rect, gap float64) {
	y := r.Y
	for _, p := range s.picks() {
		c.Text(r.X, y+(pickTitle-8)*c.M.Text, p.title, draw.Style{Size: 15, Color: c.Theme.Dim})
		y = s.Chips(c, p.id, r.X, y+pickTitle*c.M.Text, r.W, p.all, p.chosen, p.choose) + 10 + gap
	}
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

// drawBegin is the big button, and what it starts.
func (s *Scene) drawBegin(c *draw.Canvas, r draw.Rect) {
	point := c.M.Finger / draw.FingerPoints
	st := draw.Style{Size: 24, Bold: true}
	bh := c.M.Finger * 1.4
	b := draw.R(r.X, r.Y+(r.H-bh)/2, c.Width(s.Say("home.start_big"), st)+40*point, bh)
	x, w := b.Right()+16*point, r.Right()-b.Right()-16*point
	if c.M.Landscape {
		x, w = r.X, r.W
	}
	lines := s.startLines(c, w)
	lead := c.Lead(draw.Style{Size: 15})
	mid := r.Y + r.H/2
	if c.M.Landscape { // over the lines
		b.W = r.W
		b.Y = r.Y + math.Max(0, (r.H-bh-10*point-lead*float64(len(lines)))/2)
		mid = b.Bottom() + 10*point + lead*float64(len(lines))/2
	}
	y := mid - lead*float64(len(lines))/2 + lead*0.74
	for _, l := range lines {
		c.Text(x, y, l.text, l.st)
		y += lead
	}
	s.Button(c, "start", b, s.Say("home.start_big"), 24, true, s.To.Start)
}
