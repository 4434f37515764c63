package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/game/draw"
)

// homeScene is where everything starts: one key begins a round.
type homeScene struct{ leaves time.Time } // until when a second escape quits

// quitTime is how long the question whether to quit stands.
const quitTime = 3 * time.Second

// quit asks whether to quit, and quits when it is asked for again.
func (h *homeScene) quit(g *Game) {
	if time.Now().Before(h.leaves) {
		g.quit = true
		return
	}
	h.leaves = time.Now().Add(quitTime)
	g.tellFor(quitTime, g.Say("home.quit_ask"))
}

func (*homeScene) name() string { return "home" }

func (h *homeScene) actions(g *Game) []action {
	acts := []action{
		{id: "enter", desk: true, keys: enterKeys, cap: "cap.enter", label: g.Say("home.start"), do: startRound},
		{id: "drill", desk: true, keys: []ebiten.Key{ebiten.KeyD}, cap: "cap.d", label: g.Say("home.drill"), do: func(g *Game) {
			g.setDrill(nextChoice(g.drills(), g.set.Drill))
		}},
		{id: "family", desk: true, keys: []ebiten.Key{ebiten.KeyF}, cap: "cap.f", label: g.Say("home.family"), do: func(g *Game) {
			g.setFamily(nextChoice(g.families(), string(g.set.Family)))
		}},
		{id: "rig", desk: true, keys: []ebiten.Key{ebiten.KeyR}, cap: "cap.r", label: g.Say("home.rig"), do: func(g *Game) {
			g.setRig(nextChoice(g.rigs(), g.set.RigChoice))
		}},
		{id: "progress", keys: []ebiten.Key{ebiten.KeyP}, cap: "cap.p", label: g.Say("home.progress"), do: func(g *Game) { g.show(&progressScene{}) }},
		{id: "settings", keys: []ebiten.Key{ebiten.KeyS}, cap: "cap.s", label: g.Say("home.settings"), do: func(g *Game) { g.show(&settingsScene{}) }},
		{id: "class", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: g.Say("class.key"), do: openClass},
		{id: "room", keys: []ebiten.Key{ebiten.KeyO}, cap: "cap.o", label: g.Say("class.room_key"), do: startRoom},
		helpAction(g),
	}
	if canQuit {
		acts = append(acts, action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.Say("home.quit"), do: h.quit})
	}
	return acts
}

func (*homeScene) update(*Game) {}

func (h *homeScene) draw(g *Game, c *draw.Canvas) {
	th := c.Theme
	bar := g.drawBar(c, h.actions(g))
	if c.M.Phone {
		h.drawPhone(g, c, bar)
		return
	}
	col := math.Min(c.M.W-2*draw.Margin, 1180)
	y := 34 + 56*math.Sqrt(c.M.Text)
	c.Text(draw.Margin, y, "slowneedle", draw.Style{Size: 52 / math.Sqrt(c.M.Text), Color: th.Ink, Bold: true})
	sub := draw.Style{Size: 18 / math.Sqrt(c.M.Text), Color: th.Dim}
	if y += 40 * c.M.Text; g.notice != "" && c.M.Text > 1.2 {
		y -= 24 * c.M.Text // what it is about gives way to what there is to tell
	} else if g.rec.book == nil || g.rec.book.Len() == 0 {
		y = c.Para(draw.Margin, y, col*math.Min(1, 0.74*c.M.Text), g.Say("home.job"), sub)
	} else {
		y = c.Para(draw.Margin, y, col, g.Say("home.takes", g.rec.book.Len()), sub)
	}

	lab := draw.Style{Size: 15, Color: th.Dim}
	names := 0.0 // width of the column that says what the chips are
	for _, p := range g.picks() {
		names = math.Max(names, c.Width(p.title, lab)+24)
	}
	for _, p := range g.picks() {
		c.Text(draw.Margin, y+22*c.M.Text, p.title, lab)
		y = g.chips(c, p.id, draw.Margin+names, y, c.M.W-2*draw.Margin-names, p.all, p.chosen, p.choose) + 16 + 6*c.M.Text
	}
	if bar-y > 230*c.M.Text {
		y = c.Para(draw.Margin+names, y+8, c.M.W-2*draw.Margin-names, g.rigSentence(), draw.Style{Size: 15 / math.Sqrt(c.M.Text), Color: th.Dim})
	}
	h.drawStart(g, c, draw.R(draw.Margin, y, c.M.W-2*draw.Margin, bar-y))
}

// drawStart is the foot of the page: the resting needle under its arc, and the
// one big button.
func (h *homeScene) drawStart(g *Game, c *draw.Canvas, r draw.Rect) {
	th := c.Theme
	bw := c.Width(g.Say("home.start_big"), draw.Style{Size: 24, Bold: true}) + 72
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
	if g.silent {
		lines = append(lines, line{g.Say("sound.none"), draw.Style{Size: 15, Color: th.Amber}})
	}
	what, reason := g.startWords()
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
		c.Text(draw.Margin, r.Bottom()-14, g.Say("home.drop"), small)
		busy = math.Max(busy, draw.Margin+c.Width(g.Say("home.drop"), small))
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
	g.button(c, "start", draw.R(draw.Margin, by, bw, bh), g.Say("home.start_big"), 24, true, startRound)
}

// startWords say what the big button starts, and why, where advice chose it.
func (g *Game) startWords() (what, why string) {
	switch a, ok := g.advice(); {
	case g.set.Family == source.Own:
		what = g.DrillName(drills.Standard) + " · " + g.Say("family.own") // whichever drill is chosen
	case g.set.Drill != "":
		what = g.DrillName(g.set.Drill) + " · " + label(g.families(), string(g.set.Family))
	case ok:
		return g.DrillName(a.Drill) + " · " + g.Say("family."+string(a.Family)), g.ReasonFor(a)
	}
	return what, why
}

// picks are what can be chosen on the first screen.
func (g *Game) picks() []pick {
	return []pick{
		{"drill", g.Say("home.drill_title"), g.drills(), g.set.Drill, (*Game).setDrill},
		{"family", g.Say("home.family_title"), g.families(), string(g.set.Family), (*Game).setFamily},
		{"rig", g.Say("home.rig_title"), g.rigs(), g.set.RigChoice, (*Game).setRig},
	}
}

// pick is one choice of the first screen: its name, and its values.
type pick struct {
	id, title string
	all       []choice
	chosen    string
	choose    func(g *Game, v string)
}

// families are the kinds of source one can ask for; the empty one is drawn.
func (g *Game) families() []choice {
	all := []choice{{"", g.Say("family.any")}}
	for _, f := range source.Generated() {
		all = append(all, choice{string(f), g.Say("family." + string(f))})
	}
	if g.own != nil {
		all = append(all, choice{string(source.Own), g.Say("family.own")})
	}
	return all
}

func (g *Game) rigs() []choice {
	var all []choice
	for _, r := range []string{rigDrawn, rigDigital, rigTape, rigMine} {
		all = append(all, choice{r, g.Say("rig." + r)})
	}
	return all
}

func nextChoice(all []choice, now string) string {
	for i, c := range all {
		if c.value == now {
			return all[(i+1)%len(all)].value
		}
	}
	return all[0].value
}

// drills are what can be practised; the empty one is what the learner needs
// most.
func (g *Game) drills() []choice {
	all := []choice{{"", g.Say("home.need")}}
	for _, d := range drills.Drills() {
		all = append(all, choice{d.ID, g.DrillName(d.ID)})
	}
	return all
}

func (g *Game) setDrill(d string) {
	g.set.Drill = d
	g.keep()
}

func (g *Game) setFamily(f string) {
	g.set.Family = source.Family(f)
	g.keep()
}

func (g *Game) setRig(r string) {
	g.set.RigChoice = r
	g.keep()
}

// rigSentence says what the chosen rig is.
func (g *Game) rigSentence() string {
	if rig := g.chosenRig(); rig != nil {
		return g.RigLine(*rig)
	}
	return g.Say("rig.drawn_line")
}
