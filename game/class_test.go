package game

import (
	"encoding/json"
	"testing"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// What is kept of a series is the series: the same rounds follow, and the
// hand-in checks.
func TestSeriesIsKept(t *testing.T) {
	n := sheet.New(4711)
	n.Rounds = 2
	s, err := newSeries(n, " Moon  rake ", "http://127.0.0.1:8410", "Evening class")
	if err != nil {
		t.Fatal(err)
	}
	if s.hand.Who != "Moon rake" || s.safe() != true {
		t.Errorf("a series that begins: %q, safe to let go of: %v", s.hand.Who, s.safe())
	}
	for i := range 2 {
		j, err := s.job()
		if err != nil {
			t.Fatal(err)
		}
		take := j.ex.ShowMe()
		v, err := j.ex.Judge(take)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.hand.Add(take, v, s.hand.Began.AddDate(0, 0, 1)); err != nil {
			t.Fatal(err)
		}
		data, err := json.Marshal(s.kept())
		if err != nil {
			t.Fatal(err)
		}
		id := s.hand.ID
		if s, err = readSeries(data); err != nil {
			t.Fatal(err)
		}
		if s.hand.ID != id || s.round() != i+2 || s.title != "Evening class" || s.safe() {
			t.Errorf("after round %d: %+v", i+1, s)
		}
	}
	file, err := s.hand.File()
	if err != nil {
		t.Fatal(err)
	}
	var bench handin.Bench
	if r := bench.Check(file); !r.Sound() || !r.HandIn.Complete() {
		t.Errorf("%v", r.Findings)
	}
	if s.state = handIn; !s.safe() {
		t.Error("what is handed in may be let go of")
	}
}

func TestDamagedSeries(t *testing.T) {
	for _, text := range []string{"", "{", `{"code":"4GR4 HPKH APA5"}`, `{"code":"4GR4 HPKH APA4","takes":[{},{},{}]}`} {
		if _, err := readSeries([]byte(text)); err == nil {
			t.Errorf("%q is taken for a series", text)
		}
	}
}

func TestAddress(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"", ""}, {" 192.168.1.20 ", "http://192.168.1.20:8410"}, {"192.168.1.20:9000/", "http://192.168.1.20:9000"},
		{"http://lab.example", "http://lab.example"}, {"https://lab.example:1/x?y", "https://lab.example:1"},
		{"desk-3", "http://desk-3:8410"}, {"[::1]:8410", "http://[::1]:8410"},
	} {
		if got, err := address(c.typed); err != nil || got != c.want {
			t.Errorf("address(%q) = %q, %v; want %q", c.typed, got, err, c.want)
		}
	}
	for _, typed := range []string{"ftp://x", "http://", "a b", "://", "192.168.1.20:port"} {
		if got, err := address(typed); err == nil {
			t.Errorf("address(%q) = %q", typed, got)
		}
	}
}

func TestGroups(t *testing.T) {
	for _, c := range []struct{ typed, want string }{
		{"", ""}, {"4gr4", "4GR4"}, {"4gr4h", "4GR4 H"}, {"4gr4-hpkh apa4", "4GR4 HPKH APA4"},
	} {
		if got := groups(c.typed); got != c.want {
			t.Errorf("groups(%q) = %q, want %q", c.typed, got, c.want)
		}
	}
}

// A name of last time is marked whole: the next learner's takes its place.
func TestNameOfLastTime(t *testing.T) {
	s := &joinScene{at: fieldWho, marked: true}
	s.text[fieldWho] = "Tin Otter"
	for _, r := range "Moon" {
		s.write(r)
	}
	if s.text[fieldWho] != "Moon" {
		t.Errorf("typed over a marked name: %q", s.text[fieldWho])
	}
	s.rub()
	if s.text[fieldWho] != "Moo" {
		t.Errorf("rubbed out one letter: %q", s.text[fieldWho])
	}
	s = &joinScene{at: fieldWho, marked: true}
	s.text[fieldWho] = "Tin Otter"
	if s.rub(); s.text[fieldWho] != "" {
		t.Errorf("rubbed out a marked name: %q", s.text[fieldWho])
	}
	s = &joinScene{at: fieldCode, marked: true}
	s.text[fieldWho] = "Tin Otter"
	if s.write('4'); s.text[fieldWho] != "Tin Otter" || s.text[fieldCode] != "4" {
		t.Errorf("typed into the code: %q", s.text)
	}
}
