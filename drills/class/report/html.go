package report

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/progress"
)

//go:embed style.css
var style string

//go:embed page.gohtml
var pageText string

// page is parsed once; each book puts its words in place of say.
var page = template.Must(template.New("page").Funcs(template.FuncMap{"say": fmt.Sprint}).Parse(pageText))

// mostLeanings is how many lines a sheet has of who leans where.
const mostLeanings = 60

// pageView is the page in words and plots.
type pageView struct {
	*Book
	Style   template.CSS
	Counts  string
	Lessons []string // what to teach next
	Course  []courseRow
	Sheets  []sheetView
	Slips   []slipView
}

// courseRow is a learner over all sheets.
type courseRow struct {
	Slip, Who, Trend string
	Points           string
	Doubt            bool
	Cells            []courseCell
}

type courseCell struct{ Points, Day string }

type sheetView struct {
	*Sheet
	Words     string
	ClassPlot template.HTML
	Hard      *hardView
	Head      template.HTML
	Rows      []rowView
	Leanings  []leanView
	More      string
	Chance    string
	Rounds    []roundView
}

type rowView struct {
	Slip, Who, Points, Right string
	Doubt                    bool
	Cells                    []template.HTML
}

type leanView struct{ Slip, Who, Family, Words, Detail, Class string }

type hardView struct {
	Name, Says string
	Plot       template.HTML
	Next       []string
}

type roundView struct {
	Name, Kind, Says, Decided string
	Plot                      template.HTML
}

type slipView struct {
	ID, Title, Who, Points string
	Parts                  []slipPart
}

type slipPart struct {
	Code, Words, When, Points, Says string
	Plot                            template.HTML
	Rows                            []slipRow
}

type slipRow struct {
	N                                             int
	Kind, Rig, Aim, You, Error, Says, Mark, Class string
}

// execute writes a part of the page in the book's words.
func (b *Book) execute(w io.Writer, name string, v any) error {
	t, err := page.Clone()
	if err == nil {
		err = t.Funcs(template.FuncMap{"say": b.Words.Say}).ExecuteTemplate(w, name, v)
	}
	if err != nil {
		return fmt.Errorf("writing the mark book: %w", err)
	}
	return nil
}

// WriteHTML writes the mark book as one page.
func (b *Book) WriteHTML(w io.Writer) error { return b.execute(w, "page", b.view()) }

// WriteSlip writes one learner's page, in words that may be other than the
// book's.
func (b *Book) WriteSlip(w io.Writer, l *Learner, words Words) error {
	own := *b
	own.Words = words
	return own.execute(w, "alone", struct {
		Style template.CSS
		slipView
	}{template.CSS(style), own.slip(l)})
}

// Language is the one in which a learner played last; empty if no hand-in of
// theirs says.
func (l *Learner) Language() string {
	return l.Entries[len(l.Entries)-1].Language
}

// When is the time that is printed on the page.
func (b *Book) When() string {
	if b.Now.IsZero() {
		return ""
	}
	return b.Now.Format("2006-01-02, 15:04")
}

func (b *Book) view() pageView {
	v := pageView{Book: b, Style: template.CSS(style), Lessons: b.lessons()}
	v.Counts = b.Words.Say("book.counts", b.Counted, len(b.Learners), b.Files)
	for _, l := range b.Learners {
		v.Slips = append(v.Slips, b.slip(l))
		row := courseRow{Slip: b.slipID(l), Who: l.Who, Points: b.Words.Number(l.Points, 0), Doubt: len(l.Doubts) > 0}
		if l.Trend.OK {
			row.Trend = b.Words.Say("book.trend", b.Words.Signed(l.Trend.Value, 1), b.Words.Signed(l.Trend.Lo, 1), b.Words.Signed(l.Trend.Hi, 1))
		}
		for _, s := range b.Sheets {
			cell := courseCell{}
			for _, e := range l.Entries {
				if e.Sheet == s {
					cell = courseCell{b.Words.Number(e.Points, 0), b.day(e)}
				}
			}
			row.Cells = append(row.Cells, cell)
		}
		v.Course = append(v.Course, row)
	}
	for _, s := range b.Sheets {
		v.Sheets = append(v.Sheets, b.sheetView(s))
	}
	return v
}

// day is when a hand-in came, and whether that was late.
func (b *Book) day(e *Entry) string {
	day := e.at().Format(time.DateOnly)
	if e.Late {
		day += " " + b.Words.Say("book.late")
	}
	return day
}

func (b *Book) slipID(l *Learner) string {
	for i, one := range b.Learners {
		if one == l {
			return fmt.Sprintf("slip-%d", i+1)
		}
	}
	return ""
}

func (b *Book) sheetView(s *Sheet) sheetView {
	v := sheetView{Sheet: s, Words: b.Words.SheetWords(s.Sheet), ClassPlot: b.classPlot(s)}
	var errors, means []float64
	for _, r := range s.Rounds {
		for _, a := range r.Answers {
			errors = append(errors, a.ErrorDB)
		}
	}
	ids := make(map[*Learner]string)
	for _, e := range s.Entries {
		ids[e.Learner] = b.slipID(e.Learner)
		for _, st := range e.ByFamily {
			means = append(means, math.Abs(st.Bias.Value)+1)
		}
	}
	limit := limitFor(errors)
	a := errorAxis{limitFor(means), 4, 96}
	v.Head = b.cellHead(a)
	for _, e := range s.Entries {
		row := rowView{Who: e.Learner.Who, Slip: ids[e.Learner], Points: b.Words.Number(e.Points, 0), Doubt: len(e.Learner.Doubts) > 0,
			Right: fmt.Sprintf("%d/%d", e.All.Right, e.All.N), Cells: []template.HTML{b.cell(a, e.All)}}
		for _, f := range s.Families {
			row.Cells = append(row.Cells, b.cell(a, e.ByFamily[f]))
		}
		v.Rows = append(v.Rows, row)
	}
	leanings, intervals := s.Leanings()
	if more := len(leanings) - mostLeanings; more > 0 {
		v.More = b.Words.Say("book.more_leanings", more)
		leanings = leanings[:mostLeanings]
	}
	for _, l := range leanings {
		v.Leanings = append(v.Leanings, leanView{
			Who: l.Learner.Who, Slip: ids[l.Learner], Family: b.Words.Say("family." + string(l.Family)), Class: l.Stat.class(),
			Words:  b.biasWords(l.Stat),
			Detail: b.Words.Say("book.lean_detail", b.Words.Signed(l.Stat.Bias.Lo, 1), b.Words.Signed(l.Stat.Bias.Hi, 1), l.Stat.N, l.Stat.Hot+l.Stat.Cold, b.Words.Number(l.Stat.Spread.Value, 1)),
		})
	}
	if intervals > 0 {
		v.Chance = b.Words.Say("book.chance", intervals, max(1, int(math.Round(0.05*float64(intervals)))))
	}
	v.Hard = b.hardest(s, limit)
	for _, r := range s.Rounds {
		if n := len(r.Answers); n > 0 {
			says := b.Words.Say("book.of_right", r.Right, n)
			if !r.Info.NoError {
				says = b.Words.Say("book.round", r.Right, n, r.Hot, r.Cold, b.Words.Signed(r.Median, 1))
			}
			v.Rounds = append(v.Rounds, roundView{
				Name: fmt.Sprintf("%d · %s", r.Index+1, b.Words.Say("family."+string(r.Info.Family))),
				Kind: b.kind(r) + " · " + b.rig(r.Info.Rig), Says: says, Decided: b.decided(r.Verdict), Plot: b.roundPlot(r, limit),
			})
		}
	}
	return v
}

// kind is what a round's source is.
func (b *Book) kind(r *Round) string {
	if r.Info.Channels > 1 {
		return b.Words.Say("book.channels", r.Info.Channels)
	}
	return b.Words.Kind(r.Info.Kind)
}

// lessons tells in a few sentences what the class needs, sheet by sheet.
func (b *Book) lessons() []string {
	var says []string
	for _, s := range b.Sheets {
		var worst *ClassStat
		said := false
		for i := range s.Class {
			c := &s.Class[i]
			said = said || len(c.Answers) >= MinTakes
			if c.Claim() != 0 && (worst == nil || math.Abs(c.Bias.Value) > math.Abs(worst.Bias.Value)) {
				worst = c
			}
		}
		of := ""
		if len(b.Sheets) > 1 {
			of = s.Code + ": "
		}
		switch {
		case worst != nil:
			says = append(says, of+b.Words.Say("book.class_stops", b.Words.Say("family."+string(worst.Family)), b.biasWords(worst.Stat),
				b.Words.Signed(worst.Bias.Lo, 1), b.Words.Signed(worst.Bias.Hi, 1)))
		case said && len(s.Entries) > 1:
			says = append(says, of+b.Words.Say("book.class_even"))
		}
		if hard := s.Hardest(); len(hard) > 0 && hard[0].Share.Value < 0.5 {
			r := hard[0]
			text := b.Words.Say("book.round_hard", r.Index+1, r.Right, len(r.Answers))
			if 2*r.Like > len(r.Answers) {
				text += b.Words.Say("book.round_needle", r.Like)
			}
			says = append(says, of+text)
		}
	}
	uncounted := 0
	for _, q := range b.Issues {
		if !q.Counted {
			uncounted++
		}
	}
	if uncounted > 0 {
		says = append(says, b.Words.Say("book.uncounted", uncounted))
	}
	return says
}

func (b *Book) hardest(s *Sheet, limit float64) *hardView {
	list := s.Hardest()
	if len(list) == 0 {
		return nil
	}
	name := func(r *Round) string {
		return b.Words.Say("book.round_name", r.Index+1, b.Words.Say("family."+string(r.Info.Family)), b.kind(r))
	}
	r := list[0]
	n := len(r.Answers)
	h := &hardView{Name: name(r), Plot: b.roundPlot(r, limit)}
	h.Says = b.Words.Say("book.hard_share", r.Right, n, b.Words.Number(100*r.Share.Lo, 0), b.Words.Number(100*r.Share.Hi, 0))
	if !r.Info.NoError {
		h.Says += " " + b.Words.Say("book.hard_aim", b.Words.Signed(r.Verdict.AimDB, 1), b.Words.Signed(r.Median, 1))
	}
	if decided := b.decided(r.Verdict); decided != "" {
		h.Says += " " + decided
		if r.Like > 0 {
			h.Says += " " + b.Words.Say("book.hard_needle", r.Like, n, b.Words.Number(r.AstrayDB(), 1))
		}
	}
	for _, q := range list[1:min(len(list), 4)] {
		h.Next = append(h.Next, name(q)+": "+b.Words.Say("book.of_right", q.Right, len(q.Answers)))
	}
	return h
}

// decided tells what decided a round, and how far the needle under-reads.
func (b *Book) decided(v drills.Verdict) string {
	switch {
	case v.DecidedBy == "":
		return ""
	case v.UnderReadDB < 0.5:
		return b.Words.Say("book.decided_"+string(v.DecidedBy)) + " " + b.Words.Say("book.hides_nothing")
	}
	return b.Words.Say("book.decided_"+string(v.DecidedBy)) + " " + b.Words.Say("book.hides", b.Words.Number(v.UnderReadDB, 1))
}

func (b *Book) rig(r drills.Rig) string {
	switch {
	case r.Medium == "":
		return b.Words.Say("book.no_rig")
	case r.Soft():
		return b.Words.Say("book.rig_tape", b.Words.Signed(r.LampDBFS-r.ReferenceDBFS, 0))
	}
	return b.Words.Say("book.rig_digital", b.Words.Signed(r.ReferenceDBFS, 0), b.Words.Signed(r.CeilingDBFS, 0))
}

// slip is one learner's page.
func (b *Book) slip(l *Learner) slipView {
	v := slipView{ID: b.slipID(l), Title: b.Title, Who: l.Who, Points: b.Words.Number(l.Points, 0)}
	sentences := b.Words.VerdictWords()
	for _, e := range l.Entries {
		part := slipPart{Code: e.Code, Words: b.Words.SheetWords(e.Sheet.Sheet), When: b.day(e), Points: b.Words.Number(e.Points, 0),
			Plot: b.slipPlot(e), Says: b.advice(e)}
		for i, t := range e.Verdicts {
			r := e.Sheet.Rounds[e.round(i)]
			_, reason := t.Sentences(sentences)
			row := slipRow{N: i + 1, Kind: b.Words.Say("family."+string(r.Info.Family)) + ": " + b.kind(r), Rig: b.rig(r.Info.Rig), Says: b.Words.Pointed(reason)}
			if !r.Info.NoError {
				row.Aim, row.You, row.Error = b.Words.Signed(t.AimDB, 1), b.Words.Signed(t.FaderDB, 1), b.Words.Signed(t.ErrorDB, 1)
			}
			mark := "wrong"
			row.Class = "hot"
			switch {
			case t.InWindow:
				mark, row.Class = "right", "fine"
			case t.Clipped > 0:
				mark = "clipped"
			case t.ErrorDB > 0:
				mark = "hot"
			case t.ErrorDB < 0:
				mark, row.Class = "cold", "cold"
			}
			row.Mark = b.Words.Say("book.mark_" + mark)
			part.Rows = append(part.Rows, row)
		}
		v.Parts = append(v.Parts, part)
	}
	return v
}

// advice is what to tell one learner about a hand-in.
func (b *Book) advice(e *Entry) string {
	var worst, wide Stat
	var family, wideFamily string
	for _, f := range e.Sheet.Families {
		s := e.ByFamily[f]
		if s.Claim() != 0 && (family == "" || math.Abs(s.Bias.Value) > math.Abs(worst.Bias.Value)) {
			worst, family = s, string(f)
		}
		if len(s.Answers) >= MinTakes && s.Spread.Value > wide.Spread.Value {
			wide, wideFamily = s, string(f)
		}
	}
	switch {
	case family != "":
		return b.Words.Say("book.you_stop", b.Words.Say("family."+family), b.biasWords(worst))
	case e.All.Claim() != 0:
		return b.Words.Say("book.you_stop_all", b.biasWords(e.All))
	case wide.Spread.Value > 1.5:
		return b.Words.Say("book.you_scatter", b.Words.Say("family."+wideFamily), b.Words.Number(wide.Spread.Value, 1))
	case len(e.All.Answers) < MinTakes:
		return b.Words.Say("book.too_few")
	}
	return b.Words.Say("book.you_even")
}

// Heading is what the class calls itself, or what the page is.
func (v pageView) Heading() string { return cmp.Or(v.Title, v.Book.Words.Say("book.title")) }

// ChangeWords tells what the class gained from its first test form to its second,
// and a week later.
func (v pageView) ChangeWords() string {
	c, w := v.Change, v.Book.Words
	if !c.Mean.OK {
		return w.Say("book.change_few", len(c.Pairs))
	}
	text := v.oneChange("book.change_says", c.Change)
	if c.Later.Mean.OK {
		text += " " + v.oneChange("book.change_later", c.Later)
	}
	return text
}

func (v pageView) oneChange(key string, c progress.Change) string {
	w, m := v.Book.Words, c.Mean
	text := w.Say(key, w.Signed(m.Value, 2), w.Signed(m.Lo, 2), w.Signed(m.Hi, 2), c.Learners)
	if e := c.Effect; e.OK {
		text += " " + w.Say("book.effect_says", w.Signed(e.Value, 2), w.Signed(e.Lo, 2), w.Signed(e.Hi, 2))
	}
	return text
}

// FormCells are a learner's test forms: which it was and the mean size of the error,
// three cells, those that were not played empty.
func (v pageView) FormCells(p Pair) (cells [3]string) {
	for i, e := range p.Forms {
		cells[i] = v.Book.Words.Say("book.form_cell", v.Book.Words.Number(p.SizesDB[i], 2), string(e.Sheet.Sheet.Form))
	}
	return cells
}
