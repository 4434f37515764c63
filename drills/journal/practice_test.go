package journal_test

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
)

// practiceHours is how long the practice of TestPractice lasts; the variable
// PRACTICE_HOURS sets another length.
const practiceHours = 0.25

// Hours of practice as the trainer does it, only faster: exercises of every
// drill at the level of the ladder, played through the desk in blocks to a
// lock, judged, kept and counted. At the end every take that was kept gives its
// verdict again, and memory has not grown but by what the book of marks is
// there to hold.
func TestPractice(t *testing.T) {
	hours := practiceHours
	if s := os.Getenv("PRACTICE_HOURS"); s != "" {
		var err error
		if hours, err = strconv.ParseFloat(s, 64); err != nil {
			t.Fatal(err)
		}
	}
	path := filepath.Join(t.TempDir(), "journal.db")
	j, err := journal.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	p := practice{t: t, journal: j, rng: rand.New(rand.NewPCG(8, 8)), out: make([]float32, 2*480),
		now: time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC)}
	all := int64(hours * 3600 * audio.Rate)
	var heap []float64 // MB, at every tenth of the practice
	for p.played < all {
		p.exercise()
		for p.played >= all*int64(len(heap)+1)/10 && len(heap) < 10 {
			heap = append(heap, heapMB())
		}
	}
	t.Logf("%.2f h of practice, %d exercises; heap in MB at every tenth: %.2f", hours, p.book.Len(), heap)
	// A mark is 72 bytes in the book, twice that while its list grows.
	allowed := heap[2] + 0.5 + float64(p.book.Len())*150/1e6
	if last := heap[len(heap)-1]; last > allowed {
		t.Errorf("the heap grew from %.2f MB after a third to %.2f MB", heap[2], last)
	}
	if n := runtime.NumGoroutine(); n > p.goroutines+2 {
		t.Errorf("%d goroutines after %d at the beginning", n, p.goroutines)
	}
	n := 0
	for e, err := range j.All() {
		if err != nil {
			t.Fatal(err)
		}
		if n++; n%(1+p.book.Len()/20) != 0 {
			continue
		}
		var set drills.Settings
		if err := json.Unmarshal(e.Settings, &set); err != nil {
			t.Fatal(err)
		}
		ex, err := drills.NewExercise(e.Drill, e.Seed, e.Index, e.Level, set)
		if err != nil {
			t.Fatal(err)
		}
		if v, err := ex.Judge(e.Take); err != nil || v != e.Verdict {
			t.Errorf("take %d judged again: %+v, %v; kept %+v", n, v, err, e.Verdict)
		}
	}
	if n != p.book.Len() {
		t.Errorf("%d takes are kept, %d were made", n, p.book.Len())
	}
}

// practice is a learner at work.
type practice struct {
	t          *testing.T
	journal    *journal.Journal
	book       progress.Book
	rng        *rand.Rand
	now        time.Time
	played     int64 // frames
	out        []float32
	index      int
	goroutines int
}

// exercise plays one exercise, well or less well.
func (p *practice) exercise() {
	all := drills.Drills()
	d := all[p.index%len(all)]
	set := drills.Settings{Family: d.Families[p.index/len(all)%len(d.Families)]}
	level := p.book.Ladder(progress.Key{Drill: d.ID, Family: set.Family}, p.now).Now()
	ex, err := drills.NewExercise(d.ID, 1940, p.index, level, set)
	if err != nil {
		p.t.Fatal(err)
	}
	p.index++
	dk, err := desk.New(ex.Desk(desk.MonitorStart))
	if err != nil {
		p.t.Fatal(err)
	}
	want := ex.ShowMe()
	off := p.rng.NormFloat64() * 1.5
	// What is shown is done quickly; a learner listens on.
	end := want.LockAt + int64(p.rng.IntN(20)*audio.Rate)
	if ex.Seconds > 0 {
		end = min(end, int64(ex.Seconds*audio.Rate))
	}
	moves := want.Moves
	for dk.Position() < end {
		for len(moves) > 0 && moves[0].At <= dk.Position() {
			dk.SetFader(moves[0].Control, moves[0].To+off)
			moves = moves[1:]
		}
		dk.Pull(p.out)
		for _, v := range p.out {
			if !(v >= -desk.Ceiling && v <= desk.Ceiling) {
				p.t.Fatalf("exercise %d of %s: %v left the desk", p.index, d.ID, v)
			}
		}
		if _, ok := dk.At(dk.Position()); !ok {
			p.t.Fatalf("exercise %d of %s: the meters show nothing", p.index, d.ID)
		}
	}
	take := drills.Take{Moves: dk.Moves(), LockAt: dk.Position(), Number: want.Number, Choice: want.Choice}
	v, err := ex.Judge(take)
	if err != nil {
		p.t.Fatalf("exercise %d of %s: %v", p.index, d.ID, err)
	}
	p.played += dk.Position() + 10*audio.Rate // and the verdict is read
	p.now = p.now.Add(time.Duration(dk.Position()/audio.Rate+10) * time.Second)
	e, err := journal.Of(ex, set, take, v, p.now)
	if err != nil {
		p.t.Fatal(err)
	}
	if e, err = p.journal.Add(e); err != nil {
		p.t.Fatal(err)
	}
	p.book.Add(e.Mark())
	if p.goroutines == 0 {
		p.goroutines = runtime.NumGoroutine()
	}
}

// heapMB is what is in use after two collections, the second for what
// finalizers let go of.
func heapMB() float64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return float64(m.HeapAlloc) / 1e6
}

// The clock is set back by a year in the middle of an evening, and then on
// again: takes stay in the order they were made, so the ladder climbs as it
// would have, nothing is lost or refused, and the advice for what is next goes
// by figures that are within bounds.
func TestClockSetBack(t *testing.T) {
	start := time.Date(2026, 9, 1, 18, 0, 0, 0, time.UTC)
	clocks := map[string]func(i int) time.Time{
		"right":           func(i int) time.Time { return start.Add(time.Duration(i) * time.Minute) },
		"back by a year":  func(i int) time.Time { return start.Add(time.Duration(i)*time.Minute).AddDate(-i/20%2, 0, 0) },
		"standing still":  func(int) time.Time { return start },
		"going backward":  func(i int) time.Time { return start.Add(-time.Duration(i) * time.Hour) },
		"before our time": func(i int) time.Time { return start.Add(time.Duration(i)*time.Minute).AddDate(-50*(i%2), 0, 0) },
	}
	key := progress.Key{Drill: drills.SetTake, Family: "voice"}
	const takes = 60
	ladders := make(map[string]string)
	for name, clock := range clocks {
		j, err := journal.Open(filepath.Join(t.TempDir(), "journal.db"))
		if err != nil {
			t.Fatal(err)
		}
		for i := range takes {
			_, err := j.Add(journal.Entry{When: clock(i), Drill: key.Drill, Family: key.Family, Level: 1 + i%5, Rig: "tape", Seed: 7, Index: i,
				Verdict: drills.Verdict{ErrorDB: float64(i%7) - 3, InWindow: i%7 == 3 || i%3 == 0, Points: 50}})
			if err != nil {
				t.Fatalf("%s: take %d: %v", name, i, err)
			}
		}
		i := 0
		for e, err := range j.All() {
			if err != nil || e.Index != i || !e.When.Equal(clock(i)) {
				t.Fatalf("%s: place %d has take %d of %v, %v", name, i, e.Index, e.When, err)
			}
			i++
		}
		marks, err := j.Marks()
		if err != nil || i != takes || len(marks) != takes {
			t.Fatalf("%s: %d takes, %d marks, %v; want %d", name, i, len(marks), err, takes)
		}
		j.Close()
		book := progress.Read(marks)
		state := book.Ladder(key, clock(takes))
		ladders[name] = fmt.Sprintf("%+v", state)
		// The computer's clock is right again, or not.
		for _, now := range []time.Time{clock(takes), start, start.AddDate(-1, 0, 0), start.AddDate(30, 0, 0), {}} {
			a, ok := book.Next([]progress.Key{key, {Drill: drills.SetTake, Family: "struck"}}, now)
			if !ok || !(a.Need >= -2 && a.Need < 20) || a.Days < 0 || a.Days > 100*366 {
				t.Errorf("%s, asked at %v: %+v, %v", name, now, a, ok)
			}
		}
		s := book.Summary(key, 0)
		if s.Takes != takes || !s.BiasDB.OK {
			t.Errorf("%s: summary %+v", name, s)
		}
	}
	for name, l := range ladders {
		if l != ladders["right"] {
			t.Errorf("%s: level %s; with the clock right %s", name, l, ladders["right"])
		}
	}
}
