package class

import (
	"fmt"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
)

// Sheet makes a sheet for a class and shows its class code, large enough to
// be copied to a whiteboard.
type Sheet struct {
	scene.Base
	To     sheetGuide
	Draft  *practice.Draft
	Prefs  *store.Keeper
	at     int    // the chosen row
	second bool   // the second half of the rows is shown, where there is room for one
	told   string // what a probe knows
}

// sheetGuide is where the sheet leads to.
type sheetGuide interface {
	scene.Guide
	Join(code, who string)
}

// halfRows are the rows that a phone on its side has room for; past twice as
// many are the families, which are always there.
const halfRows = 4

func (s *Sheet) Name() string { return "sheet" }

func (s *Sheet) Actions() []hand.Action {
	rows := s.Draft.Rows(s.Speech)
	move := func(by int) func() {
		return func() {
			s.at = (s.at + by + len(rows)) % len(rows)
			if s.at < 2*halfRows {
				s.second = s.at >= halfRows
			}
		}
	}
	change := func(by int) func() {
		return func() {
			if step := rows[s.at].Step; step != nil {
				step(by)
			}
		}
	}
	var acts []hand.Action
	if s.halves() {
		acts = append(acts, hand.Action{ID: "half", Cap: "cap.tab", Label: s.Say("sheet.more"), Do: func() {
			s.second = !s.second
			s.at = s.half()
		}})
	}
	acts = append(acts, hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("sheet.play"), Do: s.play})
	acts = append(append(acts, s.RowActions(move, change)...), []hand.Action{
		{ID: "another", Keys: []ebiten.Key{ebiten.KeyN}, Cap: "cap.n", Label: s.Say("sheet.another"), Do: s.Draft.Reseed},
		{ID: "save", Keys: []ebiten.Key{ebiten.KeyS}, Cap: "cap.s", Label: s.Say("sheet.save"), Do: s.save},
		s.HelpAction(s.To),
		{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("sheet.back"), Do: func() { s.To.Join("", "") }},
	}...)
	for i, f := range source.Generated() {
		acts = append(acts, hand.Action{ID: "family", Keys: []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i)}, Do: func() { s.Draft.Toggle(f) }})
	}
	return acts
}

// halves reports whether there is room for half of the rows only.
func (s *Sheet) halves() bool {
	return s.M.Landscape || s.M.Portrait && s.M.H < 15*s.M.Finger
}

// half is the first row of the half that is shown.
func (s *Sheet) half() int {
	if s.second {
		return halfRows
	}
	return 0
}

// Update tells a probe what has been made.
func (s *Sheet) Update(*hand.State) {
	n, code, err := s.Draft.Made(s.Prefs.Settings)
	if now := fmt.Sprint(s.at, code, err); s.told != now {
		s.told = now
		s.Note("sheet", map[string]any{"row": s.Draft.Rows(s.Speech)[s.at].Key, "code": code, "words": s.SheetWords(n), "failed": err != nil})
	}
}

// play joins with the sheet's code.
func (s *Sheet) play() {
	if _, code, err := s.Draft.Made(s.Prefs.Settings); err == nil {
		s.To.Join(code, "")
	}
}

// save writes the sheet file.
func (s *Sheet) save() {
	n, code, err := s.Draft.Made(s.Prefs.Settings)
	if err != nil {
		return
	}
	file, err := n.File()
	where := "sheet-" + strings.ToLower(strings.ReplaceAll(code, " ", "-")) + ".json"
	if err == nil {
		where, err = store.WriteDocument(where, file)
	}
	if err != nil {
		s.Tell(s.Say("sheet.not_saved", s.Fault(err)))
		return
	}
	s.Tell(s.Say("sheet.saved", where))
	s.Note("saved", map[string]any{"file": where})
}
