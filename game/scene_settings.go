package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/assets"
	"slowneedle/audio/desk"
)

// settingsScene lists what can be set, in two columns.
type settingsScene struct {
	at   int // the chosen row
	rows int
}

// setting is one row: a name, its value as text, and a step down or up.
type setting struct {
	id, value string
	step      func(g *Game, by int)
}

func (*settingsScene) name() string { return "settings" }

func (s *settingsScene) actions(g *Game) []action {
	all := g.settingRows()
	s.rows = len(all) - 1 // the last only follows from the others
	move := func(by int) func(*Game) {
		return func(*Game) { s.at = (s.at + by + s.rows) % s.rows }
	}
	change := func(by int) func(*Game) {
		return func(g *Game) { all[s.at].step(g, by); g.keep() }
	}
	return append(append(s.otherHalf(g), rowActions(g, move, change)...), []action{
		{id: "reset", keys: []ebiten.Key{ebiten.KeyBackspace}, cap: "cap.backspace", label: g.say("settings.reset_rig"), do: func(g *Game) {
			g.set.MyRig = defaultRig()
			g.keep()
		}},
		helpAction(g),
		leaveAction(g),
	}...)
}

func (*settingsScene) update(*Game) {}

// onOff is the word of a switch.
func (g *Game) onOff(on bool) string {
	if on {
		return g.say("settings.on")
	}
	return g.say("settings.off")
}

// settingRows are all settings in order; the rig's come last.
func (g *Game) settingRows() []setting {
	r := &g.set.MyRig
	db := func(v float64) string { return g.say("unit.db", g.shortSigned(v)) }
	dbfs := func(v float64) string { return g.say("unit.dbfs", g.short(v)) }
	stepped := func(p *float64, lo, hi, size float64) func(*Game, int) {
		return func(_ *Game, by int) {
			*p = math.Max(lo, math.Min(hi, math.Round((*p+float64(by)*size)*10)/10))
		}
	}
	return []setting{
		{"theme", g.say("theme." + g.set.Theme), func(g *Game, _ int) {
			if g.set.Theme == slate.name {
				g.set.Theme = paper.name
			} else {
				g.set.Theme = slate.name
			}
		}},
		{"text", g.say("unit.percent", g.set.TextPercent), func(g *Game, by int) {
			g.set.TextPercent = max(100, min(150, g.set.TextPercent+25*by))
		}},
		{"language", g.say("language.name"), func(g *Game, by int) {
			all := assets.Languages()
			for i, l := range all {
				if l == g.set.Language {
					g.set.Language = all[(i+by+len(all))%len(all)]
					break
				}
			}
			if err := g.applyWords(); err != nil {
				g.tell(g.fault(err))
			}
		}},
		{"monitor", g.say("unit.db", g.short(g.set.MonitorDB)), stepped(&g.set.MonitorDB, desk.MonitorMin, desk.MonitorMax, 1)},
		{"less_flash", g.onOff(g.set.LessFlash), func(g *Game, _ int) { g.set.LessFlash = !g.set.LessFlash }},
		{"less_motion", g.onOff(g.set.LessMotion), func(g *Game, _ int) { g.set.LessMotion = !g.set.LessMotion }},
		{"reference", dbfs(r.ReferenceDBFS), stepped(&r.ReferenceDBFS, -24, -9, 1)},
		{"target", g.say("unit.vu", g.shortSigned(r.TargetVU)), stepped(&r.TargetVU, -6, 3, 0.5)},
		{"tolerance", "± " + g.say("unit.db", g.short(r.ToleranceDB)), stepped(&r.ToleranceDB, 0.5, 3, 0.5)},
		{"ceiling", dbfs(r.CeilingDBFS), stepped(&r.CeilingDBFS, -12, 0, 1)},
		{"lamp", dbfs(r.LampDBFS), stepped(&r.LampDBFS, -20, 0, 1)},
		{"room", db(r.HeadroomDB()), nil},
	}
}

const screenSettings = 6 // rows before the rig's

func (s *settingsScene) draw(g *Game, c *canvas) {
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.say("settings.title"), g.say("settings.sub"), "", "")
	rows := g.settingRows()
	if c.m.phone || c.m.upright {
		s.drawPhone(g, c, rect{margin, top, c.m.w - 2*margin, bar - top - 6})
		return
	}
	gap := 56.0
	w := (c.m.w - 2*margin - gap) / 2
	h := math.Min(58*c.m.text, (bar-top-20-40*c.m.text)/screenSettings)
	room := [2]float64{220, 220} // the arrows of a column stand under each other
	for i, row := range rows {
		room[i/screenSettings] = math.Max(room[i/screenSettings], c.setRoom(row.value, h))
	}
	for i, row := range rows {
		col, line := 0, i
		if i >= screenSettings {
			col, line = 1, i-screenSettings
		}
		x := margin + float64(col)*(w+gap)
		if line == 0 {
			title := g.say("settings.screen_sound")
			if col == 1 {
				title = g.say("settings.my_rig")
			}
			c.text(x, top+26*c.m.text, title, style{size: 18, c: c.th.ink, bold: true})
		}
		change := func(by int) func(*Game) {
			return func(g *Game) { s.at = i; row.step(g, by); g.keep() }
		}
		r := rect{x, top + 40*c.m.text + h*float64(line), w, h}
		g.drawRow(c, "set."+row.id, g.say("settings."+row.id), row.value, i == s.at, r, room[col], row.step != nil, change)
	}
}

// rowActions move among rows that can be set, and change the chosen one.
func rowActions(g *Game, move, change func(by int) func(*Game)) []action {
	return []action{
		{id: "up", desk: true, keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", repeat: true, do: move(-1)},
		{id: "down", desk: true, keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: g.say("settings.choose"), repeat: true, do: move(1)},
		{id: "less", desk: true, keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", repeat: true, do: change(-1)},
		{id: "more", desk: true, keys: []ebiten.Key{ebiten.KeyArrowRight}, cap: "cap.right", label: g.say("settings.change"), repeat: true, do: change(1)},
	}
}

// rowValue is how the value of a row is written.
func rowValue(c *canvas) style {
	st := style{size: 18, c: c.th.ink, align: middle, bold: true}
	if c.m.phone {
		st.size = 16
	}
	return st
}

// arrow is the side of the arrows in a row of a height.
func (c *canvas) arrow(h float64) float64 {
	if c.m.finger > 0 {
		return math.Min(c.m.finger, h-3)
	}
	return math.Min(34*c.m.text, h-10)
}

// setRoom is the width a value takes between its arrows, with them.
func (c *canvas) setRoom(value string, h float64) float64 {
	return c.width(value, rowValue(c)) + 2*c.arrow(h) + 24
}

// markRow marks a row as the chosen one.
func (c *canvas) markRow(r rect) {
	c.fill(rect{r.x, r.y + 2, r.w, r.h - 4}, 8, c.th.panel)
	c.fill(rect{r.x, r.y + 2, 5, r.h - 4}, 2, c.th.ink)
}

// drawRow is a row that can be set: its name, its value, and arrows that change
// it, if it can be changed, at least room apart.
func (g *Game) drawRow(c *canvas, id, label, text string, chosen bool, r rect, room float64, can bool, change func(by int) func(*Game)) {
	th := c.th
	mid := r.y + r.h/2
	name := style{size: 17, c: th.dim}
	value := rowValue(c)
	if c.m.phone {
		name.size = 15
	}
	if chosen {
		c.markRow(r)
		name.c = th.ink
	}
	b := c.arrow(r.h)
	box := math.Max(room, c.setRoom(text, r.h))
	if !can {
		value.c, value.bold = th.dim, false
	}
	c.rule(r.x, r.right(), r.bottom(), 1, th.faint)
	c.fitLines(r.x+14, mid, r.w-box-26, label, name)
	c.text(r.right()-box/2, mid+6*c.m.text, text, value)
	if can {
		g.button(c, id+".less", rect{r.right() - box, mid - b/2, b, b}, "‹", 20, false, change(-1))
		g.button(c, id+".more", rect{r.right() - b, mid - b/2, b, b}, "›", 20, false, change(1))
	}
}
