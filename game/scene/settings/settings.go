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
	scene.Nothing
	Prefs  *store.Keeper
	at     int  // the chosen row
	fit    int  // how many rows a phone has room for
	asking bool // what there is to choose from is being found out
	by     int  // steps to take then
}

func (s *Scene) Name() string { return "settings" }

func (s *Scene) Actions() []hand.Action {
	free := slices.IndexFunc(store.SettingsTable, store.Setting.Fixed) // those that can be set
	var acts []hand.Action
	if s.fit > 0 {
		_, next := s.page()
		more := s.MoreAction(func() { s.at = next % len(store.SettingsTable) })
		if next == firstOfRig {
			more.Label = s.Say("settings.my_rig")
		}
		acts = append(acts, more)
	}
	acts = append(acts, s.RowActions(s.rows()[:free], s.at, func(i int) { s.at = i })...)
	return append(acts,
		hand.Action{ID: "reset", Keys: []ebiten.Key{ebiten.KeyBackspace}, Cap: "cap.backspace", Label: s.Say("settings.reset_rig"), Do: func() {
			s.Prefs.Change(func(p *store.Settings) { p.MyRig = store.DefaultRig() })
		}},
		s.HelpAction(), s.LeaveAction())
}

// rows are all settings.
func (s *Scene) rows() (all []widget.ListRow) {
	for i, row := range store.SettingsTable {
		r := widget.ListRow{Name: "set." + row.Key, Label: s.Say("settings." + row.Key), Value: row.Value(&s.Prefs.Settings, s.Speech)}
		if !row.Fixed() {
			r.Step = func(by int) { s.change(i, by) }
		}
		all = append(all, r)
	}
	return all
}

// change changes a row by steps and makes it the chosen one.
func (s *Scene) change(row, by int) {
	s.at = row
	ask := store.SettingsTable[row].Ask
	if ask == nil {
		s.Prefs.Change(func(p *store.Settings) { store.SettingsTable[row].Step(p, by) })
		return
	}
	if s.by += by; s.asking {
		return
	}
	s.asking = true
	s.Beside(func() func() {
		step, err := ask()
		return func() { // on another screen, perhaps
			if err != nil {
				s.Tell(s.Fault(err))
			}
			s.Prefs.Change(func(p *store.Settings) { step(p, s.by) })
			s.asking, s.by = false, 0
		}
	})
}

// firstOfRig is the first row of the learner's own rig.
var firstOfRig = slices.IndexFunc(store.SettingsTable, func(row store.Setting) bool { return row.MyRig })

// page is the rows that a phone shows, from one up to another.
func (s *Scene) page() (from, to int) {
	if s.at < firstOfRig {
		return widget.PageOf(firstOfRig, s.fit, s.at)
	}
	from, to = widget.PageOf(len(store.SettingsTable)-firstOfRig, s.fit, s.at-firstOfRig)
	return firstOfRig + from, firstOfRig + to
}

func (s *Scene) Draw(c *draw.Canvas) {
	top := s.DrawHead(c, s.Say("settings.title"), s.Say("settings.sub"), "", "")
	columns := 1
	if c.M.Landscape {
		columns = 2
	}
	if s.fit = 0; c.M.Phone {
		s.fit = 1 // for the key that leads to the next page
		s.fit = max(1, columns*int((s.BarTop(c, s.Actions())-top-6-groupHead*c.M.Text)/(c.M.Finger+3)))
	}
	bar := s.DrawBar(c, s.Actions())
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-6)
	all := len(store.SettingsTable)
	switch {
	case c.M.Phone:
		from, to := s.page()
		s.drawGroup(c, place, from, to, columns)
	case c.M.Portrait:
		up, down := place.CutTop(place.H * float64(firstOfRig+1) / float64(all+2))
		s.drawGroup(c, up, 0, firstOfRig, 1)
		s.drawGroup(c, down, firstOfRig, all, 1)
	default:
		cols := place.Columns(2, 56)
		s.drawGroup(c, cols[0], 0, firstOfRig, 1)
		s.drawGroup(c, cols[1], firstOfRig, all, 1)
	}
}

// groupHead is the height of a group's title, in units of text.
const groupHead = 26

// drawGroup draws rows from one up to another under their title, in columns.
func (s *Scene) drawGroup(c *draw.Canvas, r draw.Rect, from, to, columns int) {
	title := s.Say("settings.screen_sound")
	if from >= firstOfRig {
		title = s.Say("settings.my_rig")
	}
	head, r := r.CutTop(groupHead * c.M.Text)
	c.Text(head.X, head.Y+18*c.M.Text, title, draw.Style{Size: 17, Color: c.Theme.Ink, Bold: true})
	s.DrawRows(c, s.rows()[from:to], s.at-from, r, columns, math.Max(54*c.M.Text, c.M.Finger*1.5))
}
