package sheet

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/testform"
)

func TestParseSaysWhichField(t *testing.T) {
	head := `"format":"slowneedle sheet 2",`
	rows := []struct{ json, says string }{
		{``, "empty"},
		{`[]`, "one JSON object"},
		{`{`, "cut short"},
		{`{"format":"slowneedle she`, "cut short: it ends inside format"},
		{`{"drill":"take","level":3,"rounds":10,"seed":1}`, "format: it is missing"},
		{`{"version":1,"rounds":[]}`, "format: it is missing; it must be"},
		{`{"format":"slowneedle hand-in 2","id":"1","takes":[]}`, `format: it must be "slowneedle sheet 2"`},
		{`{"format":"sheet","drill":"take","level":3,"rounds":10,"seed":1}`, `format: it must be "slowneedle sheet 2"`},
		{`{` + head + `"drill":"take","level":3,"rounds":10}`, "seed: it is missing"},
		{`{` + head + `"drill":"lamp","level":3,"rounds":10,"seed":1,"rig":"digital"}`, "rig: Lamp count is played on tape"},
		{`{` + head + `"drill":"lamp","level":3,"rounds":10,"seed":1,"families":["voice"]}`, "is no family of Lamp count"},
		{`{` + head + `"drill":"lamp","level":3,"rounds":10,"seed":1,"cover":"never"}`, "cover: Lamp count says itself"},
		{`{` + head + `"drill":"ride","level":3,"rounds":10,"seed":1,"time":"60 s"}`, "time: Ride it has a length of its own"},
		{`{` + head + `"drill":"juggle","level":3,"rounds":10,"seed":1}`, "drill: there is no drill"},
		{`{` + head + `"drill":"take","level":3,"rounds":0,"seed":1}`, "rounds: 0 is out of range"},
		{`{` + head + `"drill":"take","level":3,"rounds":51,"seed":1}`, "rounds: 51 is out of range"},
		{`{` + head + `"drill":"take","level":3,"rounds":"ten","seed":1}`, "rounds: it must be a whole number in range, not text"},
		{`{` + head + `"drill":"take","level":3,"rounds":1.5,"seed":1}`, "rounds: it must be a whole number"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":16777216}`, "seed: 16777216 is out of range"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":-1}`, "seed: it must be a whole number in range"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"seed":2}`, "seed: it is given twice"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"Level":2}`, "Level: there is no such field"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"answers":[1]}`, "answers: there is no such field"},
		{`{` + head + `"drill":"take","level":3,"rounds":2,"seed":1,"index":[1]}`, "index: only a form on recordings"},
		{`{` + head + `"drill":"take","rounds":10,"seed":1,"level":25}`, "level: 25 is out of range"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":null}`, "seed: null is not a value here"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"families":["voice","voice"]}`, "families: voice is given twice"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"families":["own"]}`, "families: \"own\" is no family of Set the take"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"families":"voice"}`, "families: it must be a list"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"rig":"valve"}`, "rig: "},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"rig":"digital:reference=-18.3"}`, "rig: its reference is -18.3 dBFS; in a sheet it may be -40 to -6 dBFS in steps of 1"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"rig":"digital:tolerance=2","tolerance_db":3}`, "tolerance_db: it is 3, but the rig says 2"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"tolerance_db":1.25}`, "tolerance_db: 1.25 dB"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"tolerance_db":-1}`, "tolerance_db: -1 dB"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"tolerance_db":1e999}`, "tolerance_db"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"time":"soon"}`, "time: \"soon\" is not a time"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"time":"7 s"}`, "time: 7 s; it may be 5 to 300 s in steps of 5 s"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"cover":"after 31 s"}`, "cover: after 31 s"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1,"cover":"now"}`, "cover: \"now\" is not a cover"},
		{`{` + head + `"drill":"take","level":3,"rounds":10,"seed":1} {}`, "something follows"},
		{`{` + head + `"drill":"` + strings.Repeat("x", MaxFile) + `"}`, "a sheet has at most"},
		{"{\"format\":\"\xff\"}", "UTF-8"},
		{strings.Repeat(`{"a":`, 2000), "there is no such field"},
	}
	for _, row := range rows {
		_, err := Parse([]byte(row.json))
		if err == nil || !strings.HasPrefix(err.Error(), "sheet: ") || !strings.Contains(err.Error(), row.says) {
			t.Errorf("%.90s\n  error %v\n  want one with %q", row.json, err, row.says)
		}
	}
}

func TestCanonical(t *testing.T) {
	loose := `{"format":"slowneedle sheet 2","seed":7,"rounds":10,"drill":"take","level":1,
		"families":["ensemble","struck","plucked","voice","steady"],"rig":"digital:ceiling=-3,tolerance=1.2"}`
	s, err := Parse([]byte(loose))
	if err != nil {
		t.Fatal(err)
	}
	rig := drills.DigitalRig()
	want := New(7)
	want.Rig, want.ToleranceDB = &rig, 1.2
	if diff := cmp.Diff(want, s); diff != "" {
		t.Error(diff)
	}
	a, err := s.Hash()
	if err != nil {
		t.Fatal(err)
	}
	b, err := want.Hash()
	if err != nil || a != b {
		t.Errorf("hashes differ: %s, %s (%v)", a, b, err)
	}
	text, err := want.File()
	if err != nil {
		t.Fatal(err)
	}
	if got := string(text); got != `{
  "format": "slowneedle sheet 2",
  "drill": "take",
  "rig": "digital",
  "rounds": 10,
  "level": 1,
  "tolerance_db": 1.2,
  "seed": 7
}
` {
		t.Errorf("file is\n%s", got)
	}
}

func TestTimeAndCover(t *testing.T) {
	s := New(1)
	s.Level = 12
	get := func() (float64, drills.View) {
		e, err := s.Exercise(0)
		if err != nil {
			t.Fatal(err)
		}
		return e.Seconds, e.View
	}
	p := ladder.At(12)
	if seconds, view := get(); seconds != p.Seconds || view.NeedleSeconds != p.NeedleSeconds || view.NeedleCovered {
		t.Errorf("level 12 gives %v s and %+v", seconds, view)
	}
	s.Time, s.Cover = NoLimit, Never
	if seconds, view := get(); seconds != 0 || view.NeedleSeconds != 0 || view.NeedleCovered {
		t.Errorf("no limit, never covered: %v s and %+v", seconds, view)
	}
	s.Time, s.Cover = 45, Always
	if seconds, view := get(); seconds != 45 || !view.NeedleCovered {
		t.Errorf("45 s, always covered: %v s and %+v", seconds, view)
	}
	s.Cover = 8
	if _, view := get(); view.NeedleSeconds != 8 || view.NeedleCovered {
		t.Errorf("covered after 8 s: %+v", view)
	}
}

// Every drill can be asked for, on every rig that it is played on.
func TestEveryDrill(t *testing.T) {
	if len(drillNames) != len(drills.Drills()) {
		t.Errorf("%d drills have a number in codes, of %d", len(drillNames), len(drills.Drills()))
	}
	for _, d := range drills.Drills() {
		for i := range 4 {
			s := New(uint32(i))
			s.Drill, s.Level, s.ToleranceDB = d.ID, 1+6*i, 2
			s.Rig = []*drills.Rig{nil, &standingRigs()[0], &standingRigs()[1], &standingRigs()[2]}[i]
			if d.ID == drills.LampCount && s.Rig != nil && !s.Rig.Soft() {
				continue
			}
			code, err := s.Code()
			if err != nil {
				t.Fatal(err)
			}
			typed, err := ParseCode(code)
			if err != nil {
				t.Fatal(err)
			}
			e, err := typed.Exercise(i)
			if err != nil {
				t.Errorf("%s: %v", d.ID, err)
				continue
			}
			if v, err := e.Judge(e.ShowMe()); err != nil || !v.InWindow {
				t.Errorf("%s, rig %v: what is shown is judged %+v (%v)", d.ID, s.Rig, v, err)
			}
		}
	}
}

// A sheet from a code gives the rounds of the sheet it came from, and they are
// what the sheet asks for.
// The file of a form holds form and set alone, and its rounds are those of the form.
func TestForm(t *testing.T) {
	s, err := Parse([]byte(`{"format": "slowneedle sheet 2", "form": "B", "seed": 3}`))
	if err != nil {
		t.Fatal(err)
	}
	e, err := s.Exercise(4)
	if err != nil {
		t.Fatal(err)
	}
	want, set, err := testform.Exercise(3, testform.B, 4, nil)
	if err != nil {
		t.Fatal(err)
	}
	if e.Index != want.Index || e.Seed != want.Seed || e.Family != want.Family || e.Rig.ToleranceDB != want.Rig.ToleranceDB || !s.Settings(4).Reserved || s.Settings(4).Family != set.Family {
		t.Errorf("round 5 is %d of %d (%s), want %d of %d (%s)", e.Index, e.Seed, e.Family, want.Index, want.Seed, want.Family)
	}
	if _, err := s.Exercise(testform.Rounds); err == nil {
		t.Error("there is a round too many")
	}
	for _, c := range []struct{ file, field string }{
		{`{"format": "slowneedle sheet 2", "form": "D", "seed": 3}`, "form"},
		{`{"format": "slowneedle sheet 2", "form": "A", "seed": 8}`, "form"},
		{`{"format": "slowneedle sheet 2", "form": "A", "seed": 0, "rounds": 10}`, "leave out the rest"},
		{`{"format": "slowneedle sheet 3", "form": "A", "seed": 0}`, "format"},
		{`{"form": "A", "seed": 0}`, "format"},
		{`{"format": "slowneedle sheet 2", "form": null, "seed": 0}`, "form"},
	} {
		if _, err := Parse([]byte(c.file)); err == nil || !strings.Contains(err.Error(), c.field) {
			t.Errorf("%s: error %v, want one about %q", c.file, err, c.field)
		}
	}
}

func TestRounds(t *testing.T) {
	rig, err := drills.ParseRig("digital:reference=-16,ceiling=-2")
	if err != nil {
		t.Fatal(err)
	}
	s := New(77)
	s.Rounds, s.Level, s.ToleranceDB = 4, 6, 1.5
	s.Families = []source.Family{source.Struck, source.Voice}
	for _, r := range []*drills.Rig{nil, &rig} {
		s.Rig = r
		code, err := s.Code()
		if err != nil {
			t.Fatal(err)
		}
		typed, err := ParseCode(strings.ToLower(code))
		if err != nil {
			t.Fatal(err)
		}
		count := make(map[source.Family]int)
		for i := range s.Rounds {
			a, err := s.Exercise(i)
			if err != nil {
				t.Fatal(err)
			}
			b, err := typed.Exercise(i)
			if err != nil {
				t.Fatal(err)
			}
			x, y := a.Channels[0], b.Channels[0]
			if x.AimDB != y.AimDB || x.StartGainDB != y.StartGainDB || a.Rig != b.Rig || !slices.Equal(x.Sound.Channels[0], y.Sound.Channels[0]) {
				t.Errorf("round %d of the code is not the sheet's", i+1)
			}
			if math.Abs(x.WindowDB[0]-(x.AimDB-1.5)) > 1e-9 {
				t.Errorf("round %d: window %v about aim %v", i+1, x.WindowDB, x.AimDB)
			}
			if r != nil && (a.Rig.ReferenceDBFS != -16 || a.Rig.CeilingDBFS != -2) {
				t.Errorf("round %d: rig %v", i+1, a.Rig)
			}
			count[a.Family]++
		}
		if count[source.Struck] != 2 || count[source.Voice] != 2 {
			t.Errorf("families %v", count)
		}
	}
	for _, i := range []int{-1, 4} {
		if _, err := s.Exercise(i); err == nil {
			t.Errorf("round %d is no error", i)
		}
	}
}

func FuzzSheet(f *testing.F) {
	f.Add([]byte(`{"format":"slowneedle sheet 2","drill":"take","level":3,"rounds":10,"seed":7}`))
	f.Add([]byte(`{"format":"slowneedle sheet 2","drill":"take","level":3,"families":["voice"],"rig":"tape:lamp=-14","rounds":50,"level":24,"tolerance_db":0.3,"time":"45 s","cover":"after 8 s","seed":16777215}`))
	f.Add([]byte(`{"format":"slowneedle sheet 2","drill":"take","level":3,"rig":"digital:reference=-16,ceiling=-2.5,target=-3","rounds":3,"seed":0,"cover":"always","time":"none"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := Parse(data)
		if err != nil {
			return
		}
		code, err := s.Code()
		if err != nil {
			t.Fatalf("a sheet that was read has no code: %v", err)
		}
		back, err := ParseCode(code)
		if err != nil {
			t.Fatalf("%s: %v", code, err)
		}
		if diff := cmp.Diff(s, back); diff != "" {
			t.Fatal(diff)
		}
		text, err := s.File()
		if err != nil {
			t.Fatal(err)
		}
		if again, err := Parse(text); err != nil || !cmp.Equal(s, again) {
			t.Fatalf("the canonical form does not read back: %v", err)
		}
	})
}

// An exam's code and file carry everything but its rounds, which have seeds of
// their own; a secret and an id give each round once, in an order of the id's.
func TestExam(t *testing.T) {
	for _, code := range lengths(t) {
		plain, err := ParseCode(code)
		if err != nil {
			t.Fatal(err)
		}
		exam := plain
		exam.Exam = true
		written, err := exam.Code()
		if err != nil || written == code || len(written) != len(code) {
			t.Fatalf("%s as an exam: %s, %v", code, written, err)
		}
		back, err := ParseCode(written)
		if err != nil || !back.Exam || back.Seed != plain.Seed {
			t.Errorf("%s: %+v, %v", written, back, err)
		}
		file, _ := exam.File()
		if again, err := Parse(file); err != nil || !again.Exam {
			t.Errorf("%s: %v", file, err)
		}
		if e, err := exam.Exercise(0); err == nil {
			t.Errorf("a code alone gives round 1 of an exam: %v", e)
		}
	}
	exam := New(4711)
	exam.Exam = true
	one, two := exam.Draw("secret", "a"), exam.Draw("secret", "b")
	seeds := map[int]uint64{}
	for _, d := range one {
		seeds[d.Index] = d.Seed
	}
	same := 0
	for i, d := range two {
		if seeds[d.Index] != d.Seed {
			t.Errorf("round %d has another seed for another learner", d.Index+1)
		}
		if one[i] == d {
			same++
		}
	}
	if len(seeds) != exam.Rounds || same == exam.Rounds {
		t.Errorf("orders %v and %v", one, two)
	}
	if other := exam.Draw("secrex", "a"); other[0].Seed == seeds[other[0].Index] {
		t.Error("another secret gives the same seed")
	}
	for _, bad := range []Drawn{{-1, 1}, {10, 1}, {0, 0}, {0, 1 << 53}} {
		if _, err := exam.With([]Drawn{bad}); err == nil {
			t.Errorf("%+v is taken", bad)
		}
	}
	full, err := exam.With(one)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := full.With([]Drawn{{0, 5}}); err == nil {
		t.Error("a round gets a second seed")
	}
	families := map[source.Family]int{}
	for i := range exam.Rounds {
		e, err := full.Exercise(i)
		if err != nil || e.Seed != seeds[i] {
			t.Fatalf("round %d: %v", i+1, err)
		}
		families[e.Family]++
	}
	for f, n := range families {
		if n != 2 { // ten rounds of five families
			t.Errorf("%d rounds of %s", n, f)
		}
	}
}

// What a command line and a file say of time and cover, and what they refuse.
func TestTimeAndCoverAsText(t *testing.T) {
	for text, want := range map[string]Time{"": 0, "none": NoLimit, "45 s": 45, "1": 1} {
		if got, err := ParseTime(text); got != want || err != nil {
			t.Errorf("time %q: %v, %v; want %d", text, got, err, int(want))
		}
	}
	for text, want := range map[string]Cover{"": 0, "never": Never, "always": Always, "after 8 s": 8, "8": 8, "1": 1} {
		if got, err := ParseCover(text); got != want || err != nil {
			t.Errorf("cover %q: %v, %v; want %d", text, got, err, int(want))
		}
	}
	for _, text := range []string{"0", "0 s", "-5", "soon", "1.5", "after", "NONE"} {
		if _, err := ParseTime(text); err == nil || !strings.Contains(err.Error(), "is not a time") {
			t.Errorf("time %q: %v", text, err)
		}
		if _, err := ParseCover(text); err == nil || !strings.Contains(err.Error(), "is not a cover") {
			t.Errorf("cover %q: %v", text, err)
		}
	}
	for got, want := range map[string]string{
		Time(0).String(): "", NoLimit.String(): "none", Time(45).String(): "45 s",
		Never.String(): "never", Always.String(): "always", Cover(8).String(): "after 8 s",
	} {
		if got != want {
			t.Errorf("it is written %q, want %q", got, want)
		}
	}
}

// A code that stands for a test form, or a set, which there is not is refused.
func TestCodeOfNoForm(t *testing.T) {
	code := func(seed uint32, form int64) string {
		var n number
		n.put(codeVersion, sizeVersion)
		n.put(int64(seed), sizeSeed)
		n.put(formDrill, sizeDrill)
		n.put(0, familyBits(nil))
		n.put(form, sizeRounds)
		return n.write(lenPlain)
	}
	forms := int64(len(testform.Forms))
	if s, err := ParseCode(code(testform.Sets-1, forms-1)); err != nil || s.Form != testform.Forms[forms-1] {
		t.Fatalf("the last form of the last set: %+v, %v", s, err)
	}
	for _, text := range []string{code(0, forms), code(testform.Sets, 0), code(MaxSeed, sizeRounds-1)} {
		if s, err := ParseCode(text); err == nil || !strings.Contains(err.Error(), "no sheet has this code") {
			t.Errorf("%s: %+v, %v", text, s, err)
		}
	}
}
