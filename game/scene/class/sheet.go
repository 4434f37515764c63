package class

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Sheet makes a sheet for a class and shows its class code, large enough to
// be copied to a whiteboard.
type Sheet struct {
	scene.Base
	Draft  *practice.Draft
	Prefs  *store.Keeper
	at     int    // the chosen row
	second bool   // the second half of the rows is shown, where there is room for one
	told   string // what a probe knows
}

// halfRows are the rows that a phone on its side has room for; past twice as
// many are the families, which are always there.
const halfRows = 4

func (s *Sheet) Name() string { return "sheet" }

func (s *Sheet) Actions() []hand.Action {
	choose := func(row int) {
		if s.at = row; row < 2*halfRows {
			s.second = row >= halfRows
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
	acts = append(append(acts, s.RowActions(s.rows(), s.at, choose)...), []hand.Action{
		{ID: "another", Keys: []ebiten.Key{ebiten.KeyN}, Cap: "cap.n", Label: s.Say("sheet.another"), Do: s.Draft.Reseed},
		{ID: "save", Keys: []ebiten.Key{ebiten.KeyS}, Cap: "cap.s", Label: s.Say("sheet.save"), Do: s.save},
		s.HelpAction(),
		{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: s.Say("sheet.back"), Do: func() { s.To.Join("", "") }},
	}...)
	for i, f := range source.Generated() {
		acts = append(acts, hand.Action{ID: "family", Keys: []ebiten.Key{ebiten.KeyDigit1 + ebiten.Key(i)}, Do: func() { s.Draft.Toggle(f) }})
	}
	return acts
}

// rows are all that can be set; the last are the families.
func (s *Sheet) rows() (all []widget.ListRow) {
	for i, row := range s.Draft.Rows(s.Speech) {
		r := widget.ListRow{Name: "sheet." + row.Key, Label: s.Say("sheet." + row.Key), Value: row.Value}
		if row.Step != nil {
			r.Step = func(by int) { s.at = i; row.Step(by) }
		}
		all = append(all, r)
	}
	return all
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

func (s *Sheet) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("sheet.title"), s.Say("sheet.sub"), "", "")
	place := draw.R(draw.Margin, top-6, c.M.W-2*draw.Margin, bar-6-top+6)
	from, to, columns := 0, 2*halfRows, 2 // rows that are shown
	h := math.Min(54*c.M.Text, place.H*0.58/(halfRows+1))
	foot := 1.0 // lines of the families
	if s.halves() {
		from, to = s.half(), s.half()+halfRows
	}
	switch {
	case c.M.Landscape:
		h = math.Max(c.M.Finger, place.H*0.18)
	case c.M.Portrait:
		columns, foot = 1, 2
		h = math.Max(c.M.Finger, math.Min(c.M.Finger*1.15, place.H*0.066))
	}
	lines := (to - from) / columns
	h = math.Min(h, (place.H-3*c.Lead(draw.Style{Size: 18}))/(float64(lines)+foot)) // the code needs a line or two
	families, place := place.CutBottom(h * foot)
	rows, board := place.CutBottom(h * float64(lines))
	_, board = board.CutBottom(8)
	s.drawCode(c, board)
	s.DrawRows(c, s.rows()[from:to], s.at-from, rows, columns, h)
	s.drawFamilies(c, families, h)
}

// drawCode writes the code for the whiteboard, in groups of four, as large as
// its place allows, and the sheet in words under it.
func (s *Sheet) drawCode(c *draw.Canvas, r draw.Rect) {
	th := c.Theme
	c.Fill(r, 14, th.Panel)
	n, code, err := s.Draft.Made(s.Prefs.Settings)
	small := draw.Style{Size: 15, Color: th.Dim, Align: draw.Middle}
	mid := r.X + r.W/2
	if err != nil {
		c.Middle(mid, r.Y+r.H/2, c.Block(s.Fault(err), r.W-60, draw.Style{Size: 19, Color: th.Brick, Align: draw.Middle}))
		return
	}
	words := c.Shrink(s.SheetWords(n), r.W-40, draw.Style{Size: 18, Color: th.Ink, Align: draw.Middle}, 11, func(b draw.Block) bool {
		return len(b.Lines) == 1 || len(b.Lines) == 2 && b.Style.Size <= 15
	})
	head, foot := 14+18*c.M.Text, 10+words.Height()
	if r.H < head+foot+c.Lead(small) { // the code matters most
		head, foot = 4, 4
		words.Lines = nil
	} else {
		c.Text(mid, r.Y+8+16*c.M.Text, s.Say("sheet.code"), small)
	}
	place := draw.R(r.X+24, r.Y+head, r.W-48, r.H-head-foot)
	lines, big := codeLines(c, code, place)
	step := place.H / float64(len(lines))
	for i, l := range lines {
		c.Text(mid, place.Y+step*(float64(i)+0.5)+c.Size(big)*0.35, l, big)
	}
	c.Print(mid, r.Bottom()-foot+words.Lead*0.74, words)
}

// codeApart keeps the letters of a code from touching, as Q and J would.
const codeApart = 0.08

// codeLines breaks a code into the lines that let it be largest.
func codeLines(c *draw.Canvas, code string, r draw.Rect) ([]string, draw.Style) {
	st := draw.Style{Size: 10, Color: c.Theme.Ink, Bold: true, Align: draw.Middle, Apart: codeApart}
	groups := strings.Fields(code)
	var best []string
	for n := 1; n <= min(3, len(groups), max(1, int(r.H/c.Lead(st)))); n++ {
		var lines []string
		per, widest := (len(groups)+n-1)/n, 0.0
		if per > 1 && len(groups)%per == 1 {
			continue // a group would stand alone
		}
		for part := range slices.Chunk(groups, per) {
			l := strings.Join(part, "  ")
			lines = append(lines, l)
			widest = math.Max(widest, c.Width(l, draw.Style{Size: 100, Bold: true, Apart: codeApart}))
		}
		size := math.Min(100*r.W/widest, r.H/float64(len(lines))/c.M.Text/0.92)
		if size = math.Min(size, 150/c.M.Text); best == nil || size > st.Size*1.2 {
			best, st.Size = lines, size
		}
	}
	return best, st
}

// drawFamilies is the row of the families, each of which can be switched on and off;
// line is the height of one line of it.
func (s *Sheet) drawFamilies(c *draw.Canvas, r draw.Rect, line float64) {
	th := c.Theme
	at := len(s.Draft.Rows(s.Speech)) - 1
	name := draw.Style{Size: 17, Color: th.Dim}
	if s.at == at {
		widget.MarkRow(c, r)
		name.Color = th.Ink
	}
	label := c.Width(s.Say("sheet.families"), name)
	c.Fit(r.X+14, r.Y+line/2+6*c.M.Text, r.W*0.3, s.Say("sheet.families"), name)
	chips := draw.R(r.X+14+label+30, r.Y, r.W-label-50, line)
	if r.H > line*1.5 {
		chips = draw.R(r.X+14, r.Y+line, r.W-20, line)
	}
	have, list := s.Draft.Families(), source.Generated()
	w := math.Min(chips.W/float64(len(list)), 200*c.M.Text)
	h := math.Max(math.Min(36*c.M.Text, line-8), math.Min(c.M.Finger, line-2))
	x := chips.Right() - w*float64(len(list))
	if c.M.Portrait {
		x = chips.X
	}
	for i, f := range list {
		b := draw.R(x+w*float64(i)+4, chips.Y+(line-h)/2, w-8, h)
		text := s.FamilyIn(c, f, b.W-12, draw.Style{Size: 16, Bold: true})
		if !c.M.Portrait && !c.M.Phone {
			text = strconv.Itoa(i+1) + "  " + text
		}
		if !slices.Contains(have, f) {
			c.Fit(b.X+b.W/2, b.Y+h/2+6*c.M.Text, b.W-12, text, draw.Style{Size: 16, Color: th.Faint, Align: draw.Middle})
			continue
		}
		in := len(s.Draft.Sheet.Families) == 0 || slices.Contains(s.Draft.Sheet.Families, f)
		s.Chip(c, "sheet.family."+string(f), b, text, s.Say("family."+string(f)), in, draw.Style{Size: 16}, func() { s.at = at; s.Draft.Toggle(f) })
	}
}
