package practice

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// What is kept of a series is the series: the same rounds follow, and the
// hand-in checks.
func TestSeriesIsKept(t *testing.T) {
	n := sheet.New(4711)
	n.Rounds = 2
	s, err := NewSeries(n, " Moon  rake ", "http://127.0.0.1:8410", "Evening class")
	if err != nil {
		t.Fatal(err)
	}
	if s.Hand.Who != "Moon rake" || s.Safe() != true {
		t.Errorf("a series that begins: %q, safe to let go of: %v", s.Hand.Who, s.Safe())
	}
	for i := range 2 {
		a, err := s.assign().Wait()
		if err != nil {
			t.Fatal(err)
		}
		take := a.ShowMe()
		v, err := a.Judge(take)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Hand.Add(take, v, s.Hand.Began.AddDate(0, 0, 1)); err != nil {
			t.Fatal(err)
		}
		data, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		id := s.Hand.ID
		if s, err = readSeries(data); err != nil {
			t.Fatal(err)
		}
		if s.Hand.ID != id || s.round() != i+2 || s.Title != "Evening class" || s.Safe() {
			t.Errorf("after round %d: %+v", i+1, s)
		}
	}
	file, err := s.Hand.File()
	if err != nil {
		t.Fatal(err)
	}
	var bench handin.RoundCache
	if r := bench.Check(file); !r.Sound() || !r.HandIn.Complete() {
		t.Errorf("%v", r.Findings)
	}
	if s.State = HandIn; !s.Safe() {
		t.Error("what is handed in may be let go of")
	}
}

func TestDamagedSeries(t *testing.T) {
	whole := keptText(t, 2)
	if _, err := readSeries([]byte(whole)); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{
		"", "{", "{}", "null",
		strings.Replace(whole, `"code":"`, `"code":"4`, 1),                  // another code
		strings.Replace(whole, `"rounds":2`, `"rounds":3`, 1),               // of other rounds
		strings.Replace(whole, `"rounds":2`, `"rounds":-2`, 1),              // of none
		strings.Replace(whole, `"takes":null`, `"takes":[{},{},{}]`, 1),     // too many
		strings.Replace(whole, `"takes":null`, `"takes":[{"drawn":{}}]`, 1), // of an exam
		strings.Replace(whole, `"hand":{`, `"hand":null,"other":{`, 1),      // no hand-in
	} {
		if _, err := readSeries([]byte(text)); err == nil || text == whole {
			t.Errorf("%q is taken for a series", text)
		}
	}
}

// keptText is what is kept of a series of so many rounds of which none is played.
func keptText(t *testing.T, rounds int) string {
	t.Helper()
	n := sheet.New(4711)
	n.Rounds = rounds
	s, err := NewSeries(n, "Moonrake", "", "")
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
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
		{"", ""}, {"4gr4", "4GR4"}, {"4gr4h", "4GR4 H"}, {"4gr4-hpkh aq85", "4GR4 HPKH AQ85"},
	} {
		if got := Groups(c.typed); got != c.want {
			t.Errorf("groups(%q) = %q, want %q", c.typed, got, c.want)
		}
	}
}

// A name of last time is marked whole: the next learner's takes its place.
func TestNameOfLastTime(t *testing.T) {
	s := &Join{At: FieldWho, Marked: true}
	s.Text[FieldWho] = "Tin Otter"
	for _, r := range "Moon" {
		s.Write(r)
	}
	if s.Text[FieldWho] != "Moon" {
		t.Errorf("typed over a marked name: %q", s.Text[FieldWho])
	}
	s.Rub()
	if s.Text[FieldWho] != "Moo" {
		t.Errorf("rubbed out one letter: %q", s.Text[FieldWho])
	}
	s = &Join{At: FieldWho, Marked: true}
	s.Text[FieldWho] = "Tin Otter"
	if s.Rub(); s.Text[FieldWho] != "" {
		t.Errorf("rubbed out a marked name: %q", s.Text[FieldWho])
	}
	s = &Join{At: FieldCode, Marked: true}
	s.Text[FieldWho] = "Tin Otter"
	if s.Write('4'); s.Text[FieldWho] != "Tin Otter" || s.Text[FieldCode] != "4" {
		t.Errorf("typed into the code: %q", s.Text)
	}
}

// A hand-in that is sent again while the class server is silent goes in once, and the
// first attempt, which is given up, says nothing.
func TestSentAgain(t *testing.T) {
	n := sheet.New(4711)
	n.Rounds = 1
	var asked atomic.Int32
	var id string
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/api/sheet" {
			json.NewEncoder(w).Encode(client.Joined{Code: r.FormValue("code"), Sheet: n, Token: "Moonrake"})
		}
		if r.URL.Path != "/api/handin" {
			return
		}
		if asked.Add(1) == 1 {
			io.Copy(io.Discard, r.Body)
			<-r.Context().Done()
			return
		}
		json.NewEncoder(w).Encode(client.Receipt{ID: id, Result: "/result/1"})
	}))
	defer web.Close()
	s, err := NewSeries(n, "Moonrake", web.URL, "")
	if err != nil {
		t.Fatal(err)
	}
	id = s.Hand.ID
	a, err := s.assign().Wait()
	if err != nil {
		t.Fatal(err)
	}
	v, err := a.Judge(a.ShowMe())
	if err == nil {
		err = s.Hand.Add(a.ShowMe(), v, s.Hand.Began.AddDate(0, 0, 1))
	}
	if err != nil {
		t.Fatal(err)
	}
	var told []string
	r := newSession(t, &told).Records
	until := func(what string, ok func() bool) {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal(what)
			}
		}
	}
	s.Send(r)
	until("it is sent", func() bool { return asked.Load() == 1 })
	s.Send(r)
	until("both attempts end", func() bool { return len(s.server) >= 2 })
	reported := 0
	until("it is in", func() bool {
		if s.update(r) {
			reported++
		}
		return s.State != HandSending
	})
	if s.State != HandIn || reported != 1 || s.Result() != web.URL+"/result/1" || len(told) > 0 {
		t.Errorf("%s, reported %d times, shown at %q, told %q", s.State, reported, s.Result(), told)
	}
}
