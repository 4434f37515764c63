package report

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/roster"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/testform"
)

// given is a submission made of verdicts alone, as a class server keeps it.
func given(t *testing.T, s sheet.Sheet, who string, day int, errors ...float64) Submission {
	t.Helper()
	s, err := s.Canonical()
	if err != nil {
		t.Fatal(err)
	}
	code, err := s.Code()
	if err != nil {
		t.Fatal(err)
	}
	at := time.Date(2026, 3, day, 18, 0, 0, 0, time.UTC)
	p := Submission{Name: fmt.Sprintf("%s-%d.json", who, day), Head: handin.Head{ID: fmt.Sprintf("%s-%s", who, code), Who: who, Code: code, Sheet: s, Ended: at},
		Arrival: Arrival{Arrived: at}}
	p.sum = [32]byte([]byte(fmt.Sprintf("%-32.32s", who+code+fmt.Sprint(day))))
	for i, e := range errors {
		info, err := bench.Info(s, i)
		if err != nil {
			t.Fatal(err)
		}
		right := e >= info.Window[0]-0.04 && e <= info.Window[1]+0.04
		p.Verdicts = append(p.Verdicts, drills.Verdict{ErrorDB: e, InWindow: right, Points: int(100 - 10*math.Abs(e)), DecidedBy: drills.ByNeedle})
	}
	return p
}

func build(t *testing.T, o Options, list ...Submission) *Book {
	t.Helper()
	if o.Words == nil {
		o.Words = english
	}
	b, err := Build(list, &bench, o)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func four(seed uint32) sheet.Sheet {
	s := sheet.New(seed)
	s.Rounds, s.Families, s.ToleranceDB = 4, []source.Family{source.Steady}, 1
	return s
}

// How far a take lies outside is counted from its own round's window, to a tenth
// of a decibel; what is right, or wrong for another reason than its level, lies
// nowhere outside.
func TestOutsideTheOwnWindow(t *testing.T) {
	r := &Round{Info: handin.Info{Window: [2]float64{-1, 0.5}}}
	for _, row := range []struct {
		error   float64
		right   bool
		outside float64
	}{
		{0, true, 0}, {0.5, true, 0}, {-1, true, 0}, {0.54, true, 0}, {0.7, false, 0.2}, {-1.3, false, -0.3}, {-0.7, false, 0}, {0.3, false, 0}, {6, false, 5.5}, {-8, false, -7}, {3, true, 0},
	} {
		if a := r.answer(drills.Verdict{ErrorDB: row.error, InWindow: row.right}); math.Abs(a.OutsideDB-row.outside) > 1e-9 {
			t.Errorf("an error of %v dB lies %v dB outside, want %v", row.error, a.OutsideDB, row.outside)
		}
	}
	if r.Right != 5 || r.Hot != 3 || r.Cold != 3 || len(r.Answers) != 11 {
		t.Errorf("%d right, %d hot, %d cold", r.Right, r.Hot, r.Cold)
	}
	// On the plots, what is right stands in the block and what is not beside it.
	a := windowAxis{middle: 100, half: 10, db: 4, limit: 6}
	for _, x := range r.Answers {
		place := a.at(x)
		inside := place >= 90 && place <= 110
		if inside != (x.OutsideDB == 0) || (place-100)*x.ErrorDB < 0 || x.OutsideDB != 0 && math.Abs(place-100) < 10+0.1*4-1e-9 {
			t.Errorf("%+v stands at %v", x, place)
		}
	}
	if far := a.at(Answer{ErrorDB: 30, OutsideDB: 29, half: 1}); far != 134 {
		t.Errorf("what lies beyond the axis stands at %v, want 134", far)
	}
}

// Too hot is said only where most of the takes lie above their windows; a mean
// that leans inside them is on the hot side.
func TestWhatIsSaidOfABias(t *testing.T) {
	for _, row := range []struct {
		errors []float64
		key    string
	}{
		{[]float64{2, 2.2, 1.8, 2.1}, "book.too_hot"},
		{[]float64{0.8, 0.9, 0.7, 0.8}, "book.hot"},
		{[]float64{-2, -2.2, -1.8, -2.1}, "book.too_cold"},
		{[]float64{-0.8, -0.9, -0.7, -0.8}, "book.cold"},
		{[]float64{0.9, 0.8, 1.6, 1.7}, "book.hot"}, // half of them outside
		{[]float64{0.3, 0.4, 0.3, 0.4}, ""},         // not worth a word
		{[]float64{3, -3, 3, -3}, ""},
		{[]float64{2, 2.1, 2.2}, ""}, // too few
	} {
		b := build(t, Options{}, given(t, four(1), "A", 1, row.errors...))
		e := b.Sheets[0].Entries[0]
		if got := e.ByFamily[source.Steady].way(); got != row.key {
			t.Errorf("%v: %q, want %q", row.errors, got, row.key)
		}
	}
}

// A course: sheets in the order in which they came, learners by roster, whatever
// spelling they typed, who is absent, and a trend of the points from three on.
func TestCourse(t *testing.T) {
	class, err := roster.Parse([]byte("id;name;also\n7;Tin Moth;Tinny\n8;Salt Heron\n9;Absent One\n"))
	if err != nil {
		t.Fatal(err)
	}
	late := given(t, four(3), "tinny", 20, 1, 1, 1, 1)
	late.Late = true
	b := build(t, Options{Roster: class, Title: "Course"},
		late,
		given(t, four(1), "Tin Moth", 1, 5, 5, 5, 5),
		given(t, four(2), "TINNY", 8, 3, 3, 3, 3),
		given(t, four(1), "Salt Heron", 2, 0, 0, 0, 0),
		given(t, four(1), "Guest", 3, 0, 0, 0, 0))
	if len(b.Sheets) != 3 || len(b.Learners) != 3 || b.Counted != 5 || len(b.Absent) != 1 || b.Absent[0].ID != "9" {
		t.Fatalf("%d sheets, %d learners, absent %v", len(b.Sheets), len(b.Learners), b.Absent)
	}
	if codes := []uint32{b.Sheets[0].Sheet.Seed, b.Sheets[1].Sheet.Seed, b.Sheets[2].Sheet.Seed}; !slices.Equal(codes, []uint32{1, 2, 3}) {
		t.Errorf("sheets in the order %v", codes)
	}
	moth := b.Learners[slices.IndexFunc(b.Learners, func(l *Learner) bool { return l.ID == "7" })]
	if moth.Who != "Tin Moth" || len(moth.Entries) != 3 || !moth.Entries[2].Late {
		t.Errorf("%+v", moth)
	}
	// 50, 70, 90 points: 20 more from sheet to sheet, exactly.
	if tr := moth.Trend; !tr.OK || math.Abs(tr.Value-20) > 1e-9 || moth.Points != 70 {
		t.Errorf("trend %+v, points %v", tr, moth.Points)
	}
	if b.Learners[0].Trend.OK {
		t.Error("a trend from one sheet")
	}
	for _, w := range []Words{english, german} {
		b.Words = w
		var page bytes.Buffer
		if err := b.WriteHTML(&page); err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"Tin Moth", "2026-03-20 " + w.Say("book.late"), "Absent One", w.Say("book.course"), "&#43;20"} {
			if !strings.Contains(page.String(), want) {
				t.Errorf("the page does not have %q", want)
			}
		}
		if strings.Contains(page.String(), "book.") || strings.Contains(page.String(), "%!") {
			t.Error("the page has a key, or a word without its number")
		}
	}
	b.Words = english
	for share, want := range map[bool]string{
		false: "id,name,%s,%s,%s|,Guest,100.0,,|8,Salt Heron,100.0,,|7,Tin Moth,50.0,70.0,90.0|9,Absent One,,,|",
		true:  "id,name,%s,%s,%s|,Guest,100.0,,|8,Salt Heron,100.0,,|7,Tin Moth,0.0,0.0,100.0|9,Absent One,,,|",
	} {
		var out bytes.Buffer
		b.CSV.Share = share
		if err := b.WriteGradebookCSV(&out); err != nil {
			t.Fatal(err)
		}
		if got, want := strings.ReplaceAll(out.String(), "\n", "|"), fmt.Sprintf(want, b.Sheets[0].Code, b.Sheets[1].Code, b.Sheets[2].Code); got != want {
			t.Errorf("share %v:\n%s, want\n%s", share, got, want)
		}
	}
	var out bytes.Buffer
	b.CSV = CSVOptions{Separator: ';', BOM: true}
	if err := b.WriteGradebookCSV(&out); err != nil {
		t.Fatal(err)
	}
	text, bom := strings.CutPrefix(out.String(), "\ufeff")
	in := csv.NewReader(strings.NewReader(text))
	in.Comma = ';'
	if rows, err := in.ReadAll(); err != nil || !bom || len(rows) != 5 || len(rows[0]) != 5 {
		t.Errorf("with a semicolon: %v, %v", rows, err)
	}
}

// The order of arrival decides between two of one learner; without arrivals, as
// from a folder that somebody collected, that in which they ended.
func TestFirstToArriveCounts(t *testing.T) {
	first, second := given(t, four(1), "Tom", 5, 3, 3, 3, 3), given(t, four(1), "TOM", 6, 0, 0, 0, 0)
	second.Ended = first.Ended.Add(-240 * time.Hour)
	b := build(t, Options{}, second, first)
	if b.Counted != 1 || b.Sheets[0].Entries[0].Who != "Tom" || len(b.Issues) != 1 || b.Issues[0].File != "TOM-6.json" {
		t.Errorf("with arrivals: %+v", b.Issues)
	}
	first.Arrival, second.Arrival = Arrival{}, Arrival{}
	b = build(t, Options{}, first, second)
	if b.Counted != 1 || b.Sheets[0].Entries[0].Who != "TOM" {
		t.Errorf("without arrivals: %+v", b.Issues)
	}
}

// Test forms are paired learner by learner in the order of arrival, whichever form
// it was: only who has played two of one set to their end. The change is that of the
// mean size of the error.
func TestChange(t *testing.T) {
	form := func(set uint32, f testform.Form) sheet.Sheet {
		s, err := sheet.NewForm(set, f)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	all := func(size float64) []float64 { // to either side, and one abandoned, of which 10 dB count
		errs := []float64{-30}
		for i := range testform.Rounds - 1 {
			errs = append(errs, size-2*size*float64(i%2))
		}
		return errs
	}
	a, bForm, c := form(3, testform.A), form(3, testform.B), form(3, testform.C)
	submissions := []Submission{
		given(t, a, "A", 1, all(4)...), given(t, bForm, "A", 9, all(2)...), given(t, c, "A", 16, all(3)...),
		given(t, bForm, "B", 1, all(5)...), given(t, a, "B", 9, all(2)...), given(t, c, "B", 16, all(1)...),
		given(t, a, "C", 1, all(5)...), given(t, form(4, testform.B), "C", 9, all(5)...), // of another set
		given(t, a, "D", 1, all(5)...), given(t, bForm, "D", 9, all(5)[:10]...), // unfinished
		given(t, four(1), "E", 1, 5, 5, 5, 5), given(t, four(2), "E", 9, 1, 1, 1, 1), // no test forms
	}
	b := build(t, Options{}, submissions...)
	if b.Change == nil || len(b.Change.Pairs) != 2 || b.Change.Learners != 2 {
		t.Fatalf("%+v", b.Change)
	}
	for _, want := range []struct {
		what      string
		got, want float64
	}{
		{"A's first", b.Change.Pairs[0].SizesDB[0], (10 + 19*4) / 20.0},
		{"the change", b.Change.Mean.Value, -2.5 * 19 / 20},
		{"the change a week later", b.Change.Later.Mean.Value, -2.5 * 19 / 20},
	} {
		if math.Abs(want.got-want.want) > 1e-9 {
			t.Errorf("%s is %v dB, want %v", want.what, want.got, want.want)
		}
	}
	var page bytes.Buffer
	if err := b.WriteHTML(&page); err != nil || !strings.Contains(page.String(), "2.38 dB") || !strings.Contains(page.String(), "4.30 dB (A)") {
		t.Errorf("the page does not tell what was learned (%v)", err)
	}
	if b := build(t, Options{}, submissions[6:]...); b.Change != nil {
		t.Error("a change without two forms of a set")
	}
}

// Forms on a teacher's recordings are paired as the others are, but not with generated
// forms whose set has the same number.
func TestChangeOnRecordings(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "noise.wav")
	if out, err := exec.Command("sox", "-R", "-n", "-r", "44100", "-b", "16", path, "synth", "8", "pinknoise", "tremolo", "2", "90").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := sheet.Choose("noise.wav", data)
	if err != nil {
		t.Fatal(err)
	}
	var forms []sheet.Sheet // of some rounds: whether they are equivalent is of no matter here
	for k, form := range testform.Forms[:2] {
		n := sheet.Sheet{Form: form, Seed: 3, Recordings: []sheet.Recording{rec}, Content: sheet.Folder(dir)}
		for i := range testform.Rounds {
			n.Index = append(n.Index, testform.Rounds*k+i)
		}
		if n, err = n.Canonical(); err != nil {
			t.Fatal(err)
		}
		forms = append(forms, n)
	}
	generated, err := sheet.NewForm(3, testform.C)
	if err != nil {
		t.Fatal(err)
	}
	all := func(size float64) (errs []float64) {
		for i := range testform.Rounds {
			errs = append(errs, size-2*size*float64(i%2))
		}
		return errs
	}
	b := build(t, Options{}, given(t, forms[1], "A", 1, all(4)...), given(t, forms[0], "A", 9, all(1)...), given(t, generated, "A", 16, all(2)...),
		given(t, forms[0], "B", 1, all(4)...), given(t, generated, "B", 9, all(2)...))
	if b.Change == nil || len(b.Change.Pairs) != 1 || b.Change.Pairs[0].SizesDB != [3]float64{4, 1} {
		t.Errorf("%+v", b.Change)
	}
}

// A slip is one learner's page alone, in words of its own.
func TestSlip(t *testing.T) {
	b := full().book
	var out bytes.Buffer
	l := b.Learners[3]
	if err := b.WriteSlip(&out, l, german); err != nil {
		t.Fatal(err)
	}
	text, tags := parse(t, out.Bytes())
	if !strings.Contains(text, l.Who) || strings.Contains(text, b.Learners[4].Who) || !strings.Contains(out.String(), `lang="de"`) || !strings.Contains(text, "Punkte") {
		t.Errorf("%.300s", text)
	}
	if tags["tr"] != 1+len(l.Entries[0].Verdicts) {
		t.Errorf("%d rows for %d takes", tags["tr"], len(l.Entries[0].Verdicts))
	}
	for i, v := range l.Entries[0].Verdicts { // however many there are
		if _, reason := v.Sentences(german.VerdictWords()); !strings.Contains(text, german.Pointed(reason)) {
			t.Errorf("take %d has no reason", i+1)
		}
	}
	if foreign := regexp.MustCompile(`\d\.\d+ (dB|VU)`).FindString(text); foreign != "" {
		t.Errorf("a German page has %q", foreign)
	}
}
