// Package home is the first screen.
package home

import (
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
	names := 0.0 // width of the column that says what the chips are
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
	next := draw.Style{Size: 17, Color: th.Ink}
	why := draw.Style{Size: 15, Color: th.Dim}
	busy := draw.Margin + bw
	type line struct {
		text string
		st   draw.Style
	}
	var lines []line
	if s.Silent() {
		lines = append(lines, line{s.Say("sound.none"), draw.Style{Size: 15, Color: th.Amber}})
	}
	what, reason := s.startWords()
	lines = append(lines, line{what, next})
	if reason != "" {
		lines = append(lines, line{reason, why})
	}
	y := by + bh/2 + (6-12*float64(len(lines)-1))*c.M.Text // all of them on the button's middle
	for _, l := range lines {
		wide := math.Min(c.Width(l.text, l.st), r.W-bw-24)
		c.Fit(draw.Margin+bw+24, y, wide, l.text, l.st)
		busy = math.Max(busy, draw.Margin+bw+24+wide)
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
