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
var style template.CSS

//go:embed page.gohtml
var pageText string

// functions are what the page says in words.
func functions(w Words) template.FuncMap {
	known := func(write func(float64, int) string) func(float64, int) string {
		return func(v float64, digits int) string {
			if math.IsNaN(v) {
				return "–"
			}
			return write(v, digits)
		}
	}
	return template.FuncMap{"say": w.Say, "number": known(w.Number), "signed": known(w.Signed), "sheet": w.SheetWords,
		"nth":    func(i int) int { return i + 1 },
		"family": func(family any) string { return w.Say(fmt.Sprint("family.", family)) }}
}

// page is a book as its page asks for it.
type page struct{ *Book }

// slip is one learner's part of the page.
type slip struct {
	page
	Learner *Learner
}

// Style is the page's own.
func (page) Style() template.CSS { return style }

// Slip is the part of a learner.
func (p page) Slip(l *Learner) slip { return slip{p, l} }

// execute writes a part of the page in the book's words.
func (b *Book) execute(w io.Writer, name string, v any) error {
	t, err := template.New("page").Funcs(functions(b.Words)).Parse(pageText)
	if err == nil {
		err = t.ExecuteTemplate(w, name, v)
	}
	if err != nil {
		return fmt.Errorf("writing the mark book: %w", err)
	}
	return nil
}

// WriteHTML writes the mark book as one page.
func (b *Book) WriteHTML(w io.Writer) error { return b.execute(w, "page", page{b}) }

// WriteSlip writes one learner's page, in words that may be other than the
// book's.
func (b *Book) WriteSlip(w io.Writer, l *Learner, words Words) error {
	own := *b
	own.Words = words
	return own.execute(w, "alone", page{&own}.Slip(l))
}

// Language is the one in which a learner played last; empty if no hand-in of
// theirs says.
func (l *Learner) Language() string {
	return l.Entries[len(l.Entries)-1].Language
}

// When is the time that is printed on the page.
func (p page) When() string {
	if p.Now.IsZero() {
		return ""
	}
	return p.Now.Format("2006-01-02, 15:04")
}

// Day is when a hand-in came, and whether that was late.
func (p page) Day(e *Entry) string {
	day := e.at().Format(time.DateOnly)
	if e.Late {
		day += " " + p.Words.Say("book.late")
	}
	return day
}

// interval is the value of an interval and its ends, as they stand in a sentence.
func (p page) interval(i progress.Interval, digits int) []any {
	return []any{p.Words.Signed(i.Value, digits), p.Words.Signed(i.Lo, digits), p.Words.Signed(i.Hi, digits)}
}

// Trend is that of a learner's points from sheet to sheet.
func (p page) Trend(l *Learner) string {
	if !l.Trend.OK {
		return ""
	}
	return p.Words.Say("book.trend", p.interval(l.Trend, 1)...)
}

// Kind is what a round's source is.
func (p page) Kind(r *Round) string {
	if r.Info.Channels > 1 {
		return p.Words.Say("book.channels", r.Info.Channels)
	}
	return p.Words.Kind(r.Info.Kind)
}

// mostLeanings is how many lines a sheet has of who leans where.
const mostLeanings = 60

// Leaning lists who leans where in a sheet: the most, how many are left out, how many
// intervals they were picked from and how many of these exclude zero by chance.
func (p page) Leaning(s *Sheet) (v struct {
	List                    []Leaning
	More, Intervals, Chance int
}) {
	v.List, v.Intervals = s.Leanings()
	v.Chance = max(1, int(math.Round(0.05*float64(v.Intervals))))
	if v.More = max(len(v.List)-mostLeanings, 0); v.More > 0 {
		v.List = v.List[:mostLeanings]
	}
	return v
}

// Lessons tells in a few sentences what the class needs, sheet by sheet.
func (p page) Lessons() []string {
	var says []string
	for _, s := range p.Sheets {
		of := ""
		if len(p.Sheets) > 1 {
			of = s.Code + ": "
		}
		for _, text := range p.lessons(s) {
			says = append(says, of+text)
		}
	}
	uncounted := 0
	for _, q := range p.Issues {
		if !q.Counted {
			uncounted++
		}
	}
	if uncounted > 0 {
		says = append(says, p.Words.Say("book.uncounted", uncounted))
	}
	return says
}

// lessons tells what the class needs after one sheet.
func (p page) lessons(s *Sheet) (says []string) {
	var worst *ClassStat
	enough := false
	for i := range s.Class {
		c := &s.Class[i]
		enough = enough || len(c.Answers) >= MinTakes
		if c.Claim() != 0 && (worst == nil || math.Abs(c.Bias.Value) > math.Abs(worst.Bias.Value)) {
			worst = c
		}
	}
	switch {
	case worst != nil:
		says = append(says, p.Words.Say("book.class_stops", p.Words.Say("family."+string(worst.Family)), p.Bias(worst.Stat),
			p.Words.Signed(worst.Bias.Lo, 1), p.Words.Signed(worst.Bias.Hi, 1)))
	case enough && len(s.Entries) > 1:
		says = append(says, p.Words.Say("book.class_even"))
	}
	if hard := s.Hardest(); len(hard) > 0 && hard[0].Share.Value < 0.5 {
		r := hard[0]
		text := p.Words.Say("book.round_hard", r.Index+1, r.Right, r.N)
		if 2*r.Like > r.N {
			text += p.Words.Say("book.round_needle", r.Like)
		}
		says = append(says, text)
	}
	return says
}

// Hard tells how a round went that is among the hardest.
func (p page) Hard(r *Round) string {
	says := p.Words.Say("book.hard_share", r.Right, r.N, p.Words.Number(100*r.Share.Lo, 0), p.Words.Number(100*r.Share.Hi, 0))
	if !r.Info.NoError {
		says += " " + p.Words.Say("book.hard_aim", p.Words.Signed(r.Verdict.AimDB, 1), p.Words.Signed(r.Median, 1))
	}
	if decided := p.Decided(r.Verdict); decided != "" {
		says += " " + decided
		if r.Like > 0 {
			says += " " + p.Words.Say("book.hard_needle", r.Like, r.N, p.Words.Number(r.AstrayDB(), 1))
		}
	}
	return says
}

// Decided tells what decided a round, and how far the needle under-reads.
func (p page) Decided(v drills.Verdict) string {
	switch {
	case v.DecidedBy == "":
		return ""
	case v.UnderReadDB < 0.5:
		return p.Words.Say("book.decided_"+string(v.DecidedBy)) + " " + p.Words.Say("book.hides_nothing")
	}
	return p.Words.Say("book.decided_"+string(v.DecidedBy)) + " " + p.Words.Say("book.hides", p.Words.Number(v.UnderReadDB, 1))
}

// Rig is how the desk of a round was lined up.
func (p page) Rig(r drills.Rig) string {
	switch {
	case r.Medium == "":
		return p.Words.Say("book.no_rig")
	case r.Soft():
		return p.Words.Say("book.rig_tape", p.Words.Signed(r.LampDBFS-r.ReferenceDBFS, 0))
	}
	return p.Words.Say("book.rig_digital", p.Words.Signed(r.ReferenceDBFS, 0), p.Words.Signed(r.CeilingDBFS, 0))
}

// Why is the reason of a verdict.
func (p page) Why(v drills.Verdict) string {
	_, reason := v.Sentences(p.Words.VerdictWords())
	return p.Words.Pointed(reason)
}

// Mark is what a take was, in a word, and the class of its colour.
func (p page) Mark(v drills.Verdict) (m struct{ Word, Class string }) {
	word := "wrong"
	m.Class = "hot"
	switch {
	case v.InWindow:
		word, m.Class = "right", "fine"
	case v.Clipped > 0:
		word = "clipped"
	case v.ErrorDB > 0:
		word = "hot"
	case v.ErrorDB < 0:
		word, m.Class = "cold", "cold"
	}
	m.Word = p.Words.Say("book.mark_" + word)
	return m
}

// Advice is what to tell one learner about a hand-in.
func (p page) Advice(e *Entry) string {
	var worst, wide Stat
	var family, wideFamily string
	for _, c := range e.Sheet.Class {
		s, f := e.ByFamily[c.Family], c.Family
		if s.Claim() != 0 && (family == "" || math.Abs(s.Bias.Value) > math.Abs(worst.Bias.Value)) {
			worst, family = s, string(f)
		}
		if len(s.Answers) >= MinTakes && s.Spread.Value > wide.Spread.Value {
			wide, wideFamily = s, string(f)
		}
	}
	switch {
	case family != "":
		return p.Words.Say("book.you_stop", p.Words.Say("family."+family), p.Bias(worst))
	case e.All.Claim() != 0:
		return p.Words.Say("book.you_stop_all", p.Bias(e.All))
	case wide.Spread.Value > 1.5:
		return p.Words.Say("book.you_scatter", p.Words.Say("family."+wideFamily), p.Words.Number(wide.Spread.Value, 1))
	case len(e.All.Answers) < MinTakes:
		return p.Words.Say("book.too_few")
	}
	return p.Words.Say("book.you_even")
}

// Heading is what the class calls itself, or what the page is.
func (p page) Heading() string { return cmp.Or(p.Title, p.Words.Say("book.title")) }

// ChangeWords tells what the class gained from its first test form to its second,
// and a week later.
func (p page) ChangeWords() string {
	c := p.Change
	if !c.Mean.OK {
		return p.Words.Say("book.change_few", len(c.Pairs))
	}
	text := p.change("book.change_says", c.Change)
	if c.Later.Mean.OK {
		text += " " + p.change("book.change_later", c.Later)
	}
	return text
}

func (p page) change(key string, c progress.Change) string {
	text := p.Words.Say(key, append(p.interval(c.Mean, 2), c.Learners)...)
	if c.Effect.OK {
		text += " " + p.Words.Say("book.effect_says", p.interval(c.Effect, 2)...)
	}
	return text
}
