package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/roster"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
	"slowneedle/drills/series"
)

// Figures of the report.
const (
	MinTakes  = 4   // takes that a claim about a learner needs
	clearBias = 0.5 // dB: smaller is not worth a word
	likeDB    = 1.0 // dB within which an answer counts as the needle's
	fewest    = 3   // answers that a word about a round needs
)

// Words put the mark book into a language; game/words has those of the trainer.
type Words interface {
	Say(key string, args ...any) string  // a text, with what stands in it
	Number(v float64, digits int) string // as the language writes numbers
	Signed(v float64, digits int) string // with its sign
	Kind(kind string) string             // what a source is inside its family
	SheetWords(s sheet.Sheet) string     // what a sheet asks for, in a line
	VerdictWords() drills.Words          // sentences of verdicts
	Pointed(sentence string) string      // a sentence with numbers as the language writes them
	Put(x said.Sentence) string          // a sentence with a code
}

// Options say how a report is made.
type Options struct {
	Title  string        // of the class
	Now    time.Time     // printed on the page, if not zero
	Words  Words         // of the page
	Roster roster.Roster // of the class; empty: whoever handed in is in it
	CSV    CSVOptions
	// Returns are verdicts on what came back from real desks; the page has them
	// in a table of their own, and no other figure is made of them.
	Returns []series.Judged
	// Withheld are the class codes of exams that are not over: nothing of them may
	// be in the book.
	Withheld []string
}

// Book is a class put together.
type Book struct {
	Options
	Sheets   []*Sheet       // in the order in which the first of each was handed in
	Learners []*Learner     // by name
	Absent   []roster.Entry // those of the roster who handed in nothing
	Issues   []Issue        // hand-ins that need a look
	Files    int            // looked at
	Counted  int            // hand-ins that the figures are made of
	Change   *Change        // between test forms; nil: nobody has played two
}

// Sheet is one sheet that was handed in, with its rounds and what the class made
// of it.
type Sheet struct {
	Sheet   sheet.Sheet
	Code    string
	Rounds  []*Round
	Entries []*Entry    // by the learners' names
	Class   []ClassStat // for each family that has takes, in teaching order

	limit float64 // end of the axis that its errors are drawn on, dB
}

// Answer is a take as the report counts it.
type Answer struct {
	ErrorDB   float64 // from the aim; hot is positive
	OutsideDB float64 // how far outside the round's own window, 0 inside
	Right     bool
	half      float64 // the window's width to that side, dB
}

// Round is what the class made of one round.
type Round struct {
	Tally
	Index   int // from 0
	Info    handin.Info
	Verdict drills.Verdict // of the first answer: what the round itself is
	Answers []Answer
	Median  float64 // error, dB
	Like    int     // answers that stand where the needle alone would put them, if something else decided
	Share   progress.Interval
}

// AstrayDB is how far above the aim the needle alone would lead.
func (r *Round) AstrayDB() float64 { return r.Info.Rig.TargetVU - r.Verdict.AimVU }

// Learner is one of the class.
type Learner struct {
	Number  int    // by name, from 1
	ID      string // of the roster; empty: not in it
	Who     string
	Entries []*Entry          // in the order of Book.Sheets
	Points  float64           // mean over sheets
	Trend   progress.Interval // of the points from sheet to sheet
	Doubts  []string
}

// Entry is one hand-in of a learner that counts, with its figures.
type Entry struct {
	Submission
	Sheet    *Sheet
	Learner  *Learner
	Answers  []Answer // one for each verdict
	All      Stat
	ByFamily map[source.Family]Stat
}

// Round is what the class made of the round that a take is of.
func (e *Entry) Round(take int) *Round { return e.Sheet.Rounds[e.RoundOf(take)] }

// On returns a learner's hand-in for a sheet, or nil.
func (l *Learner) On(s *Sheet) *Entry {
	for _, e := range l.Entries {
		if e.Sheet == s {
			return e
		}
	}
	return nil
}

// Issue is a hand-in that needs a look, and why.
type Issue struct {
	Who     string // empty if it cannot be read
	File    string
	Kind    string // "damaged", "changed", "double", "copy", "doubt"
	Says    []string
	Counted bool // in the figures
}

// Build puts submissions together. Of hand-ins that were damaged or changed
// nothing is counted. Of two hand-ins of one learner for one sheet the one that
// arrived first counts: the second time the answers were known. Without times of
// arrival the order is that in which they ended by the learners' own clocks. The
// error says which sheet's rounds cannot be made.
func Build(submissions []Submission, bench *handin.RoundCache, o Options) (*Book, error) {
	b := &Book{Options: o, Files: len(submissions)}
	good, exams := b.exams(b.sift(submissions))
	copies := findCopies(good)
	learners := make(map[string]*Learner)
	sheets := make(map[string]*Sheet)
	for _, p := range good {
		s := sheets[p.Code]
		if s == nil {
			if exam, ok := exams[p.Code]; ok {
				p.Sheet = exam
			}
			var err error
			if s, err = newSheet(p, bench); err != nil {
				return nil, fmt.Errorf("report: the sheet of %s: %w", p.Name, err)
			}
			sheets[p.Code] = s
			b.Sheets = append(b.Sheets, s)
		}
		key := b.Roster.Key(p.name())
		l := learners[key]
		if l == nil {
			l = &Learner{Who: p.name()}
			if one, ok := o.Roster.Find(p.name()); ok {
				l.ID, l.Who = one.ID, one.Name
			}
			learners[key] = l
			b.Learners = append(b.Learners, l)
		}
		e := &Entry{Submission: p, Sheet: s, Learner: l}
		s.Entries = append(s.Entries, e)
		l.Entries = append(l.Entries, e)
		b.Counted++
		b.doubts(e, copies[p.ID])
	}
	byName := func(x, y *Learner) int {
		return cmp.Or(cmp.Compare(handin.Skeleton(x.Who), handin.Skeleton(y.Who)), cmp.Compare(x.Who, y.Who))
	}
	slices.SortFunc(b.Learners, byName)
	for _, s := range b.Sheets {
		slices.SortFunc(s.Entries, func(x, y *Entry) int { return byName(x.Learner, y.Learner) })
		s.figures()
	}
	for i, l := range b.Learners {
		l.Number = i + 1
		l.figures(b.Sheets)
	}
	for _, one := range o.Roster.Entries {
		if learners[one.ID] == nil {
			b.Absent = append(b.Absent, one)
		}
	}
	b.Change = b.pair()
	slices.SortStableFunc(b.Issues, func(x, y Issue) int {
		return cmp.Or(cmp.Compare(rank(x.Kind), rank(y.Kind)), cmp.Compare(x.Who, y.Who), cmp.Compare(x.File, y.File))
	})
	return b, nil
}

// exams puts together which seeds are known of the rounds of each exam among
// hand-ins, and takes out those that are of another exam under the same code.
func (b *Book) exams(good []Submission) (rest []Submission, exams map[string]sheet.Sheet) {
	exams = make(map[string]sheet.Sheet)
	for _, p := range good {
		if p.Sheet.Exam {
			exam, ok := exams[p.Code]
			if !ok {
				exam = p.Sheet
			}
			var drawn []sheet.Drawn
			for _, i := range p.Index {
				drawn = append(drawn, sheet.Drawn{Index: i, Seed: p.Sheet.Seeds[i]})
			}
			exam, err := exam.With(drawn)
			if err != nil {
				b.Issues = append(b.Issues, Issue{Who: p.Who, File: p.Name, Kind: "changed", Says: []string{b.Words.Say("book.other_exam")}})
				continue
			}
			exams[p.Code] = exam
		}
		rest = append(rest, p)
	}
	return rest, exams
}

func rank(kind string) int {
	return slices.Index([]string{"damaged", "changed", "copy", "double", "doubt"}, kind)
}

// sift takes out what does not count, with the reason, and returns the rest in
// the order of arrival.
func (b *Book) sift(submissions []Submission) []Submission {
	var good []Submission
	for _, p := range submissions {
		if p.Sound() {
			good = append(good, p)
			continue
		}
		b.Issues = append(b.Issues, Issue{Who: p.Who, File: p.Name, Kind: string(handin.Worst(p.Findings)), Says: b.findings(p.Findings)})
	}
	slices.SortStableFunc(good, func(x, y Submission) int {
		return cmp.Or(x.at().Compare(y.at()), cmp.Compare(x.Name, y.Name))
	})
	files := make(map[[32]byte]string)
	first := make(map[string]Submission)
	var kept []Submission
	for _, p := range good {
		double := func(says string) {
			b.Issues = append(b.Issues, Issue{Who: p.Who, File: p.Name, Kind: "double", Says: []string{says}})
		}
		if same, ok := files[p.sum]; ok {
			double(b.Words.Say("book.same_file", same))
			continue
		}
		files[p.sum] = p.Name
		key := b.Roster.Key(p.name()) + "\n" + p.Code
		if one, ok := first[key]; ok {
			double(b.Words.Say("book.second", one.Name))
			continue
		}
		first[key] = p
		kept = append(kept, p)
	}
	return kept
}

// findings gives findings as sentences, the many of one hand-in as a few.
func (b *Book) findings(list []handin.Finding) []string {
	const most = 6
	var says []string
	for _, f := range list[:min(len(list), most)] {
		text := b.Words.Put(f.Says)
		if f.Round > 0 {
			text = b.Words.Say("book.round_says", f.Round, text)
		} else if text != "" {
			text = strings.ToUpper(text[:1]) + text[1:]
		}
		says = append(says, text+".")
	}
	if more := len(list) - most; more > 0 {
		says = append(says, b.Words.Say("book.more_findings", more))
	}
	return says
}

// mostNamed is how many a copy is looked for among, of those who share a take.
const mostNamed = 50

// findCopies returns for each hand-in the names under which at least half of its
// takes, of three moves or more, were handed in as well.
func findCopies(good []Submission) map[string][]string {
	same := make(map[[32]byte][]int)
	for i, p := range good {
		for _, k := range p.keys {
			same[k] = append(same[k], i)
		}
	}
	looks := make([]string, len(good))
	for i, p := range good {
		looks[i] = handin.Skeleton(p.name())
	}
	copies := make(map[string][]string)
	for me, p := range good {
		shared := make(map[int]int)
		for _, k := range p.keys {
			for _, i := range same[k][:min(len(same[k]), mostNamed)] {
				if looks[i] != looks[me] {
					shared[i]++
				}
			}
		}
		for i, n := range shared {
			if 2*n >= len(p.keys) {
				copies[p.ID] = append(copies[p.ID], good[i].Who)
			}
		}
		slices.Sort(copies[p.ID])
	}
	return copies
}

// doubts notes what a counted hand-in leaves to ask.
func (b *Book) doubts(e *Entry, copies []string) {
	q := Issue{Who: e.Who, File: e.Name, Kind: "doubt", Counted: true, Says: b.findings(e.Findings)}
	if len(copies) > 0 {
		q.Kind = "copy"
		q.Says = append(q.Says, b.Words.Say("book.copied", strings.Join(copies, ", ")))
	}
	if len(q.Says) > 0 {
		e.Learner.Doubts = append(e.Learner.Doubts, q.Says...)
		b.Issues = append(b.Issues, q)
	}
}

func newSheet(p Submission, bench *handin.RoundCache) (*Sheet, error) {
	s := &Sheet{Sheet: p.Sheet, Code: p.Code}
	for i := range p.Sheet.Rounds {
		if p.Sheet.Exam && !p.Sheet.Drawn(i) { // nobody has played it
			s.Rounds = append(s.Rounds, &Round{Index: i})
			continue
		}
		info, err := bench.Info(p.Sheet, i)
		if err != nil {
			return nil, err
		}
		s.Rounds = append(s.Rounds, &Round{Index: i, Info: info})
	}
	return s, nil
}

// answer counts a verdict on the round.
func (r *Round) answer(v drills.Verdict) Answer {
	if len(r.Answers) == 0 {
		r.Verdict = v
	}
	a := Answer{ErrorDB: v.ErrorDB, Right: v.InWindow, half: r.Info.Window[1]}
	if v.ErrorDB < 0 {
		a.half = -r.Info.Window[0]
	}
	if out := math.Abs(v.ErrorDB) - a.half; !a.Right && out > 0 {
		a.OutsideDB = math.Copysign(math.Round(10*out)/10, v.ErrorDB)
	}
	r.Answers = append(r.Answers, a)
	r.count(a)
	if r.Info.Drill == drills.SetTake && v.DecidedBy != drills.ByNeedle && math.Abs(v.ErrorDB-r.AstrayDB()) <= likeDB {
		r.Like++
	}
	return a
}

func (r *Round) finish() {
	n := r.N
	r.Share = progress.Share(r.Right, n)
	if n == 0 {
		return
	}
	var errors []float64
	for _, a := range r.Answers {
		errors = append(errors, a.ErrorDB)
	}
	slices.Sort(errors)
	r.Median = (errors[(n-1)/2] + errors[n/2]) / 2
}
