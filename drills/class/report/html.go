package report

import (
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"

	"slowneedle/drills"
)

//go:embed style.css
var style string

//go:embed page.gohtml
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// mostLeanings is how many lines the page has of who leans where.
const mostLeanings = 60

// pageView is the page in words and plots.
type pageView struct {
	Title, When string
	Style       template.CSS
	Counts      string
	Sheets      []string
	Lessons     []string // what to teach next
	ClassPlot   template.HTML
	Families    []string
	Head        template.HTML
	Rows        []rowView
	Leanings    []leanView
	More        string
	Chance      string
	Hard        *hardView
	Rounds      []roundsView
	Queries     []Query
	Slips       []slipView
}

type rowView struct {
	Who, ID string
	Note    string
	Points  string
	Cells   []template.HTML
}

type leanView struct {
	Who, ID, Family, Words, Detail, Class string
}

type hardView struct {
	Name, Says string
	Plot       template.HTML
	Next       []string
}

type roundsView struct {
	Code, Words string
	Rounds      []roundView
}

type roundView struct {
	Name, Kind, Says, Decided string
	Plot                      template.HTML
}

type slipView struct {
	ID, Who, Points, Says string
	Plot                  template.HTML
	Parts                 []slipPart
}

type slipPart struct {
	Code, When string
	Dense      string // class for many rounds
	Rows       []slipRow
}

type slipRow struct {
	N                                             int
	Kind, Rig, Aim, You, Error, Says, Mark, Class string
}

// WriteHTML writes the mark book as one page.
func (b *Book) WriteHTML(w io.Writer) error {
	v := b.view()
	if err := page.Execute(w, v); err != nil {
		return fmt.Errorf("writing the mark book: %w", err)
	}
	return nil
}

// tolerance is half the width of the band in plots over many rounds: that of
// the first sheet.
func (b *Book) tolerance() float64 {
	if len(b.Sheets) == 0 {
		return 1
	}
	return -b.Sheets[0].Rounds[0].Info.Window[0]
}

// biasLimit is the end of the axis for mean errors, which reach less far than
// single ones.
func (b *Book) biasLimit() float64 {
	var reach []float64
	for _, l := range b.Learners {
		for _, s := range l.ByFamily {
			reach = append(reach, math.Abs(s.Bias.Value)+1)
		}
	}
	return limitFor(reach)
}

func (b *Book) view() pageView {
	v := pageView{
		Title:  cmp.Or(b.Title, "Mark book"),
		Style:  template.CSS(style),
		Counts: fmt.Sprintf("%s by %s counted, of %s", plural(b.Counted, "hand-in"), plural(len(b.Learners), "learner"), plural(b.Papers, "file")),
	}
	if !b.Now.IsZero() {
		v.When = b.Now.Format("2 January 2006, 15:04")
	}
	var errors []float64
	for _, s := range b.Sheets {
		v.Sheets = append(v.Sheets, s.Code+" · "+s.Sheet.Words())
		for _, r := range s.Rounds {
			errors = append(errors, r.Errors...)
		}
	}
	tolerance, limit := b.tolerance(), limitFor(errors)
	v.Lessons = b.lessons()
	v.ClassPlot = b.classPlot(tolerance)
	for _, f := range b.Families {
		v.Families = append(v.Families, f.Name())
	}
	a := cellAxis(b.biasLimit())
	v.Head = cellHead(a)
	slipAxis := axis{limit, 110, 470}
	for i, l := range b.Learners {
		id := fmt.Sprintf("slip-%d", i+1)
		row := rowView{Who: l.Who, ID: id, Points: fmt.Sprintf("%.0f", l.Points)}
		if len(l.Doubts) > 0 {
			row.Note = "?"
		}
		row.Cells = append(row.Cells, cell(a, tolerance, l.All))
		for _, f := range b.Families {
			row.Cells = append(row.Cells, cell(a, tolerance, l.ByFamily[f]))
		}
		v.Rows = append(v.Rows, row)
		v.Slips = append(v.Slips, b.slip(l, id, slipAxis, tolerance))
	}
	ids := make(map[*Learner]string)
	for i, l := range b.Learners {
		ids[l] = fmt.Sprintf("slip-%d", i+1)
	}
	leanings := b.Leanings()
	if n := len(leanings); n > mostLeanings {
		v.More = fmt.Sprintf("And %d smaller ones; the learners' CSV has them all.", n-mostLeanings)
		leanings = leanings[:mostLeanings]
	}
	for _, l := range leanings {
		v.Leanings = append(v.Leanings, leanView{
			Who: l.Learner.Who, ID: ids[l.Learner], Family: l.Family.Name(), Class: l.Stat.class(tolerance),
			Words:  fmt.Sprintf("%.1f dB%s", math.Abs(l.Stat.Bias.Value), l.Stat.leanWord(tolerance)),
			Detail: fmt.Sprintf("%s, %s, spread %.1f dB", between(l.Stat.Bias), plural(l.Stat.N, "take"), l.Stat.Spread.Value),
		})
	}
	if n := b.Intervals(); n > 0 {
		v.Chance = fmt.Sprintf("Each line rests on one of %d 95 %% confidence intervals. With that many, about %s will be wrong by chance alone: take one line as a hint where to listen, and several for one learner as a finding.",
			n, plural(max(1, int(math.Round(0.05*float64(n)))), "interval"))
	}
	v.Hard = b.hardest(limit)
	for _, s := range b.Sheets {
		part := roundsView{Code: s.Code, Words: s.Sheet.Words()}
		for _, r := range s.Rounds {
			if r.N > 0 {
				part.Rounds = append(part.Rounds, roundView{
					Name: fmt.Sprintf("%d · %s", r.Index+1, r.Info.Family.Name()), Kind: r.Info.Kind + " · " + rigWords(r.Info.Rig),
					Says: r.says(), Decided: decidedWords(r.Verdict), Plot: roundPlot(r, limit),
				})
			}
		}
		v.Rounds = append(v.Rounds, part)
	}
	v.Queries = b.Queries
	return v
}

// lessons says in a few sentences what the class needs.
func (b *Book) lessons() []string {
	var says []string
	worst := -1
	for i, c := range b.Class {
		if c.Claim() != 0 && (worst < 0 || math.Abs(c.Bias.Value) > math.Abs(b.Class[worst].Bias.Value)) {
			worst = i
		}
	}
	if worst >= 0 {
		c := b.Class[worst]
		way := leanWord(c.Claim(), math.Abs(c.Bias.Value) <= b.tolerance())
		says = append(says, fmt.Sprintf("On “%s” the class lands %.1f dB%s (%s).", c.Family.Name(), math.Abs(c.Bias.Value), way, between(c.Bias)))
	} else if b.Counted > 1 && slices.ContainsFunc(b.Class, func(c ClassStat) bool { return c.Takes >= MinTakes }) {
		says = append(says, "On no family of sources does the class show a clear bias of half a decibel or more.")
	}
	if hard := b.Hardest(); len(hard) > 0 && hard[0].Share.Value < 0.5 {
		r := hard[0]
		text := fmt.Sprintf("Round %d%s was missed by most: %d of %d in the window", r.Index+1, b.ofSheet(r), r.Right, r.N)
		if 2*r.Like > r.N {
			text += fmt.Sprintf("; %d followed the needle where the %s decided", r.Like, r.Verdict.DecidedBy)
		}
		says = append(says, text+".")
	}
	if who := b.outside(); who > 0 {
		says = append(says, fmt.Sprintf("%s clearly outside the window on some family of sources; the names are below.",
			map[bool]string{true: "1 learner lands", false: fmt.Sprintf("%d learners land", who)}[who == 1]))
	}
	uncounted := 0
	for _, q := range b.Queries {
		if !q.Counted {
			uncounted++
		}
	}
	if uncounted > 0 {
		says = append(says, fmt.Sprintf("%s not counted; see the reasons below.", map[bool]string{true: "1 hand-in is", false: fmt.Sprintf("%d hand-ins are", uncounted)}[uncounted == 1]))
	}
	return says
}

// outside counts the learners who lean one way by more than the window allows.
func (b *Book) outside() (n int) {
	for _, l := range b.Learners {
		for _, f := range b.Families {
			if s := l.ByFamily[f]; s.Claim() != 0 && math.Abs(s.Bias.Value) > b.tolerance() {
				n++
				break
			}
		}
	}
	return n
}

// ofSheet names a round's sheet where there are several.
func (b *Book) ofSheet(r *Round) string {
	if len(b.Sheets) < 2 {
		return ""
	}
	for _, s := range b.Sheets {
		for _, q := range s.Rounds {
			if q == r {
				return " of " + s.Code
			}
		}
	}
	return ""
}

func (b *Book) hardest(limit float64) *hardView {
	list := b.Hardest()
	if len(list) == 0 {
		return nil
	}
	r := list[0]
	h := &hardView{Name: fmt.Sprintf("Round %d%s · %s: %s", r.Index+1, b.ofSheet(r), r.Info.Family.Name(), r.Info.Kind), Plot: roundPlot(r, limit)}
	h.Says = fmt.Sprintf("%d of %d right (95 %% confidence interval %.0f to %.0f %%).", r.Right, r.N, 100*r.Share.Lo, 100*r.Share.Hi)
	if !r.Info.NoError {
		h.Says += fmt.Sprintf(" The aim was %s dB; the class median is %s dB from it.", signed(r.Verdict.AimDB, 1), signed(r.Median, 1))
	}
	if r.Verdict.DecidedBy != "" {
		h.Says += " " + decidedWords(r.Verdict)
		if r.Like > 0 {
			h.Says += fmt.Sprintf(" %d of %d landed where the needle alone would have put them, %.1f dB above the aim.", r.Like, r.N, r.AstrayDB())
		}
	}
	for _, q := range list[1:min(len(list), 4)] {
		next := fmt.Sprintf("Round %d%s, %s: %d of %d right", q.Index+1, b.ofSheet(q), q.Info.Family.Name(), q.Right, q.N)
		if !q.Info.NoError {
			next += fmt.Sprintf(", median %s dB", signed(q.Median, 1))
		}
		h.Next = append(h.Next, next)
	}
	return h
}

func (r *Round) says() string {
	if r.Info.NoError {
		return fmt.Sprintf("%d of %d right", r.Right, r.N)
	}
	return fmt.Sprintf("%d of %d right · %d too hot · %d too low · median %s dB", r.Right, r.N, r.Hot, r.Cold, signed(r.Median, 1))
}

func decidedWords(v drills.Verdict) string {
	if v.DecidedBy == "" {
		return ""
	}
	above := fmt.Sprintf("%.1f dB above the needle", v.UnderReadDB)
	if v.UnderReadDB < 0.5 {
		above = "no higher than the needle"
	}
	return fmt.Sprintf("The %s decided; the peaks run %s.", v.DecidedBy, above)
}

func rigWords(r drills.Rig) string {
	if r.Medium == "" {
		return "no rig"
	}
	if r.Soft() {
		return fmt.Sprintf("tape, lamp at %s VU", signed(r.LampDBFS-r.ReferenceDBFS, 0))
	}
	return fmt.Sprintf("digital, 0 VU at %s, ceiling %s dBFS", signed(r.ReferenceDBFS, 0), signed(r.CeilingDBFS, 0))
}

// slip is one learner's page.
func (b *Book) slip(l *Learner, id string, a axis, tolerance float64) slipView {
	v := slipView{ID: id, Who: l.Who, Points: fmt.Sprintf("%.0f", l.Points),
		Plot: b.slipPlot(l, a, tolerance), Says: b.advice(l)}
	for _, e := range l.Entries {
		h := e.Paper.Result.HandIn
		part := slipPart{Code: e.Sheet.Code, When: h.Ended.Format("2 January 2006")}
		switch n := len(e.Paper.Result.Verdicts); {
		case n > 28:
			part.Dense = "two dense"
		case n > 12:
			part.Dense = "dense"
		}
		for i, t := range e.Paper.Result.Verdicts {
			r := e.Sheet.Rounds[i]
			row := slipRow{N: i + 1, Kind: r.Info.Family.Name() + ": " + r.Info.Kind, Rig: rigWords(r.Info.Rig),
				Aim: signed(t.AimDB, 1), You: signed(t.FaderDB, 1), Error: signed(t.ErrorDB, 1), Says: t.Reason}
			if r.Info.NoError {
				row.Aim, row.You, row.Error = "", "", ""
			}
			switch {
			case t.InWindow:
				row.Mark, row.Class = "right", "fine"
			case t.Clipped > 0:
				row.Mark, row.Class = "clipped", "hot"
			case t.ErrorDB > 0:
				row.Mark, row.Class = "hot", "hot"
			case t.ErrorDB < 0:
				row.Mark, row.Class = "low", "cold"
			default:
				row.Mark, row.Class = "wrong", "hot"
			}
			part.Rows = append(part.Rows, row)
		}
		v.Parts = append(v.Parts, part)
	}
	return v
}

// advice is what to tell one learner.
func (b *Book) advice(l *Learner) string {
	var best Stat
	family := ""
	wide, wideFamily := 0.0, ""
	for _, f := range b.Families {
		s := l.ByFamily[f]
		if s.Claim() != 0 && (family == "" || math.Abs(s.Bias.Value) > math.Abs(best.Bias.Value)) {
			best, family = s, f.Name()
		}
		if s.N >= MinTakes && s.Spread.Value > wide {
			wide, wideFamily = s.Spread.Value, f.Name()
		}
	}
	switch {
	case family != "":
		return fmt.Sprintf("On “%s” you land %.1f dB%s.", family, math.Abs(best.Bias.Value), best.leanWord(b.tolerance()))
	case l.All.Claim() != 0:
		return fmt.Sprintf("Overall you land %.1f dB%s.", math.Abs(l.All.Bias.Value), l.All.leanWord(b.tolerance()))
	case wide > 1.5:
		return fmt.Sprintf("Your takes are neither hot nor low on average; on “%s” they scatter by %.1f dB.", wideFamily, wide)
	case l.All.N < MinTakes:
		return "Too few takes to name a bias."
	}
	return "Your takes are neither hot nor low on average."
}
