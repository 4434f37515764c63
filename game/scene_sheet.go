package game

import (
	"fmt"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
)

// sheetScene makes a sheet for a class and shows its class code, large enough to
// be copied to a whiteboard.
type sheetScene struct {
	base
	to     sheetGuide
	draft  *draft
	prefs  *keeper
	at     int    // the chosen row
	second bool   // a phone on its side shows the second half of the rows
	told   string // what a probe knows
}

// sheetGuide is where the sheet leads to.
type sheetGuide interface {
	guide
	Join(code, who string)
}

// halfRows are the rows that a phone on its side has room for; past twice as
// many are the families, which are always there.
const halfRows = 4

func (s *sheetScene) Name() string { return "sheet" }

func (s *sheetScene) Actions() []action {
	rows := s.draft.rows(s.Speech)
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
			if step := rows[s.at].step; step != nil {
				step(by)
			}
		}
	}
	var acts []action
	if s.m.Landscape {
		acts = append(acts, action{id: "half", cap: "cap.tab", label: s.Say("sheet.more"), do: func() {
			s.second = !s.second
			s.at = s.half()
		}})
	}
	acts = append(acts, action{id: "enter", keys: enterKeys, cap: "cap.enter", label: s.Say("sheet.play"), do: s.play})
	acts = append(append(acts, s.rowActions(move, change)...), []action{
		{id: "another", keys: []ebiten.Key{ebiten.KeyN}, cap: "cap.n", label: s.Say("sheet.another"), do: s.draft.reseed},
		{id: "save", keys: []ebiten.Key{ebiten.KeyS}, cap: "cap.s", label: s.Say("sheet.save"), do: s.save},
		s.helpAction(s.to),
		{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: s.Say("sheet.back"), do: func() { s.to.Join("", "") }},
	}...)
	for i, f := range source.Generated() {
		acts = append(acts, action{id: "family", keys: []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i)}, do: func() { s.draft.toggle(f) }})
	}
	return acts
}

// half is the first row of the half that is shown.
func (s *sheetScene) half() int {
	if s.second {
		return halfRows
	}
	return 0
}

// Update tells a probe what has been made.
func (s *sheetScene) Update(*state) {
	n, code, err := s.draft.made(s.prefs.settings)
	if now := fmt.Sprint(s.at, code, err); s.told != now {
		s.told = now
		s.note("sheet", map[string]any{"row": s.draft.rows(s.Speech)[s.at].key, "code": code, "words": s.SheetWords(n), "failed": err != nil})
	}
}

// play joins with the sheet's code.
func (s *sheetScene) play() {
	if _, code, err := s.draft.made(s.prefs.settings); err == nil {
		s.to.Join(code, "")
	}
}

// save writes the sheet file.
func (s *sheetScene) save() {
	n, code, err := s.draft.made(s.prefs.settings)
	if err != nil {
		return
	}
	file, err := n.File()
	where := "sheet-" + strings.ToLower(strings.ReplaceAll(code, " ", "-")) + ".json"
	if err == nil {
		where, err = writeDocument(where, file)
	}
	if err != nil {
		s.tell(s.Say("sheet.not_saved", s.Fault(err)))
		return
	}
	s.tell(s.Say("sheet.saved", where))
	s.note("saved", map[string]any{"file": where})
}
