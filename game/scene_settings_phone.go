package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// shown are the rows that a phone has room for, first and behind the last: all,
// or those of the half in which the chosen one is.
func (s *settingsScene) shown(g *Game) (from, to int) {
	switch {
	case !g.m.Landscape:
		return 0, s.rows + 1
	case s.at < screenSettings:
		return 0, screenSettings
	}
	return screenSettings, s.rows + 1
}

// otherHalf goes to the rows that a phone on its side has no room for.
func (s *settingsScene) otherHalf(g *Game) []action {
	if !g.m.Landscape {
		return nil
	}
	label, to := g.Say("settings.my_rig"), screenSettings
	if s.at >= screenSettings {
		label, to = g.Say("settings.screen_sound"), 0
	}
	return []action{{id: "half", keys: []ebiten.Key{ebiten.KeyEnter}, cap: "cap.enter", label: label, do: func(*Game) { s.at = to }}}
}

// drawPhone draws the rows in one column, or two on a phone that lies.
func (s *settingsScene) drawPhone(g *Game, c *draw.Canvas, r draw.Rect) {
	rows := g.settingRows()
	from, to := s.shown(g)
	cols, gap := 1, 32.0
	if c.M.Landscape {
		cols = 2
	}
	w := (r.W - gap*float64(cols-1)) / float64(cols)
	lines := (to - from + cols - 1) / cols
	title := draw.Style{Size: 17, Color: c.Theme.Ink, Bold: true}
	head := 26 * c.M.Text
	heads := 1.0
	if from == 0 && to > screenSettings {
		heads = 2
	}
	h := math.Min(c.M.Finger*1.5, (r.H-head*heads)/float64(lines))
	room := 0.0
	for _, row := range rows {
		room = math.Max(room, setRoom(c, row.value, h))
	}
	y, line := r.Y, 0
	for i := from; i < to; i++ {
		row := rows[i]
		if i == 0 || i == screenSettings {
			name := g.Say("settings.screen_sound")
			if i == screenSettings {
				name = g.Say("settings.my_rig")
			}
			c.Text(r.X, y+18*c.M.Text, name, title)
			y += head
		}
		at := draw.R(r.X+(w+gap)*float64(line/lines), y+h*float64(line%lines), w, h)
		if cols == 1 {
			at.Y = y
			y += h
		}
		line++
		g.drawRow(c, "set."+row.id, g.Say("settings."+row.id), row.value, i == s.at, at, room, row.step != nil, func(by int) func(*Game) {
			return func(g *Game) { s.at = i; row.step(g, by); g.keep() }
		})
	}
}
