package game

import (
	"math"
	"slices"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// settingsScene lists what can be set, in two groups of rows: the screen and
// the sound, and the learner's own rig.
type settingsScene struct {
	base
	nothing
	to    guide
	prefs *keeper
	at    int // the chosen row
}

func (s *settingsScene) Name() string { return "settings" }

func (s *settingsScene) Actions() []action {
	n := 0 // rows that can be set
	for _, row := range settingsTable {
		if row.step != nil {
			n++
		}
	}
	move := func(by int) func() { return func() { s.at = (s.at + by + n) % n } }
	change := func(by int) func() { return func() { s.change(s.at, by) } }
	var acts []action
	if s.m.Landscape { // which has room for one group
		label, to := s.Say("settings.my_rig"), s.first(true)
		if settingsTable[s.at].myRig {
			label, to = s.Say("settings.screen_sound"), 0
		}
		acts = append(acts, action{id: "half", keys: []ebiten.Key{ebiten.KeyEnter}, cap: "cap.enter", label: label, do: func() { s.at = to }})
	}
	acts = append(acts, s.rowActions(move, change)...)
	return append(acts,
		action{id: "reset", keys: []ebiten.Key{ebiten.KeyBackspace}, cap: "cap.backspace", label: s.Say("settings.reset_rig"), do: func() {
			s.prefs.change(func(p *settings) { p.MyRig = defaultRig() })
		}},
		s.helpAction(s.to), s.leaveAction(s.to))
}

// change changes a row by steps and makes it the chosen one.
func (s *settingsScene) change(row, by int) {
	s.at = row
	s.prefs.change(func(p *settings) { settingsTable[row].step(p, by) })
}

// first is the first row of a group.
func (s *settingsScene) first(myRig bool) int {
	return slices.IndexFunc(settingsTable, func(row setting) bool { return row.myRig == myRig })
}

func (s *settingsScene) Draw(c *draw.Canvas) {
	bar := s.drawBar(c, s.Actions())
	top := s.drawHead(c, s.Say("settings.title"), s.Say("settings.sub"), "", "")
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-6)
	rig := s.first(true)
	first, second := settingsTable[:rig], settingsTable[rig:]
	most := 58 * c.M.Text
	if c.M.Finger > 0 {
		most = c.M.Finger * 1.5
	}
	head := 26 * c.M.Text
	switch {
	case c.M.Landscape && s.at < rig:
		s.drawGroup(c, place, first, 0, 2, most)
	case c.M.Landscape:
		s.drawGroup(c, place, second, rig, 2, most)
	case c.M.Portrait:
		most = math.Min(most, (place.H-2*head)/float64(len(settingsTable)))
		up, down := place.CutTop(head + most*float64(len(first)))
		s.drawGroup(c, up, first, 0, 1, most)
		s.drawGroup(c, down, second, rig, 1, most)
	default:
		cols := place.Columns(2, 56)
		s.drawGroup(c, cols[0], first, 0, 1, most)
		s.drawGroup(c, cols[1], second, rig, 1, most)
	}
}

// drawGroup draws rows, the first of which is number from, under their title, in
// columns, none higher than most.
func (s *settingsScene) drawGroup(c *draw.Canvas, r draw.Rect, rows []setting, from, columns int, most float64) {
	title := s.Say("settings.screen_sound")
	if rows[0].myRig {
		title = s.Say("settings.my_rig")
	}
	head, r := r.CutTop(26 * c.M.Text)
	c.Text(head.X, head.Y+18*c.M.Text, title, draw.Style{Size: 17, Color: c.Theme.Ink, Bold: true})
	lines := (len(rows) + columns - 1) / columns
	h := math.Min(most, r.H/float64(lines))
	list := rowList{chosen: s.at - from, change: func(i, by int) { s.change(from+i, by) }}
	for _, row := range rows {
		list.rows = append(list.rows, listRow{name: "set." + row.key, label: s.Say("settings." + row.key), value: row.value(&s.prefs.settings, s.Speech), fixed: row.step == nil})
	}
	cols := r.Columns(columns, 32)
	s.drawRows(c, list, func(i int) draw.Rect {
		return draw.R(cols[i/lines].X, r.Y+h*float64(i%lines), cols[0].W, h)
	})
}
