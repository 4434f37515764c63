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
	t.Parallel()
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
	a.screen("join")
	a.hands("type", "Moonrake")
	a.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Moonrake" })
	a.letGo()
	into := func(field float64) func() event {
		return func() event {
			return a.next("another field", func(e event) bool { return e.is("typed") && e["field"] == field })
		}
	}
	a.press("Tab", into(2))
	a.hands("key", "shift+Tab")
	into(1)()
	a.letGo()
	a.shot("desktop-join")
	silent := func(e event) bool { return e.is("asked") && strings.Contains(e.str("says"), "does not answer") }
	a.press("Return", func() event { return a.next("that nobody answers", silent) })
	a.shot("desktop-join-silent")
	a.press("Return", func() event {
		a.next("the start", func(e event) bool { return e.is("joined") })
		return a.screen("round")
	})
	a.press("Return", func() event {
		a.next("sound", func(e event) bool { return e.is("begin") })
		return a.screen("round")
	})
	for range 4 {
		a.press("Prior", func() event { return a.next("fader move", isFader) })
	}
	a.press("Return", func() event { return a.screen("verdict") })
	a.next("a try in vain", func(e event) bool { return e.is("handin") && e.num("tries") >= 1 })
	a.press("Return", func() event { return a.screen("handin") })
	a.shot("desktop-handin-trying")

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
	a.next("acknowledgement", func(e event) bool { return e.is("handin") && e.str("state") == "in" })
	a.screen("handin")
	a.shot("desktop-handin")
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}

// An exam in the window: from round to round without a verdict, to the hand-in, and
// the verdicts there once it is closed.
func TestExam(t *testing.T) {
	t.Parallel()
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
	a.screen("join")
	a.hands("type", "Mo")
	a.next("names of the class", func(e event) bool { return e.is("names") && e.num("count") == 2 })
	a.screen("join")
	a.letGo()
	a.shot("desktop-exam-join")
	a.press("Right", func() event {
		return a.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Moonrake" })
	})
	a.press("Return", func() event { return a.screen("round") })
	for i := range 2 {
		a.press("Return", func() event {
			a.next("sound", func(e event) bool { return e.is("begin") })
			return a.screen("round")
		})
		for range 3 {
			a.press("Prior", func() event { return a.next("fader move", isFader) })
		}
		a.press("Return", func() event {
			if i > 0 {
				a.next("acknowledgement", func(e event) bool { return e.is("handin") && e.str("state") == "in" })
			}
			return a.screen([]string{"round", "handin"}[i])
		})
		if i > 0 {
			continue
		}
		at := 0 // it may be there already
		a.from(&at, "the second card", func(e event) bool { return e.is("screen") && e.says("Runde 2 von 2") })
		a.press("Escape", func() event { return a.screen("home") })
		a.shot("desktop-exam-home")
		a.press("c", func() event { return a.screen("join") })
		a.press("Return", func() event { return a.screen("round") })
	}
	a.shot("desktop-exam-handin")
	later.Store(int64(2 * time.Hour))
	a.next("verdicts", func(e event) bool { return e.is("verdicts") && e.num("count") == 2 })
	a.screen("handin")
	a.shot("desktop-exam-verdicts")
}

// paper is for projectors; in German, whose words are longer.
const paper = `{"caution_seen":true,"language":"de","reduced_motion":true,"theme":"paper","text_percent":100}`
