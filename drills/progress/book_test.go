package progress

import (
	"fmt"
	"math"
	"testing"
	"time"

	"slowneedle/audio/source"
)

var start = time.Date(2026, 3, 2, 19, 0, 0, 0, time.UTC)

// evening makes n marks a minute apart whose errors go round a list.
func evening(at time.Time, drill string, f source.Family, n int, errs ...float64) (marks []Mark) {
	for i := range n {
		e := errs[i%len(errs)]
		marks = append(marks, Mark{At: at.Add(time.Duration(i) * time.Minute), Drill: drill, Family: f, Rig: "digital",
			Level: 3, ErrorDB: e, ToleranceDB: 1, Right: math.Abs(e) <= 1, Points: 100 - int(10*math.Abs(e))})
	}
	return marks
}

func read(all ...[]Mark) *Book {
	b := new(Book)
	for _, marks := range all {
		for _, m := range marks {
			b.Add(m)
		}
	}
	return b
}

func TestSummary(t *testing.T) {
	b := read(evening(start, "set", source.Struck, 12, 3, 2, 4))
	s := b.Summary(Key{Drill: "set", Family: source.Struck}, 0)
	near(t, "bias", s.BiasDB.Value, 3, 1e-12)
	near(t, "spread", s.SpreadDB.Value, math.Sqrt(8.0/11), 1e-12) // eight of twelve are 1 dB off
	near(t, "in the window", s.InWindow.Value, 0, 0)
	if s.Takes != 12 || s.Errors != 12 || !s.Last.Equal(start.Add(11*time.Minute)) || s.PerHundred.OK {
		t.Errorf("%+v", s)
	}
}

func TestNoClaimOnTooFewTakes(t *testing.T) {
	for n := range 25 {
		s := read(evening(start, "set", source.Voice, n, 1, -1, 0.5)).Summary(Key{}, 0)
		if s.BiasDB.OK != (n >= 10) || s.SpreadDB.OK != (n >= 10) || s.InWindow.OK != (n >= 10) || s.PerHundred.OK != (n >= 20) {
			t.Errorf("%d takes: %+v", n, s)
		}
	}
}

func TestDrillsWithoutAnError(t *testing.T) {
	b := new(Book)
	for i := range 20 {
		m := Mark{At: start, Drill: "trust", Right: i%4 != 0, NoError: true}
		if i%2 == 0 {
			m.NoError, m.ErrorDB = false, math.NaN() // as good as none
		}
		b.Add(m)
	}
	s := b.Summary(Key{}, 0)
	if s.Errors != 0 || s.BiasDB.OK || !s.InWindow.OK || s.InWindow.Value != 0.75 {
		t.Errorf("%+v", s)
	}
	if g := b.Series(Key{}, 0); len(g) != 2 || !g[0].InWindow.OK {
		t.Errorf("%+v", g)
	}
}

// Keys choose takes; what is left out of a key takes all, in order.
func TestKeys(t *testing.T) {
	b := new(Book)
	for i := range 120 {
		b.Add(Mark{At: start.Add(time.Duration(i) * time.Hour), Drill: []string{"a", "b"}[i%2],
			Family: source.Generated()[i%3], Rig: []string{"digital", "tape"}[i/6%2], ErrorDB: float64(i)})
	}
	for k, want := range map[Key]int{
		{}:                                    120,
		{Drill: "a"}:                          60,
		{Family: source.Voice}:                40,
		{Rig: "tape"}:                         60,
		{Drill: "b", Rig: "tape"}:             30,
		{"b", source.Plucked, "tape"}:         10,
		{"a", source.Plucked, "tape"}:         10,
		{Drill: "none"}:                       0,
		{Drill: "a", Family: source.Ensemble}: 0,
	} {
		got := b.points(k, 0)
		if len(got) != want {
			t.Errorf("%+v: %d takes, want %d", k, len(got), want)
		}
		for _, m := range got {
			if k.Rig != "" && m.Rig != k.Rig {
				t.Errorf("%+v: a take on %s", k, m.Rig)
				break
			}
		}
		for i := 1; i < len(got); i++ {
			if got[i].ErrorDB <= got[i-1].ErrorDB {
				t.Errorf("%+v: out of order", k)
				break
			}
		}
		if newest := b.points(k, 7); len(newest) != min(want, 7) || want > 0 && newest[len(newest)-1] != got[len(got)-1] {
			t.Errorf("%+v: the newest 7 are %d", k, len(newest))
		}
	}
}

// A trend is counted by takes, so a clock that was set back does not turn it.
func TestTrendWithTheClockSetBack(t *testing.T) {
	b := new(Book)
	for i := range 40 {
		b.Add(Mark{At: start.Add(-time.Duration(i) * time.Hour), Drill: "set", ErrorDB: 4 - float64(i)/10})
	}
	near(t, "dB a hundred takes", b.Summary(Key{}, 0).PerHundred.Value, -10, 1e-9)
}

func TestSeries(t *testing.T) {
	b := read(evening(start, "set", source.Struck, 1234, 0.2, 3, 0.4, 0.6))
	for _, tt := range []struct{ most, groups, each int }{
		{0, 123, 10}, {123, 123, 10}, {122, 61, 20}, {40, 24, 50}, {20, 12, 100}, {6, 6, 200}, {5, 2, 500}, {1, 1, 1000},
	} {
		got := b.Series(Key{}, tt.most)
		if len(got) != tt.groups || got[0].Takes != tt.each {
			t.Errorf("at most %d: %d groups of %d, want %d of %d", tt.most, len(got), got[0].Takes, tt.groups, tt.each)
		}
	}
	g := b.Series(Key{}, 0)[1] // takes 10 to 19: the errors from 0.4 on
	near(t, "share", g.InWindow.Value, 0.8, 1e-12)
	if got := b.Series(Key{Drill: "none"}, 10); len(got) != 0 {
		t.Errorf("%v", got)
	}
}

func TestLadder(t *testing.T) {
	b := read(evening(start, "set", source.Struck, 6, 0)) // always right: a level each time
	if got := b.Ladder(Key{"set", source.Struck, "tape"}, start).Now(); got != 7 {
		t.Errorf("level %d, want 7", got)
	}
	b.Add(Mark{Drill: "set", Family: source.Struck, Right: true}) // on a sheet: not on the ladder
	if got := b.Ladder(Key{Drill: "set", Family: source.Struck}, start).Now(); got != 7 {
		t.Errorf("level %d, want 7", got)
	}
	if got := b.Ladder(Key{Drill: "set", Family: source.Voice}, start).Now(); got != 1 {
		t.Errorf("level %d, want 1", got)
	}
}

func TestNext(t *testing.T) {
	choices := []Key{{Drill: "set", Family: source.Voice}, {Drill: "set", Family: source.Struck}, {Drill: "trust"}}
	noError := func(at time.Time, n int, right int) (marks []Mark) {
		for i := range n {
			marks = append(marks, Mark{At: at, Drill: "trust", Right: i%10 < right, NoError: true})
		}
		return marks
	}
	good := func(f source.Family) []Mark { return evening(start, "set", f, 20, 0.1, -0.1, 0.2, -0.2) }
	days := func(n float64) time.Time { return start.Add(time.Duration(n * 24 * float64(time.Hour))) }
	tests := []struct {
		name  string
		book  *Book
		now   time.Time
		drill string
		f     source.Family
		code  Code
		say   string
	}{
		{"an empty book begins with the first choice", read(), start, "set", source.Voice, Begin, "0 takes"},
		{"hot on struck sources", read(good(source.Voice), noError(start, 20, 9), evening(start, "set", source.Struck, 20, 3.4, 2.6)),
			days(1), "set", source.Struck, TooHot, "3.0 dB"},
		{"cold on voices", read(evening(start, "set", source.Voice, 20, -3.5, -2.5), noError(start, 20, 9), good(source.Struck)),
			days(1), "set", source.Voice, TooCold, "3.0 dB"},
		{"uneven on voices", read(evening(start, "set", source.Voice, 20, -3, 3), noError(start, 20, 9), good(source.Struck)),
			days(1), "set", source.Voice, Uneven, "3.2 dB"},
		{"a strong one never tried comes before a strong one tried", read(good(source.Voice), good(source.Struck)),
			days(1), "trust", "", Unknown, "0 takes"},
		{"many wrong answers", read(good(source.Voice), good(source.Struck), noError(start, 20, 3)),
			days(1), "trust", "", Missed, "30 %"},
		{"what was left for weeks comes back", read(good(source.Voice), evening(days(20), "set", source.Struck, 20, 0.5, -0.5), noError(days(20), 20, 9)),
			days(21), "set", source.Voice, Rusty, "20 days"},
		{"all well: on to the next level", read(good(source.Voice), evening(start, "set", source.Struck, 20, 0.3, -0.3), noError(start, 20, 10)),
			days(1), "trust", "", Onward, "level 1"},
		{"twenty takes in the last hour are enough of one drill", read(evening(start, "set", source.Struck, 20, 3.0, 2.0), noError(days(-9), 20, 9)),
			start.Add(20 * time.Minute), "trust", "", Rusty, "9 days"},
		{"two hours later it may come again", read(evening(start, "set", source.Struck, 20, 3.0, 2.0), noError(days(-9), 20, 9)),
			start.Add(2 * time.Hour), "set", source.Struck, TooHot, "2.5 dB"},
		{"a clock set back does no harm", read(good(source.Voice), good(source.Struck), noError(start, 20, 3)),
			days(-400), "trust", "", Missed, "30 %"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a, ok := tt.book.Next(choices, tt.now)
			if !ok || a.Drill != tt.drill || a.Family != tt.f || a.Code != tt.code {
				t.Fatalf("%+v, want %s on %s because %s", a, tt.drill, tt.f, tt.code)
			}
			say := map[Code]string{
				Begin: fmt.Sprintf("%d takes", a.Takes), Unknown: fmt.Sprintf("%d takes", a.Takes),
				TooHot: fmt.Sprintf("%.1f dB", a.DB), TooCold: fmt.Sprintf("%.1f dB", a.DB), Uneven: fmt.Sprintf("%.1f dB", a.DB),
				Missed: fmt.Sprintf("%.0f %%", 100*a.Share), Rusty: fmt.Sprintf("%d days", a.Days), Onward: fmt.Sprintf("level %d", a.Level),
			}[a.Code]
			if say != tt.say {
				t.Errorf("it says %q, want %q", say, tt.say)
			}
		})
	}
	if _, ok := new(Book).Next(nil, start); ok {
		t.Error("there is advice without a choice")
	}
}

// Practising what is advised brings everything round: over many evenings no
// choice is left out for long and the weak one gets the most.
func TestNextBringsEverythingRound(t *testing.T) {
	choices := []Key{{Drill: "set", Family: source.Voice}, {Drill: "set", Family: source.Struck}, {Drill: "set", Family: source.Plucked}}
	errs := map[source.Family][]float64{source.Voice: {0.5, -0.5}, source.Struck: {2.5, 1.5}, source.Plucked: {1, 0}}
	b := new(Book)
	count := map[source.Family]int{}
	last := map[source.Family]int{}
	for day := range 60 {
		at := start.AddDate(0, 0, day)
		for f, before := range last {
			if gap := day - before; gap > 21 {
				t.Errorf("day %d: %s was left for %d days", day, f, gap)
			}
		}
		for range 4 {
			a, _ := b.Next(choices, at)
			for _, m := range evening(at, a.Drill, a.Family, 10, errs[a.Family]...) {
				b.Add(m)
			}
			at = at.Add(10 * time.Minute)
			count[a.Family]++
			last[a.Family] = day
		}
	}
	t.Logf("blocks of ten in 60 evenings of four: %v", count)
	if count[source.Struck] <= count[source.Voice] || count[source.Struck] <= count[source.Plucked] || len(count) != 3 {
		t.Errorf("%v", count)
	}
}

// What was set on a real desk counts in a book of its own, and nowhere else.
func TestRealDeskIsApart(t *testing.T) {
	desk := evening(start, RealDesk, source.Voice, 14, 1)
	b := read(evening(start, "set", source.Voice, 12, -2), desk)
	if b.Len() != 12 || b.RealDesk().Len() != len(desk) {
		t.Errorf("%d takes in the book, %d on a desk; want 12 and %d", b.Len(), b.RealDesk().Len(), len(desk))
	}
	near(t, "bias in the trainer", b.Summary(Key{}, 0).BiasDB.Value, -2, 1e-12)
	near(t, "bias on the desk", b.RealDesk().Summary(Key{Drill: RealDesk, Family: source.Voice}, 0).BiasDB.Value, 1, 1e-12)
	if read(evening(start, "set", source.Voice, 3, -2)).RealDesk().Len() != 0 {
		t.Error("takes on a desk where there were none")
	}
}
