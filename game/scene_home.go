package game

import (
	"math"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
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
	g.tellFor(quitTime, g.say("home.quit_ask"))
}

func (*homeScene) name() string { return "home" }

func (h *homeScene) actions(g *Game) []action {
	acts := []action{
		{id: "enter", desk: true, keys: enterKeys, cap: "cap.enter", label: g.say("home.start"), do: startRound},
		{id: "drill", desk: true, keys: []ebiten.Key{ebiten.KeyD}, cap: "cap.d", label: g.say("home.drill"), do: func(g *Game) {
			g.setDrill(nextChoice(g.drills(), g.set.Drill))
		}},
		{id: "family", desk: true, keys: []ebiten.Key{ebiten.KeyF}, cap: "cap.f", label: g.say("home.family"), do: func(g *Game) {
			g.setFamily(nextChoice(g.families(), string(g.set.Family)))
		}},
		{id: "rig", desk: true, keys: []ebiten.Key{ebiten.KeyR}, cap: "cap.r", label: g.say("home.rig"), do: func(g *Game) {
			g.setRig(nextChoice(g.rigs(), g.set.RigChoice))
		}},
		{id: "progress", keys: []ebiten.Key{ebiten.KeyP}, cap: "cap.p", label: g.say("home.progress"), do: func(g *Game) { g.show(&progressScene{}) }},
		{id: "settings", keys: []ebiten.Key{ebiten.KeyS}, cap: "cap.s", label: g.say("home.settings"), do: func(g *Game) { g.show(&settingsScene{}) }},
		{id: "class", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: g.say("class.key"), do: openClass},
		{id: "room", keys: []ebiten.Key{ebiten.KeyO}, cap: "cap.o", label: g.say("class.room_key"), do: startRoom},
		helpAction(g),
	}
	if canQuit {
		acts = append(acts, action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: g.say("home.quit"), do: h.quit})
	}
	return acts
}

func (*homeScene) update(*Game) {}

func (h *homeScene) draw(g *Game, c *canvas) {
	th := c.th
	bar := g.drawBar(c, h.actions(g))
	if c.m.phone {
		h.drawPhone(g, c, bar)
		return
	}
	col := math.Min(c.m.w-2*margin, 1180)
	y := 34 + 56*math.Sqrt(c.m.text)
	c.text(margin, y, "slowneedle", style{size: 52 / math.Sqrt(c.m.text), c: th.ink, bold: true})
	sub := style{size: 18 / math.Sqrt(c.m.text), c: th.dim}
	if y += 40 * c.m.text; g.notice != "" && c.m.text > 1.2 {
		y -= 24 * c.m.text // what it is about gives way to what there is to tell
	} else if g.rec.book == nil || g.rec.book.Len() == 0 {
		y = c.para(margin, y, col*math.Min(1, 0.74*c.m.text), g.say("home.job"), sub)
	} else {
		y = c.para(margin, y, col, g.say("home.takes", g.rec.book.Len()), sub)
	}

	lab := style{size: 15, c: th.dim}
	names := 0.0 // width of the column that says what the chips are
	for _, p := range g.picks() {
		names = math.Max(names, c.width(p.title, lab)+24)
	}
	for _, p := range g.picks() {
		c.text(margin, y+22*c.m.text, p.title, lab)
		y = g.chips(c, p.id, margin+names, y, c.m.w-2*margin-names, p.all, p.chosen, p.choose) + 16 + 6*c.m.text
	}
	if bar-y > 230*c.m.text {
		y = c.para(margin+names, y+8, c.m.w-2*margin-names, g.rigSentence(), style{size: 15 / math.Sqrt(c.m.text), c: th.dim})
	}
	h.drawStart(g, c, rect{margin, y, c.m.w - 2*margin, bar - y})
}

// drawStart is the foot of the page: the resting needle under its arc, and the
// one big button.
func (h *homeScene) drawStart(g *Game, c *canvas, r rect) {
	th := c.th
	bw := c.width(g.say("home.start_big"), style{size: 24, bold: true}) + 72
	bh := 64 * c.m.text
	small := style{size: 14, c: th.dim}
	foot := 28 + 22*c.m.text
	if r.h < 200*c.m.text || c.m.upright {
		foot = 20 // no room for the hint, or nothing to be dropped
	}
	by := r.bottom() - bh - foot
	next := style{size: 17, c: th.ink}
	why := style{size: 15, c: th.dim}
	busy := margin + bw
	type line struct {
		text string
		st   style
	}
	var lines []line
	if g.silent {
		lines = append(lines, line{g.say("sound.none"), style{size: 15, c: th.amber}})
	}
	what, reason := g.startWords()
	lines = append(lines, line{what, next})
	if reason != "" {
		lines = append(lines, line{reason, why})
	}
	y := by + bh/2 + (6-12*float64(len(lines)-1))*c.m.text // all of them on the button's middle
	for _, l := range lines {
		c.text(margin+bw+24, y, l.text, l.st)
		busy = math.Max(busy, margin+bw+24+c.width(l.text, l.st))
		y += 24 * c.m.text
	}
	if foot > 20 {
		c.text(margin, r.bottom()-14, g.say("home.drop"), small)
		busy = math.Max(busy, margin+c.width(g.say("home.drop"), small))
	}
	half := math.Sin(sweepAngle / 2)
	f := face{r: math.Min(560, (r.right()-busy-70)/(2*half)), bottom: r.bottom()}
	f.r = math.Min(f.r, (r.h-30)/0.45)
	f.cx = r.right() - 24 - f.r*half
	f.cy = r.y + 30 + f.r
	if f.r > 240 {
		c.bow(f.cx, f.cy, f.r, f.angle(0), f.angle(zeroVU), 3, th.faint)
		c.bow(f.cx, f.cy, f.r, f.angle(zeroVU), f.angle(1), 9, th.faint)
		for _, v := range vuMarks {
			x1, y1 := f.at(deflection(v), f.r-8)
			x2, y2 := f.at(deflection(v), f.r-18)
			c.line(x1, y1, x2, y2, 2, th.faint)
		}
		c.drawNeedle(f, 0, 4, false, nil)
	}
	g.button(c, "start", rect{margin, by, bw, bh}, g.say("home.start_big"), 24, true, startRound)
}

// startWords say what the big button starts, and why, where advice chose it.
func (g *Game) startWords() (what, why string) {
	switch a, ok := g.advice(); {
	case g.set.Family == source.Own:
		what = g.drillName(drills.Standard) + " · " + g.say("family.own") // whichever drill is chosen
	case g.set.Drill != "":
		what = g.drillName(g.set.Drill) + " · " + label(g.families(), string(g.set.Family))
	case ok:
		return g.drillName(a.Drill) + " · " + g.say("family."+string(a.Family)), g.reasonFor(a)
	}
	return what, why
}

// picks are what can be chosen on the first screen.
func (g *Game) picks() []pick {
	return []pick{
		{"drill", g.say("home.drill_title"), g.drills(), g.set.Drill, (*Game).setDrill},
		{"family", g.say("home.family_title"), g.families(), string(g.set.Family), (*Game).setFamily},
		{"rig", g.say("home.rig_title"), g.rigs(), g.set.RigChoice, (*Game).setRig},
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
	all := []choice{{"", g.say("family.any")}}
	for _, f := range source.Generated() {
		all = append(all, choice{string(f), g.say("family." + string(f))})
	}
	if g.own != nil {
		all = append(all, choice{string(source.Own), g.say("family.own")})
	}
	return all
}

func (g *Game) rigs() []choice {
	var all []choice
	for _, r := range []string{rigDrawn, rigDigital, rigTape, rigMine} {
		all = append(all, choice{r, g.say("rig." + r)})
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
	all := []choice{{"", g.say("home.need")}}
	for _, d := range drills.Drills() {
		all = append(all, choice{d.ID, g.drillName(d.ID)})
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
		return g.rigLine(*rig)
	}
	return g.say("rig.drawn_line")
}
