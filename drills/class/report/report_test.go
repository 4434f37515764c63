package report

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/assets"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/demo"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/words"
)

var bench handin.RoundCache

// english and german are the trainer's own words.
var english, german = speech("en"), speech("de")

func speech(language string) *words.Speech {
	w, err := assets.Load(language)
	if err != nil {
		panic(err)
	}
	return &words.Speech{Words: w}
}

func item(name string, data []byte) Item {
	return Item{Name: name, Read: func() ([]byte, error) { return data, nil }}
}

// class is a demonstration class and its book.
type class struct {
	learners []demo.Learner
	files    []demo.File
	book     *Book
}

func makeClass(t testing.TB, seed uint64, learners, rounds int, plain bool) class {
	t.Helper()
	s := demo.Sheet(seed)
	s.Rounds = rounds
	files, err := demo.Files(s, seed, learners, plain, nil)
	if err != nil {
		t.Fatal(err)
	}
	c := class{learners: demo.Class(seed, learners), files: files}
	var list []Item
	for _, f := range files {
		if strings.HasPrefix(f.Name, "hand-ins/") {
			list = append(list, item(f.Name, f.Data))
		}
	}
	c.book, err = Build(Check(list, &bench, nil), &bench, Options{Title: demo.Title, Words: english})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

var full = sync.OnceValue(func() class {
	return makeClass(failNow{}, 2, 24, 25, false)
})

// failNow is a testing.TB for what is made once for all tests.
type failNow struct{ testing.TB }

func (failNow) Helper()           {}
func (failNow) Fatal(args ...any) { panic(fmt.Sprint(args...)) }

// TestRecoversBiases: what was put in comes out, within the report's own
// intervals as often as they promise. 150 learners on five families are 750
// intervals of 95 %. That a family has one easily misunderstood round widens its
// intervals; over the rest they hold 95 % of the biases, less three standard
// errors of that share (0.008) or more.
func TestRecoversBiases(t *testing.T) {
	c := makeClass(t, 8, 150, 25, true)
	byName := make(map[string]demo.Learner)
	for _, l := range c.learners {
		byName[l.Who] = l
	}
	misled := c.book.Sheets[0].Hardest()[0].Info.Family
	held, all := make(map[source.Family]int), 0
	for _, l := range c.book.Learners {
		all++
		for _, stat := range c.book.Sheets[0].Class {
			f := stat.Family
			s, truth := l.Entries[0].ByFamily[f], byName[l.Who].BiasDB[f]
			if s.N != 5 || !s.Bias.OK {
				t.Fatalf("%s on %s: %+v", l.Who, f, s)
			}
			if s.Bias.Lo <= truth && truth <= s.Bias.Hi {
				held[f]++
			}
		}
	}
	sum, n := 0, 0
	for _, stat := range c.book.Sheets[0].Class {
		f := stat.Family
		share := float64(held[f]) / float64(all)
		t.Logf("%-9s %.1f %% of %d intervals hold the bias that was put in", f, 100*share, all)
		if f == misled {
			if share < 0.95 {
				t.Errorf("%s: %.3f", f, share)
			}
			continue
		}
		sum, n = sum+held[f], n+all
	}
	share := float64(sum) / float64(n)
	if math.Abs(share-0.95) > 3*math.Sqrt(0.95*0.05/float64(n)) {
		t.Errorf("%.3f of %d intervals hold the bias that was put in, want 0.95", share, n)
	}
	// The class as a whole: the mean of its biases.
	for _, s := range c.book.Sheets[0].Class {
		truth := 0.0
		for _, l := range c.learners {
			truth += l.BiasDB[s.Family] / float64(len(c.learners))
		}
		if !(s.Bias.Lo <= truth && truth <= s.Bias.Hi) {
			t.Errorf("class on %s: %.2f is not in %.2f to %.2f", s.Family, truth, s.Bias.Lo, s.Bias.Hi)
		}
	}
	// Of those whose bias is large against their spread, none is said to lean the
	// other way, and nearly all are found.
	found, large := 0, 0
	for _, l := range c.book.Learners {
		for _, stat := range c.book.Sheets[0].Class {
			f := stat.Family
			truth := byName[l.Who].BiasDB[f]
			claim := l.Entries[0].ByFamily[f].Claim()
			if claim != 0 && truth*float64(claim) < -0.3 {
				t.Errorf("%s on %s is said to lean %+d, put in was %+.1f", l.Who, f, claim, truth)
			}
			if f != misled && math.Abs(truth) > 2.5*byName[l.Who].SpreadDB {
				large++
				if claim != 0 {
					found++
				}
			}
		}
	}
	if large < 20 || float64(found) < 0.9*float64(large) {
		t.Errorf("of %d large leanings %d are found", large, found)
	}
}

// The demonstration class with its odd hand-ins.
func TestQueries(t *testing.T) {
	b := full().book
	if b.Files != 28 || b.Counted != 25 || len(b.Learners) != 25 {
		t.Errorf("%d submissions, %d counted, %d learners", b.Files, b.Counted, len(b.Learners))
	}
	want := map[string]string{
		"damaged": "cut short",
		"changed": "the moves give",
		"double":  "second hand-in of this learner",
		"copy":    "move for move",
		"doubt":   "unfinished: 16 of 25",
	}
	seen := make(map[string]int)
	for _, q := range b.Issues {
		seen[q.Kind]++
		if text := strings.Join(q.Says, " "); !strings.Contains(text, want[q.Kind]) {
			t.Errorf("%s: %q", q.Kind, text)
		}
		if q.Counted != (q.Kind == "copy" || q.Kind == "doubt") {
			t.Errorf("%s: counted is %v", q.Kind, q.Counted)
		}
	}
	if seen["copy"] != 2 || seen["damaged"] != 1 || seen["changed"] != 1 || seen["double"] != 1 || seen["doubt"] != 1 {
		t.Errorf("issues %v", seen)
	}
}

// The first of two hand-ins of one name counts, and of two files that are the
// same one.
func TestDoubles(t *testing.T) {
	c := full()
	first := c.files[4]
	twice := []Item{item("b.json", first.Data), item("a.json", first.Data)}
	b, err := Build(Check(twice, &bench, nil), &bench, Options{Words: english})
	if err != nil {
		t.Fatal(err)
	}
	if b.Counted != 1 || len(b.Issues) != 1 || !strings.Contains(b.Issues[0].Says[0], "same file as a.json") {
		t.Errorf("%d counted, %+v", b.Counted, b.Issues)
	}
}

// The round that most misunderstood is the one that was made so, and the page
// says that the needle was followed.
func TestHardestRound(t *testing.T) {
	c := full()
	r := c.book.Sheets[0].Hardest()[0]
	if r.Share.Value > 0.2 || 2*r.Like < len(r.Answers) || r.AstrayDB() < 2 {
		t.Errorf("round %d: %.2f right, %d of %d like the needle, %.1f dB astray", r.Index+1, r.Share.Value, r.Like, len(r.Answers), r.AstrayDB())
	}
	var page bytes.Buffer
	if err := c.book.WriteHTML(&page); err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("Round %d was most often wrong", r.Index+1); !strings.Contains(page.String(), want) || !strings.Contains(page.String(), "followed the needle") {
		t.Errorf("the page does not say %q", want)
	}
}

// One file, nothing loaded, no script, and names that are markup stay text.
func TestPageIsSelfContainedAndSafe(t *testing.T) {
	c := full()
	evil := []string{
		`<script>alert(1)</script>`, `"><img src=x onerror=y>`, `</style><script>x</script>`, `{{.Title}}`,
		`=HYPERLINK("x")`, `javascript:alert(1)`, `&lt;b&gt;`,
	}
	var list []Item
	for i, who := range evil {
		h, err := handin.Read(c.files[2+i].Data)
		if err != nil {
			t.Fatal(err)
		}
		h.Who = who
		h.ID = fmt.Sprintf("%032x", i+1)
		data, err := h.File()
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, item("<b>"+who+".json", data))
	}
	list = append(list, item(`"><script>z</script>.json`, []byte(`{"<script>":1}`)))
	b, err := Build(Check(list, &bench, nil), &bench, Options{Title: `A <i>class</i>`, Words: english, Now: time.Date(2026, 3, 3, 20, 0, 0, 0, time.UTC)})
	if err != nil {
		t.Fatal(err)
	}
	var page bytes.Buffer
	if err := b.WriteHTML(&page); err != nil {
		t.Fatal(err)
	}
	text, tags := parse(t, page.Bytes())
	for _, tag := range []string{"script", "img", "i", "iframe", "link", "object", "form", "base"} {
		if tags[tag] > 0 {
			t.Errorf("the page has %d <%s>", tags[tag], tag)
		}
	}
	for _, who := range evil {
		if !strings.Contains(text, who) {
			t.Errorf("the name %q is not shown as it is", who)
		}
	}
	if !strings.Contains(text, "A <i>class</i>") {
		t.Error("the title is not shown as it is")
	}
	for _, outside := range []string{"http://", "https://", "url(", "@import", "ZgotmplZ"} {
		if strings.Contains(page.String(), outside) {
			t.Errorf("the page has %q", outside)
		}
	}
	var takes bytes.Buffer
	if err := b.WriteTakesCSV(&takes); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&takes).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	guarded := false
	for _, row := range rows {
		for _, i := range []int{1, len(row) - 1} {
			if strings.ContainsAny(row[i][:1], "=+-@") {
				t.Errorf("a spreadsheet would work out %q", row[i])
			}
		}
		guarded = guarded || row[1] == `'=HYPERLINK("x")`
	}
	if !guarded {
		t.Error("the name that is a formula is not there as text")
	}
}

// parse walks a page and returns its text and its tags.
func parse(t *testing.T, page []byte) (string, map[string]int) {
	t.Helper()
	tags := make(map[string]int)
	var text strings.Builder
	d := xml.NewDecoder(bytes.NewReader(page))
	d.Strict, d.AutoClose, d.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	for {
		token, err := d.Token()
		if err == io.EOF {
			return text.String(), tags
		}
		if err != nil {
			t.Fatal(err)
		}
		switch token := token.(type) {
		case xml.CharData:
			text.Write(token)
		case xml.StartElement:
			tags[token.Name.Local]++
			for _, a := range token.Attr {
				if key := a.Name.Local; strings.HasPrefix(key, "on") || key == "src" || key == "href" && !strings.HasPrefix(a.Value, "#slip-") {
					t.Errorf("<%s %s=%q>", token.Name.Local, key, a.Value)
				}
			}
		}
	}
}

func TestCSVSaysWhatThePageSays(t *testing.T) {
	b := full().book
	var out bytes.Buffer
	if err := b.WriteLearnersCSV(&out); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(&out).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1+25*6 {
		t.Errorf("%d lines", len(rows))
	}
	out.Reset()
	if err := b.WriteTakesCSV(&out); err != nil {
		t.Fatal(err)
	}
	if rows, err = csv.NewReader(&out).ReadAll(); err != nil || len(rows) != 1+24*25+16 {
		t.Errorf("%d lines, %v", len(rows), err)
	}
}

func TestLoad(t *testing.T) {
	dir := t.TempDir()
	if _, err := Load(dir, &bench, nil); err == nil || !strings.Contains(err.Error(), "no hand-ins") {
		t.Errorf("an empty folder: %v", err)
	}
	if _, err := Load(filepath.Join(dir, "missing"), &bench, nil); err == nil {
		t.Error("a folder that is not there is no error")
	}
	c := full()
	for _, f := range c.files[:6] {
		path := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, f.Data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	calls, last := 0, 0
	submissions, err := Load(dir, &bench, func(done, total int) { calls++; last = total })
	if err != nil {
		t.Fatal(err)
	}
	if len(submissions) != 4 || calls != last || last != 5 { // the sheet is no submission
		t.Errorf("%d submissions, %d calls of %d", len(submissions), calls, last)
	}
}

func classOf(b *Book) (list []ClassStat) {
	for _, s := range b.Sheets {
		list = append(list, s.Class...)
	}
	return list
}

// Nothing that can be handed in is too little for a page.
func TestSmallClasses(t *testing.T) {
	for _, learners := range []int{1, 2, 5} {
		for _, rounds := range []int{1, 3} {
			c := makeClass(t, 8, max(learners, 2), rounds, true)
			var list []Item
			for _, f := range c.files[2 : 2+learners] {
				list = append(list, item(f.Name, f.Data))
			}
			b, err := Build(Check(list, &bench, nil), &bench, Options{Words: english})
			if err != nil {
				t.Fatal(err)
			}
			var page bytes.Buffer
			if err := b.WriteHTML(&page); err != nil {
				t.Fatal(err)
			}
			if strings.Contains(page.String(), "NaN") || strings.Contains(page.String(), "Inf") {
				t.Errorf("%d learners, %d rounds: the page has numbers that are none", learners, rounds)
			}
			for _, c := range classOf(b) {
				if len(c.Answers) < MinTakes && (c.Claim() != 0 || strings.Contains(page.String(), "the class lands") || strings.Contains(page.String(), "On no kind of source")) {
					t.Errorf("%d learners, %d rounds: the class is said to lean, or not to, on %d takes", learners, rounds, len(c.Answers))
				}
			}
		}
	}
	b, err := Build(nil, &bench, Options{Words: english})
	if err != nil {
		t.Fatal(err)
	}
	if err := b.WriteHTML(io.Discard); err != nil {
		t.Error(err)
	}
}

// Every drill makes a page: those without an error in dB have only right or
// wrong.
func TestEveryDrill(t *testing.T) {
	for _, d := range drills.Drills() {
		s := sheet.New(31)
		s.Drill, s.Rounds, s.Level = d.ID, 2, 5
		var list []Item
		for k := range 3 {
			h, err := handin.Begin(fmt.Sprintf("Learner %d", k), s, "slowneedle test", time.Date(2026, 3, 3, 18, 30, k, 0, time.UTC))
			if err != nil {
				t.Fatal(err)
			}
			for i := range s.Rounds {
				e, err := bench.Exercise(s, i)
				if err != nil {
					t.Fatal(err)
				}
				v, err := bench.Judge(s, i, e.ShowMe())
				if err != nil {
					t.Fatal(err)
				}
				if err := h.Add(e.ShowMe(), v, h.Began.Add(time.Duration(i+1)*3*time.Minute)); err != nil {
					t.Fatal(err)
				}
			}
			data, err := h.File()
			if err != nil {
				t.Fatal(err)
			}
			list = append(list, item(h.FileName(), data))
		}
		b, err := Build(Check(list, &bench, nil), &bench, Options{Words: english})
		if err != nil {
			t.Fatal(err)
		}
		var page bytes.Buffer
		if err := b.WriteHTML(&page); err != nil {
			t.Fatal(err)
		}
		if b.Counted != 3 || strings.Contains(page.String(), "NaN") || strings.Contains(page.String(), "Inf") {
			t.Errorf("%s: %d counted, or numbers that are none", d.ID, b.Counted)
		}
		if d.NoError && strings.Contains(page.String(), "too hot ·") {
			t.Errorf("%s has no error in dB, and the page gives one", d.ID)
		}
	}
}

// BenchmarkReport is 1,000 hand-ins of 10 rounds, checked, put together and
// written.
func BenchmarkReport(b *testing.B) {
	s := demo.Sheet(4)
	s.Rounds = 10
	files, err := demo.Files(s, 4, 1000, true, nil)
	if err != nil {
		b.Fatal(err)
	}
	var list []Item
	for _, f := range files[2:] {
		list = append(list, item(f.Name, f.Data))
	}
	for b.Loop() {
		var fresh handin.RoundCache
		book, err := Build(Check(list, &fresh, nil), &fresh, Options{Words: english})
		if err != nil {
			b.Fatal(err)
		}
		if err := book.WriteHTML(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

// A take that went round a whole school is a copy with each of them, and not only as long
// as they are few.
func TestCopiesOfMany(t *testing.T) {
	for _, many := range []int{2, 49, 50, 51, 200} {
		var good []Submission
		for i := range many {
			p := Submission{keys: [][32]byte{{1}, {2}, {byte(i), byte(i >> 8), 9}}}
			p.ID, p.Who = fmt.Sprint(i), fmt.Sprint("Learner ", i)
			good = append(good, p)
		}
		alone := Submission{keys: [][32]byte{{1}, {7}, {8}}}
		alone.ID, alone.Who = "alone", "One Like Them"
		copies := findCopies(append(good, alone))
		for _, p := range good {
			if len(copies[p.ID]) == 0 {
				t.Errorf("%d: the copy of %s is not found", many, p.Who)
			}
		}
		if len(copies["alone"]) > 0 {
			t.Errorf("%d: one take in three is no copy: %v", many, copies["alone"])
		}
	}
}
