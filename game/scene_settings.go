package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/assets"
	"slowneedle/audio/desk"
	"slowneedle/game/draw"
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
		{id: "reset", keys: []ebiten.Key{ebiten.KeyBackspace}, cap: "cap.backspace", label: g.Say("settings.reset_rig"), do: func(g *Game) {
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
		return g.Say("settings.on")
	}
	return g.Say("settings.off")
}

// settingRows are all settings in order; the rig's come last.
func (g *Game) settingRows() []setting {
	r := &g.set.MyRig
	db := func(v float64) string { return g.Say("unit.db", g.ShortSigned(v)) }
	dbfs := func(v float64) string { return g.Say("unit.dbfs", g.Short(v)) }
	stepped := func(p *float64, lo, hi, size float64) func(*Game, int) {
		return func(_ *Game, by int) {
			*p = math.Max(lo, math.Min(hi, math.Round((*p+float64(by)*size)*10)/10))
		}
	}
	return []setting{
		{"theme", g.Say("theme." + g.set.Theme), func(g *Game, _ int) {
			if g.set.Theme == draw.Slate.Name {
				g.set.Theme = draw.Paper.Name
			} else {
				g.set.Theme = draw.Slate.Name
			}
		}},
		{"text", g.Say("unit.percent", g.set.TextPercent), func(g *Game, by int) {
			g.set.TextPercent = max(100, min(150, g.set.TextPercent+25*by))
		}},
		{"language", g.Say("language.name"), func(g *Game, by int) {
			all := assets.Languages()
			for i, l := range all {
				if l == g.set.Language {
					g.set.Language = all[(i+by+len(all))%len(all)]
					break
				}
			}
			if err := g.applyWords(); err != nil {
				g.tell(g.Fault(err))
			}
		}},
		{"monitor", g.Say("unit.db", g.Short(g.set.MonitorDB)), stepped(&g.set.MonitorDB, desk.MonitorMin, desk.MonitorMax, 1)},
		{"less_flash", g.onOff(g.set.LessFlash), func(g *Game, _ int) { g.set.LessFlash = !g.set.LessFlash }},
		{"less_motion", g.onOff(g.set.LessMotion), func(g *Game, _ int) { g.set.LessMotion = !g.set.LessMotion }},
		{"reference", dbfs(r.ReferenceDBFS), stepped(&r.ReferenceDBFS, -24, -9, 1)},
		{"target", g.Say("unit.vu", g.ShortSigned(r.TargetVU)), stepped(&r.TargetVU, -6, 3, 0.5)},
		{"tolerance", "± " + g.Say("unit.db", g.Short(r.ToleranceDB)), stepped(&r.ToleranceDB, 0.5, 3, 0.5)},
		{"ceiling", dbfs(r.CeilingDBFS), stepped(&r.CeilingDBFS, -12, 0, 1)},
		{"lamp", dbfs(r.LampDBFS), stepped(&r.LampDBFS, -20, 0, 1)},
		{"room", db(r.HeadroomDB()), nil},
	}
}

const screenSettings = 6 // rows before the rig's

func (s *settingsScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.Say("settings.title"), g.Say("settings.sub"), "", "")
	rows := g.settingRows()
	if c.M.Phone || c.M.Portrait {
		s.drawPhone(g, c, draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-6))
		return
	}
	gap := 56.0
	w := (c.M.W - 2*draw.Margin - gap) / 2
	h := math.Min(58*c.M.Text, (bar-top-20-40*c.M.Text)/screenSettings)
	room := [2]float64{220, 220} // the arrows of a column stand under each other
	for i, row := range rows {
		room[i/screenSettings] = math.Max(room[i/screenSettings], setRoom(c, row.value, h))
	}
	for i, row := range rows {
		col, line := 0, i
		if i >= screenSettings {
			col, line = 1, i-screenSettings
		}
		x := draw.Margin + float64(col)*(w+gap)
		if line == 0 {
			title := g.Say("settings.screen_sound")
			if col == 1 {
				title = g.Say("settings.my_rig")
			}
			c.Text(x, top+26*c.M.Text, title, draw.Style{Size: 18, Color: c.Theme.Ink, Bold: true})
		}
		change := func(by int) func(*Game) {
			return func(g *Game) { s.at = i; row.step(g, by); g.keep() }
		}
		r := draw.R(x, top+40*c.M.Text+h*float64(line), w, h)
		g.drawRow(c, "set."+row.id, g.Say("settings."+row.id), row.value, i == s.at, r, room[col], row.step != nil, change)
	}
}

// rowActions move among rows that can be set, and change the chosen one.
func rowActions(g *Game, move, change func(by int) func(*Game)) []action {
	return []action{
		{id: "up", desk: true, keys: []ebiten.Key{ebiten.KeyArrowUp}, cap: "cap.up", repeat: true, do: move(-1)},
		{id: "down", desk: true, keys: []ebiten.Key{ebiten.KeyArrowDown}, cap: "cap.down", label: g.Say("settings.choose"), repeat: true, do: move(1)},
		{id: "less", desk: true, keys: []ebiten.Key{ebiten.KeyArrowLeft}, cap: "cap.left", repeat: true, do: change(-1)},
		{id: "more", desk: true, keys: []ebiten.Key{ebiten.KeyArrowRight}, cap: "cap.right", label: g.Say("settings.change"), repeat: true, do: change(1)},
	}
}

// rowValue is how the value of a row is written.
func rowValue(c *draw.Canvas) draw.Style {
	st := draw.Style{Size: 18, Color: c.Theme.Ink, Align: draw.Middle, Bold: true}
	if c.M.Phone {
		st.Size = 16
	}
	return st
}

// arrow is the side of the arrows in a row of a height.
func arrow(c *draw.Canvas, h float64) float64 {
	if c.M.Finger > 0 {
		return math.Min(c.M.Finger, h-3)
	}
	return math.Min(34*c.M.Text, h-10)
}

// setRoom is the width a value takes between its arrows, with them.
func setRoom(c *draw.Canvas, value string, h float64) float64 {
	return c.Width(value, rowValue(c)) + 2*arrow(c, h) + 24
}

// markRow marks a row as the chosen one.
func markRow(c *draw.Canvas, r draw.Rect) {
	c.Fill(draw.R(r.X, r.Y+2, r.W, r.H-4), 8, c.Theme.Panel)
	c.Fill(draw.R(r.X, r.Y+2, 5, r.H-4), 2, c.Theme.Ink)
}

// drawRow is a row that can be set: its name, its value, and arrows that change
// it, if it can be changed, at least room apart.
func (g *Game) drawRow(c *draw.Canvas, id, label, text string, chosen bool, r draw.Rect, room float64, can bool, change func(by int) func(*Game)) {
	th := c.Theme
	mid := r.Y + r.H/2
	name := draw.Style{Size: 17, Color: th.Dim}
	value := rowValue(c)
	if c.M.Phone {
		name.Size = 15
	}
	if chosen {
		markRow(c, r)
		name.Color = th.Ink
	}
	b := arrow(c, r.H)
	box := math.Max(room, setRoom(c, text, r.H))
	if !can {
		value.Color, value.Bold = th.Dim, false
	}
	c.Rule(r.X, r.Right(), r.Bottom(), 1, th.Faint)
	c.FitLines(r.X+14, mid, r.W-box-26, label, name)
	c.Text(r.Right()-box/2, mid+6*c.M.Text, text, value)
	if can {
		g.button(c, id+".less", draw.R(r.Right()-box, mid-b/2, b, b), "‹", 20, false, change(-1))
		g.button(c, id+".more", draw.R(r.Right()-b, mid-b/2, b, b), "›", 20, false, change(1))
	}
}
