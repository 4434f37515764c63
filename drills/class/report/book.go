package report

import (
	"cmp"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
)

// Figures of the report.
const (
	MinTakes  = 4   // takes that a claim about a learner needs
	clearBias = 0.5 // dB: smaller is not worth a word
	likeDB    = 1.0 // dB within which an answer counts as the needle's
	fewest    = 3   // answers that a word about a round needs
)

// Options say how a report is made.
type Options struct {
	Title string    // of the class
	Now   time.Time // printed on the page, if not zero
}

// Book is a class put together.
type Book struct {
	Title    string
	Now      time.Time
	Sheets   []*Sheet
	Families []source.Family // that have takes, in teaching order
	Learners []*Learner      // by name
	Class    []ClassStat     // for each of Families
	Queries  []Query         // hand-ins that need a look
	Papers   int             // files looked at
	Counted  int             // hand-ins that the figures are made of
}

// Sheet is one sheet that was handed in, with its rounds.
type Sheet struct {
	Sheet  sheet.Sheet
	Code   string
	Rounds []*Round
}

// Round is what the class made of one round.
type Round struct {
	Index   int // from 0
	Info    handin.Info
	Verdict drills.Verdict // of the first answer: what the round itself is
	Errors  []float64      // signed, dB
	N       int            // answers
	Right   int
	Hot     int
	Cold    int
	Median  float64
	Like    int // answers that stand where the needle alone would put them, if something else decided
	Share   progress.Interval
}

// AstrayDB is how far above the aim the needle alone would lead.
func (r *Round) AstrayDB() float64 { return r.Info.Rig.TargetVU - r.Verdict.AimVU }

// Learner is one of the class.
type Learner struct {
	Who      string
	Entries  []Entry
	All      Stat
	ByFamily map[source.Family]Stat
	Points   float64 // mean
	Doubts   []string

	errors map[source.Family][]float64
}

// Entry is one hand-in of a learner that counts.
type Entry struct {
	Sheet *Sheet
	Paper Paper
}

// Query is a hand-in that needs a look, and why.
type Query struct {
	Who     string // empty if it cannot be read
	File    string
	Kind    string // "damaged", "changed", "double", "copy", "doubt"
	Says    []string
	Counted bool // in the figures
}

// Build puts papers together. Of hand-ins that were damaged or changed nothing
// is counted. Of two hand-ins of one name for one sheet the one that ended
// first counts: the second time the answers were known. The error says which
// sheet's rounds cannot be made.
func Build(papers []Paper, bench *handin.Bench, o Options) (*Book, error) {
	b := &Book{Title: o.Title, Now: o.Now, Papers: len(papers)}
	good := b.sift(papers)
	copies := findCopies(good)
	learners := make(map[string]*Learner)
	sheets := make(map[string]*Sheet)
	for _, p := range good {
		h := p.Result.HandIn
		s := sheets[h.Code]
		if s == nil {
			var err error
			if s, err = newSheet(h, bench); err != nil {
				return nil, fmt.Errorf("report: the sheet of %s: %w", p.Name, err)
			}
			sheets[h.Code] = s
			b.Sheets = append(b.Sheets, s)
		}
		l := learners[fold(h.Who)]
		if l == nil {
			l = &Learner{Who: h.Who, errors: make(map[source.Family][]float64)}
			learners[fold(h.Who)] = l
			b.Learners = append(b.Learners, l)
		}
		l.Entries = append(l.Entries, Entry{s, p})
		b.Counted++
		b.doubts(p, l, copies)
		for i, v := range p.Result.Verdicts {
			r := s.Rounds[i]
			r.add(v)
			if !r.Info.NoError {
				l.errors[r.Info.Family] = append(l.errors[r.Info.Family], v.ErrorDB)
			}
		}
	}
	for _, s := range b.Sheets {
		for _, r := range s.Rounds {
			r.finish()
		}
	}
	slices.SortFunc(b.Sheets, func(x, y *Sheet) int { return cmp.Compare(x.Code, y.Code) })
	slices.SortFunc(b.Learners, func(x, y *Learner) int { return cmp.Compare(fold(x.Who), fold(y.Who)) })
	b.figures()
	slices.SortStableFunc(b.Queries, func(x, y Query) int {
		return cmp.Or(cmp.Compare(rank(x.Kind), rank(y.Kind)), cmp.Compare(fold(x.Who), fold(y.Who)), cmp.Compare(x.File, y.File))
	})
	return b, nil
}

func rank(kind string) int {
	return slices.Index([]string{"damaged", "changed", "copy", "double", "doubt"}, kind)
}

// fold makes names that differ in case alone the same.
func fold(who string) string { return strings.ToLower(who) }

// sift takes out what does not count, saying why, and returns the rest in the
// order in which they ended.
func (b *Book) sift(papers []Paper) []Paper {
	var good []Paper
	for _, p := range papers {
		if p.Result.Sound() {
			good = append(good, p)
			continue
		}
		q := Query{File: p.Name, Kind: string(handin.Worst(p.Result.Findings)), Says: words(p.Result.Findings)}
		if p.Result.HandIn != nil {
			q.Who = p.Result.HandIn.Who
		}
		b.Queries = append(b.Queries, q)
	}
	slices.SortStableFunc(good, func(x, y Paper) int {
		return cmp.Or(x.Result.HandIn.Ended.Compare(y.Result.HandIn.Ended), cmp.Compare(x.Name, y.Name))
	})
	files := make(map[[32]byte]string)
	first := make(map[string]Paper)
	var kept []Paper
	for _, p := range good {
		h := p.Result.HandIn
		if same, ok := files[p.sum]; ok {
			b.Queries = append(b.Queries, Query{Who: h.Who, File: p.Name, Kind: "double",
				Says: []string{"It is the same file as " + same + "."}})
			continue
		}
		files[p.sum] = p.Name
		key := fold(h.Who) + "\n" + h.Code
		if one, ok := first[key]; ok {
			b.Queries = append(b.Queries, Query{Who: h.Who, File: p.Name, Kind: "double", Says: []string{fmt.Sprintf(
				"A second hand-in under this name for the same sheet; the first, %s, counts.", one.Name)}})
			continue
		}
		first[key] = p
		kept = append(kept, p)
	}
	return kept
}

// words gives findings as sentences, the many of one kind in one round as one.
func words(list []handin.Finding) []string {
	const most = 6
	var says []string
	more := 0
	for _, f := range list {
		text := f.Says
		if f.Round > 0 {
			text = fmt.Sprintf("Round %d: %s", f.Round, text)
		} else if text != "" {
			text = strings.ToUpper(text[:1]) + text[1:]
		}
		if len(says) == most {
			more++
			continue
		}
		says = append(says, text+".")
	}
	if more > 0 {
		says = append(says, fmt.Sprintf("And %d more.", more))
	}
	return says
}

// findCopies returns for each hand-in the names under which at least half of its
// takes, of three moves or more, were handed in as well.
func findCopies(good []Paper) map[string][]string {
	type owner struct{ id, who string }
	same := make(map[[32]byte][]owner)
	keys := func(p Paper, each func([32]byte)) (n int) {
		for _, t := range p.Result.HandIn.Takes {
			if len(t.Moves) < 3 {
				continue
			}
			text, err := json.Marshal([]any{p.Result.HandIn.Code, t.Round, t.Moves, t.LockAt})
			if err == nil {
				each(sha256.Sum256(text))
				n++
			}
		}
		return n
	}
	for _, p := range good {
		keys(p, func(k [32]byte) { same[k] = append(same[k], owner{p.Result.HandIn.ID, p.Result.HandIn.Who}) })
	}
	copies := make(map[string][]string)
	for _, p := range good {
		h := p.Result.HandIn
		shared := make(map[owner]int)
		n := keys(p, func(k [32]byte) {
			if owners := same[k]; len(owners) < 50 {
				for _, o := range owners {
					if fold(o.who) != fold(h.Who) {
						shared[o]++
					}
				}
			}
		})
		for o, k := range shared {
			if 2*k >= n {
				copies[h.ID] = append(copies[h.ID], o.who)
			}
		}
		slices.Sort(copies[h.ID])
	}
	return copies
}

// doubts notes what a counted hand-in leaves to ask.
func (b *Book) doubts(p Paper, l *Learner, copies map[string][]string) {
	q := Query{Who: p.Result.HandIn.Who, File: p.Name, Kind: "doubt", Counted: true, Says: words(p.Result.Findings)}
	if others := copies[p.Result.HandIn.ID]; len(others) > 0 {
		q.Kind = "copy"
		q.Says = append(q.Says, "Its takes, move for move, were also handed in as "+strings.Join(others, ", ")+".")
	}
	if len(q.Says) > 0 {
		l.Doubts = append(l.Doubts, q.Says...)
		b.Queries = append(b.Queries, q)
	}
}

func newSheet(h *handin.HandIn, bench *handin.Bench) (*Sheet, error) {
	s := &Sheet{Sheet: h.Sheet, Code: h.Code}
	for i := range h.Sheet.Rounds {
		info, err := bench.Info(h.Sheet, i)
		if err != nil {
			return nil, err
		}
		s.Rounds = append(s.Rounds, &Round{Index: i, Info: info})
	}
	return s, nil
}

// add counts one answer to the round.
func (r *Round) add(v drills.Verdict) {
	if r.N == 0 {
		r.Verdict = v
	}
	r.N++
	switch {
	case v.InWindow:
		r.Right++
	case v.ErrorDB > 0:
		r.Hot++
	case v.ErrorDB < 0:
		r.Cold++
	}
	if r.Info.NoError {
		return
	}
	r.Errors = append(r.Errors, v.ErrorDB)
	if r.Info.Drill == drills.SetTake && v.DecidedBy != drills.ByNeedle && math.Abs(v.ErrorDB-r.AstrayDB()) <= likeDB {
		r.Like++
	}
}

func (r *Round) finish() {
	r.Share = progress.Share(r.Right, r.N)
	if n := len(r.Errors); n > 0 {
		slices.Sort(r.Errors)
		r.Median = (r.Errors[(n-1)/2] + r.Errors[n/2]) / 2
	}
}
