package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/page"
)

// homeScene is where everything starts: one key begins a round.
type homeScene struct {
	base
	nothing
	to      homeGuide
	session *session
	prefs   *keeper
	silent  func() bool // there is no sound
	leaves  time.Time   // until when a second escape quits
}

// homeGuide is where the first screen leads to.
type homeGuide interface {
	guide
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
func (s *homeScene) quit() {
	if time.Now().Before(s.leaves) {
		s.to.Quit()
		return
	}
	s.leaves = time.Now().Add(quitTime)
	s.tellFor(quitTime, s.Say("home.quit_ask"))
}

func (s *homeScene) Name() string { return "home" }

func (s *homeScene) Actions() []action {
	acts := []action{
		{id: "enter", keysOnly: true, keys: enterKeys, cap: "cap.enter", label: s.Say("home.start"), do: s.to.Start},
	}
	for _, p := range s.picks() {
		acts = append(acts, action{id: p.id, keysOnly: true, keys: []ebiten.Key{p.key}, cap: p.cap, label: s.Say("home." + p.id), do: func() { p.choose(nextChoice(p.all, p.chosen, 1)) }})
	}
	acts = append(acts, []action{
		{id: "progress", keys: []ebiten.Key{ebiten.KeyP}, cap: "cap.p", label: s.Say("home.progress"), do: s.to.Progress},
		{id: "settings", keys: []ebiten.Key{ebiten.KeyS}, cap: "cap.s", label: s.Say("home.settings"), do: s.to.Settings},
		{id: "class", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: s.Say("class.key"), do: s.to.Class},
		{id: "room", keys: []ebiten.Key{ebiten.KeyO}, cap: "cap.o", label: s.Say("class.room_key"), do: s.to.ForClass},
		s.helpAction(s.to),
	}...)
	if !page.Browser {
		acts = append(acts, action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: s.Say("home.quit"), do: s.quit})
	}
	return acts
}

func (s *homeScene) Draw(c *draw.Canvas) {
	th := c.Theme
	bar := s.drawBar(c, s.Actions())
	if c.M.Phone {
		s.drawPhone(c, bar)
		return
	}
	col := math.Min(c.M.W-2*draw.Margin, 1180)
	y := 34 + 56*math.Sqrt(c.M.Text)
	c.Text(draw.Margin, y, "slowneedle", draw.Style{Size: 52 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true})
	sub := draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: th.Dim}
	if y += 40 * c.M.Text; s.screen.notice != "" && c.M.Text > 1.2 {
		y -= 24 * c.M.Text // what it is about gives way to what there is to tell
	} else if s.session.records.book.Len() == 0 {
		y = c.Para(draw.Margin, y, col*math.Min(1, 0.74*c.M.Text), s.Say("home.job"), sub)
	} else {
		y = c.Para(draw.Margin, y, col, s.Say("home.takes", s.session.records.book.Len()), sub)
	}

	lab := draw.Style{Size: 15, Color: th.Dim}
	names := 0.0 // width of the column that says what the chips are
	for _, p := range s.picks() {
		names = math.Max(names, c.Width(p.title, lab)+24)
	}
	for _, p := range s.picks() {
		c.Text(draw.Margin, y+22*c.M.Text, p.title, lab)
		y = s.chips(c, p.id, draw.Margin+names, y, c.M.W-2*draw.Margin-names, p.all, p.chosen, p.choose) + 16 + 6*c.M.Text
	}
	if bar-y > 230*c.M.Text {
		y = c.Para(draw.Margin+names, y+8, c.M.W-2*draw.Margin-names, s.rigSentence(), draw.Style{Size: 15 / math.Sqrt(c.M.Text), Color: th.Dim})
	}
	s.drawStart(c, draw.R(draw.Margin, y, c.M.W-2*draw.Margin, bar-y))
}

// drawStart is the foot of the page: the resting needle under its arc, and the
// one big button.
func (s *homeScene) drawStart(c *draw.Canvas, r draw.Rect) {
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
	if s.silent() {
		lines = append(lines, line{s.Say("sound.none"), draw.Style{Size: 15, Color: th.Amber}})
	}
	what, reason := s.startWords()
	lines = append(lines, line{what, next})
	if reason != "" {
		lines = append(lines, line{reason, why})
	}
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
	half := math.Sin(sweepAngle / 2)
	f := face{r: math.Min(560, (r.Right()-busy-70)/(2*half)), bottom: r.Bottom()}
	f.r = math.Min(f.r, (r.H-30)/0.45)
	f.cx = r.Right() - 24 - f.r*half
	f.cy = r.Y + 30 + f.r
	if f.r > 240 {
		c.Bow(f.cx, f.cy, f.r, f.angle(0), f.angle(zeroVU), 3, th.Faint)
		c.Bow(f.cx, f.cy, f.r, f.angle(zeroVU), f.angle(1), 9, th.Faint)
		for _, v := range vuMarks {
			x1, y1 := f.at(deflection(v), f.r-8)
			x2, y2 := f.at(deflection(v), f.r-18)
			c.Line(x1, y1, x2, y2, 2, th.Faint)
		}
		drawNeedle(c, f, 0, 4, false, nil)
	}
	s.button(c, "start", draw.R(draw.Margin, by, bw, bh), s.Say("home.start_big"), 24, true, s.to.Start)
}

// startWords say what the big button starts, and why, where advice chose it.
func (s *homeScene) startWords() (what, why string) {
	switch a, ok := s.session.records.advice(s.prefs.Drill, s.prefs.Family); {
	case s.prefs.Family == source.Own:
		what = s.DrillName(drills.SetTake) + " · " + s.Say("family.own") // whichever drill is chosen
	case s.prefs.Drill != "":
		what = s.DrillName(s.prefs.Drill) + " · " + choiceLabel(s.families(), string(s.prefs.Family))
	case ok:
		return s.DrillName(a.Drill) + " · " + s.Say("family."+string(a.Family)), s.ReasonFor(a)
	}
	return what, why
}

// picks are what can be chosen on the first screen.
func (s *homeScene) picks() []pick {
	set := func(do func(p *settings, v string)) func(string) {
		return func(v string) { s.prefs.change(func(p *settings) { do(p, v) }) }
	}
	return []pick{
		{"drill", ebiten.KeyD, "cap.d", s.Say("home.drill_title"), s.drills(), s.prefs.Drill, set(func(p *settings, v string) { p.Drill = v })},
		{"family", ebiten.KeyF, "cap.f", s.Say("home.family_title"), s.families(), string(s.prefs.Family), set(func(p *settings, v string) { p.Family = source.Family(v) })},
		{"rig", ebiten.KeyR, "cap.r", s.Say("home.rig_title"), s.rigs(), s.prefs.RigChoice, set(func(p *settings, v string) { p.RigChoice = v })},
	}
}

// pick is one choice of the first screen: its key, its name, and its values.
type pick struct {
	id         string
	key        ebiten.Key
	cap, title string
	all        []choice
	chosen     string
	choose     func(v string)
}

// families are the kinds of source one can ask for; the empty one is drawn.
func (s *homeScene) families() []choice {
	all := []choice{{"", s.Say("family.any")}}
	for _, f := range source.Generated() {
		all = append(all, choice{string(f), s.Say("family." + string(f))})
	}
	if s.session.own.chosen != nil {
		all = append(all, choice{string(source.Own), s.Say("family.own")})
	}
	return all
}

func (s *homeScene) rigs() []choice {
	var all []choice
	for _, r := range rigChoices {
		all = append(all, choice{r, s.Say("rig." + r)})
	}
	return all
}

// drills are what can be practised; the empty one is what the learner needs
// most.
func (s *homeScene) drills() []choice {
	all := []choice{{"", s.Say("home.need")}}
	for _, d := range drills.Drills() {
		all = append(all, choice{d.ID, s.DrillName(d.ID)})
	}
	return all
}

// rigSentence says what the chosen rig is.
func (s *homeScene) rigSentence() string {
	if rig := s.prefs.chosenRig(); rig != nil {
		return s.RigLine(*rig)
	}
	return s.Say("rig.drawn_line")
}
