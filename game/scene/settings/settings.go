// Package settings is the screen of what can be set.
package settings

import (
	"math"
	"slices"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Scene lists what can be set, in two groups of rows: the screen and
// the sound, and the learner's own rig.
type Scene struct {
	scene.Base
	To    scene.Guide
	Prefs *store.Keeper
	at    int         // the chosen row
	asked chan answer // what is being found out beside the window; nil: nothing
	by    int         // steps to take then
}

// answer is what was found out for a row.
type answer struct {
	step func(s *store.Settings, by int)
	err  error
}

func (s *Scene) Name() string { return "settings" }

func (s *Scene) Actions() []hand.Action {
	n := 0 // rows that can be set
	for _, row := range store.SettingsTable {
		if !row.Fixed() {
			n++
		}
	}
	move := func(by int) func() { return func() { s.at = (s.at + by + n) % n } }
	change := func(by int) func() { return func() { s.change(s.at, by) } }
	var acts []hand.Action
	if s.M.Phone { // which has room for a page of them
		next, label := s.page().next, s.Say("settings.more")
		if next == s.first(true) {
			label = s.Say("settings.my_rig")
		}
		acts = append(acts, hand.Action{ID: "half", Keys: []ebiten.Key{ebiten.KeyEnter}, Cap: "cap.enter", Label: label, Do: func() { s.at = next }})
	}
	acts = append(acts, s.RowActions(move, change)...)
	return append(acts,
		hand.Action{ID: "reset", Keys: []ebiten.Key{ebiten.KeyBackspace}, Cap: "cap.backspace", Label: s.Say("settings.reset_rig"), Do: func() {
			s.Prefs.Change(func(p *store.Settings) { p.MyRig = store.DefaultRig() })
		}},
		s.HelpAction(s.To), s.LeaveAction(s.To))
}

// change changes a row by steps and makes it the chosen one.
func (s *Scene) change(row, by int) {
	s.at = row
	ask := store.SettingsTable[row].Ask
	if ask == nil {
		s.Prefs.Change(func(p *store.Settings) { store.SettingsTable[row].Step(p, by) })
		return
	}
	s.by += by
	if s.asked == nil {
		ch := make(chan answer, 1)
		s.asked = ch
		go func() {
			step, err := ask()
			ch <- answer{step, err}
		}()
	}
}

// Update takes the steps that had to wait for what was found out.
func (s *Scene) Update(*hand.State) {
	select {
	case a := <-s.asked:
		if a.err != nil {
			s.Tell(s.Fault(a.err))
		}
		s.Prefs.Change(func(p *store.Settings) { a.step(p, s.by) })
		s.asked, s.by = nil, 0
	default:
	}
}

// pageRows is how many rows a phone has room for at once.
const pageRows = 10

// page is the rows that a phone shows, from one up to another, and the first of the page
// that follows.
type page struct{ from, to, next int }

func (s *Scene) page() page {
	rig, all := s.first(true), len(store.SettingsTable)
	from, to := 0, rig
	if s.at >= rig {
		from, to = rig, all
	}
	from += (s.at - from) / pageRows * pageRows
	p := page{from, min(from+pageRows, to), 0}
	p.next = p.to % all
	return p
}

// first is the first row of a group.
func (s *Scene) first(myRig bool) int {
	return slices.IndexFunc(store.SettingsTable, func(row store.Setting) bool { return row.MyRig == myRig })
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("settings.title"), s.Say("settings.sub"), "", "")
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-6)
	rig := s.first(true)
	first, second := store.SettingsTable[:rig], store.SettingsTable[rig:]
	most := 58 * c.M.Text
	if c.M.Finger > 0 {
		most = c.M.Finger * 1.5
	}
	head := 26 * c.M.Text
	switch {
	case c.M.Phone:
		p, columns := s.page(), 1
		if c.M.Landscape {
			columns = 2
		}
		s.drawGroup(c, place, store.SettingsTable[p.from:p.to], p.from, columns, most)
	case c.M.Portrait:
		most = math.Min(most, (place.H-2*head)/float64(len(store.SettingsTable)))
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
func (s *Scene) drawGroup(c *draw.Canvas, r draw.Rect, rows []store.Setting, from, columns int, most float64) {
	title := s.Say("settings.screen_sound")
	if rows[0].MyRig {
		title = s.Say("settings.my_rig")
	}
	head, r := r.CutTop(26 * c.M.Text)
	c.Text(head.X, head.Y+18*c.M.Text, title, draw.Style{Size: 17, Color: c.Theme.Ink, Bold: true})
	lines := (len(rows) + columns - 1) / columns
	h := math.Min(most, r.H/float64(lines))
	list := widget.RowList{Chosen: s.at - from, Change: func(i, by int) { s.change(from+i, by) }}
	for _, row := range rows {
		list.Rows = append(list.Rows, widget.ListRow{Name: "set." + row.Key, Label: s.Say("settings." + row.Key), Value: row.Value(&s.Prefs.Settings, s.Speech), Fixed: row.Fixed()})
	}
	cols := r.Columns(columns, 32)
	s.DrawRows(c, list, func(i int) draw.Rect {
		return draw.R(cols[i/lines].X, r.Y+h*float64(i%lines), cols[0].W, h)
	})
}
