package window

import (
	"context"
	"net"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/roster"
	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
)

// A learner joins while the class server is away, plays the sheet, and the
// hand-in is written at once and sent until the server is back and has it.
func TestClassServerComesLate(t *testing.T) {
	inTurn(t)
	n := sheet.New(4711)
	n.Rounds = 1
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	later, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := later.Addr().String()
	later.Close()

	a := start(t, options{settings: calm, args: []string{"--code", code, "--server", address}})
	a.Screen("join")
	a.Named("Moonrake")
	into := func(field float64) func() event {
		return func() event {
			return a.Next("another field", func(e event) bool { return e.Is("typed") && e["field"] == field })
		}
	}
	a.Press("Tab", into(2))
	a.hands("key", "shift+Tab")
	into(1)()
	a.LetGo()
	a.Shot("desktop-join")
	silent := func(e event) bool { return e.Is("asked") && strings.Contains(e.Str("says"), "does not answer") }
	a.Press("Return", func() event { return a.Next("that nobody answers", silent) })
	a.Shot("desktop-join-silent")
	a.Press("Return", func() event {
		a.Event("joined")
		return a.Screen("round")
	})
	a.Begin()
	a.Louder(4)
	a.Lock()
	a.Next("a try in vain", func(e event) bool { return e.Is("handin") && e.Num("tries") >= 1 })
	a.To("Return", "handin")
	a.Shot("desktop-handin-trying")

	files, err := filepath.Glob(filepath.Join(a.home, "handin-moonrake-*.json"))
	if err != nil || len(files) != 1 {
		t.Fatalf("hand-ins written: %v, %v", files, err)
	}
	data, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	var bench handin.RoundCache
	if r := bench.Check(data); !r.Sound() || r.HandIn.Who != "Moonrake" || !r.HandIn.Complete() {
		t.Errorf("the hand-in that was written: %+v", r.Findings)
	}

	class, err := server.Open(server.Options{Sheets: []sheet.Sheet{n}, Data: t.TempDir()})
	if err != nil {
		t.Fatal(err)
	}
	defer class.Close()
	listener, err := net.Listen("tcp", address)
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- class.Serve(ctx, listener) }()
	a.Next("acknowledgement", func(e event) bool { return e.Is("handin") && e.Str("state") == "in" })
	a.Screen("handin")
	a.Shot("desktop-handin")
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// An exam in the window: from round to round without a verdict, to the hand-in, and
// the verdicts there once it is closed.
func TestExam(t *testing.T) {
	inTurn(t)
	n := sheet.New(4711)
	n.Rounds = 2
	var later atomic.Int64
	names, err := roster.Parse([]byte("id,name\n1,Moonrake\n2,Moth Heron\n3,Salt Heron\n"))
	if err != nil {
		t.Fatal(err)
	}
	class, err := server.Open(server.Options{Exam: true, Sheets: []sheet.Sheet{n}, Data: t.TempDir(), Title: "Evening class", Roster: names,
		Closes: time.Now().Add(time.Hour), Now: func() time.Time { return time.Now().Add(time.Duration(later.Load())) }})
	if err != nil {
		t.Fatal(err)
	}
	defer class.Close()
	web := httptest.NewServer(class)
	defer web.Close()
	a := start(t, options{settings: paper, size: "960x600", args: []string{"--code", class.Code(), "--server", web.URL}})
	a.Screen("join")
	a.Write("Mo")
	a.Next("names of the class", func(e event) bool { return e.Is("names") && e.Num("count") == 2 })
	a.Screen("join")
	a.LetGo()
	a.Shot("desktop-exam-join")
	a.Press("Right", func() event {
		return a.Next("the name", func(e event) bool { return e.Is("typed") && e.Str("text") == "Moonrake" })
	})
	a.To("Return", "round")
	for i := range 2 {
		a.Begin()
		a.Louder(3)
		a.Press("Return", func() event {
			if i > 0 {
				a.Next("acknowledgement", func(e event) bool { return e.Is("handin") && e.Str("state") == "in" })
			}
			return a.Screen([]string{"round", "handin"}[i])
		})
		if i > 0 {
			continue
		}
		at := 0 // it may be there already
		a.From(&at, "the second card", func(e event) bool { return e.Is("screen") && e.Says("Runde 2 von 2") })
		a.To("Escape", "home")
		a.Shot("desktop-exam-home")
		a.To("c", "join")
		a.To("Return", "round")
	}
	a.Shot("desktop-exam-handin")
	later.Store(int64(2 * time.Hour))
	a.Next("verdicts", func(e event) bool { return e.Is("verdicts") && e.Num("count") == 2 })
	a.Screen("handin")
	a.Shot("desktop-exam-verdicts")
}

// paper is for projectors; in German, whose words are longer.
const paper = `{"caution_seen":true,"language":"de","reduced_motion":true,"theme":"paper","text_percent":100}`
