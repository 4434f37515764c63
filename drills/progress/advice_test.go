package progress

import (
	"math"
	"testing"
	"time"

	"slowneedle/audio/source"
)

// score by hand: the mean score of takes drawn towards a value.
func drawn(scores []float64, value, as float64) float64 {
	sum := value * as
	for _, s := range scores {
		sum += s
	}
	return sum / (float64(len(scores)) + as)
}

// The need of every pair is what the documents say (assets/guide/formats.md),
// worked out here by hand.
func TestNeedIsWhatTheDocumentsSay(t *testing.T) {
	hour := func(h float64) time.Time { return start.Add(time.Duration(h * float64(time.Hour))) }
	const day = 24
	var b Book
	add := func(at time.Time, drill string, f source.Family, level int, errDB, tolerance float64, right bool) {
		b.Add(Mark{At: at, Drill: drill, Family: f, Level: level, ErrorDB: errDB, ToleranceDB: tolerance, NoError: drill == "trust", Right: right})
	}
	// Nine takes of a voice, of which the first is too old to count; one of them
	// was abandoned and counts as 2.5 tolerances; a take off the ladder counts
	// as one on the first step.
	add(hour(0), "set", source.Voice, 5, -9, 2, false)
	for range 6 {
		add(hour(1), "set", source.Voice, 5, -1, 2, true)
	}
	add(hour(1), "set", source.Voice, 5, 20, 2, false)
	add(hour(1), "set", source.Voice, 0, 3, 3, true)
	add(hour(2), "set", source.Struck, 5, 4, 2, false)
	add(hour(3), "set", source.Struck, 5, 4, 0, false) // no tolerance: wrong is wrong
	add(hour(4), "trust", source.Voice, 5, 0, 0, false)
	add(hour(5), "trust", source.Voice, 5, 0, 0, true)
	add(hour(6), "trust", source.Voice, 5, 0, 0, true)

	five, one := population[5], population[1]
	z := func(tolerances float64) float64 { return (tolerances - five.mean) / five.deviation }
	wrong, right := (1-five.wrong)/math.Sqrt(five.wrong*(1-five.wrong)), -five.wrong/math.Sqrt(five.wrong*(1-five.wrong))
	setVoice := []float64{z(0.5), z(0.5), z(0.5), z(0.5), z(0.5), z(0.5), z(2.5), (1 - one.mean) / one.deviation}
	setStruck := []float64{z(2), wrong}
	trustVoice := []float64{wrong, right, right}
	set := drawn(append(append([]float64{}, setVoice...), setStruck...), 0, 4)
	trust := drawn(trustVoice, 0, 4)
	less := func(scores []float64, by float64) (all []float64) {
		for _, s := range scores {
			all = append(all, s-by)
		}
		return all
	}
	voice := drawn(append(less(setVoice, set), less(trustVoice, trust)...), 0, 6)
	struck := drawn(less(setStruck, set), 0, 6)

	for _, tt := range []struct {
		name   string
		key    Key
		now    time.Time
		score  float64
		beside float64 // what is added to the score
	}{
		{"a voice after ten days", Key{Drill: "set", Family: source.Voice}, hour(10*day + 1), drawn(setVoice, set+voice, 4), 0.15*10 + 0.25*4},
		{"after two days", Key{Drill: "set", Family: source.Voice}, hour(2*day + 3), drawn(setVoice, set+voice, 4), 0.15*2 + 0.25*2},
		{"after a hundred", Key{Drill: "set", Family: source.Voice}, hour(100 * day), drawn(setVoice, set+voice, 4), 3 + 1},
		{"struck, after the voice of the drill", Key{Drill: "set", Family: source.Struck}, hour(3*day + 2.5), drawn(setStruck, set+struck, 4), 0.15*2 + 0.25*2},
		{"within the hour of three takes", Key{Drill: "trust", Family: source.Voice}, hour(6.5), drawn(trustVoice, trust+voice, 4), -0.2},
		{"the hour is over", Key{Drill: "trust", Family: source.Voice}, hour(7), drawn(trustVoice, trust+voice, 4), 0},
		{"ten takes in the hour", Key{Drill: "set", Family: source.Struck}, hour(1.5), drawn(setStruck, set+struck, 4), -0.2 * 8},
		{"a family never tried on a drill", Key{Drill: "trust", Family: source.Struck}, hour(5*day + 6), trust + struck, 0.15*5 + 0.25*4},
		{"a drill never tried", Key{Drill: "ride", Family: source.Struck}, hour(5*day + 6), struck, 0.15*5 + 0.25*5},
		{"nothing known", Key{Drill: "ride", Family: source.Ensemble}, hour(1000 * day), 0, 8 + 8},
	} {
		a, ok := b.Next([]Key{tt.key}, tt.now)
		if !ok || math.Abs(a.Score-tt.score) > 1e-9 || math.Abs(a.Need-a.Score-tt.beside) > 1e-9 {
			t.Errorf("%s: score %.4f and %.3f beside, want %.4f and %.3f", tt.name, a.Score, a.Need-a.Score, tt.score, tt.beside)
		}
	}
}

// Twenty takes on a drill within the hour weigh no more than ten.
func TestTirednessHasAnEnd(t *testing.T) {
	one := read(evening(start, "set", source.Voice, 1, 0))
	if a, _ := one.Next([]Key{{Drill: "set", Family: source.Voice}}, start); math.Abs(a.Need-a.Score+0.2) > 1e-9 {
		t.Errorf("after one take: %.2f, want -0.2", a.Need-a.Score)
	}
	b := read(evening(start, "set", source.Voice, 40, 0))
	a, _ := b.Next([]Key{{Drill: "set", Family: source.Voice}}, start.Add(40*time.Minute))
	if got := a.Need - a.Score; math.Abs(got+2) > 1e-9 {
		t.Errorf("%.2f, want -2", got)
	}
}

// Of equal needs the earlier choice comes first.
func TestRankIsStable(t *testing.T) {
	b := new(Book)
	choices := []Key{{Drill: "c"}, {Drill: "a"}, {Drill: "b"}}
	for i, a := range b.Rank(choices, start) {
		if a.Drill != choices[i].Drill || a.Code != Begin {
			t.Errorf("place %d: %+v", i, a)
		}
	}
}

// Where each reason begins.
func TestReasonsAtTheirBounds(t *testing.T) {
	k := Key{Drill: "set", Family: source.Voice}
	at := func(days int) time.Time { return start.AddDate(0, 0, days) }
	for _, tt := range []struct {
		name string
		errs []float64 // errors of the newest takes, tolerance 2 on step 5
		days int
		want Code
	}{
		{"three takes", []float64{3, 3, 3}, 1, Unknown},
		{"four takes, hot", []float64{3, 3.1, 2.9, 3}, 1, TooHot},
		{"four takes, cold", []float64{-3, -3.1, -2.9, -3}, 1, TooCold},
		{"a bias of 0.4 dB is little", []float64{0.4, 0.4, 0.5, 0.3}, 1, Onward},
		{"a bias of 0.5 dB is not", []float64{0.5, 0.5, 0.6, 0.4}, 1, TooHot},
		{"no bias, a wide spread", []float64{3, -3, 3, -3}, 1, Uneven},
		{"a bias lost in the spread", []float64{4, -3.5, 4, -3.5}, 1, Uneven},
		{"a spread of a decibel that is less than others have", []float64{1, -1, 1, -1}, 1, Onward},
		{"six days", []float64{1, -1, 1, -1}, 6, Onward},
		{"seven days", []float64{1, -1, 1, -1}, 7, Rusty},
		{"seven days weigh less than a bias of this size", []float64{6, 6, 6, 6, 6, 6, 6, 6}, 7, TooHot},
	} {
		var b Book
		for _, e := range tt.errs {
			b.Add(Mark{At: start, Drill: "set", Family: source.Voice, Level: 5, ErrorDB: e, ToleranceDB: 2, Right: math.Abs(e) <= 2})
		}
		if a, _ := b.Next([]Key{k}, at(tt.days)); a.Code != tt.want {
			t.Errorf("%s: %+v, want %s", tt.name, a, tt.want)
		}
	}
}

// Takes in a row that were wrong to one side.
func TestSameSide(t *testing.T) {
	k := Key{"set", source.Voice, "tape"}
	for _, tt := range []struct {
		errs  []float64 // right below 1 dB
		takes int
		db    float64
	}{
		{nil, 0, 0},
		{[]float64{2}, 1, 2},
		{[]float64{2, 3, 2.5}, 3, 2.5},
		{[]float64{-2, -3}, 2, -2.5},
		{[]float64{2, 0.5, 3, 4}, 2, 3.5},
		{[]float64{3, -2, -4, -3}, 3, -3},
		{[]float64{3, 3, 0.5}, 0, 0},
	} {
		var b Book
		for _, e := range tt.errs {
			b.Add(Mark{At: start, Drill: k.Drill, Family: k.Family, ErrorDB: e, Right: math.Abs(e) < 1})
		}
		b.Add(Mark{At: start, Drill: "other", ErrorDB: -5})
		if takes, db := b.SameSide(k); takes != tt.takes || db != tt.db {
			t.Errorf("%v: %d takes, %v dB; want %d, %v", tt.errs, takes, db, tt.takes, tt.db)
		}
	}
	b := read([]Mark{{At: start, Drill: "trust", NoError: true}})
	if takes, _ := b.SameSide(Key{Drill: "trust"}); takes != 0 {
		t.Errorf("a drill without an error: %d takes", takes)
	}
}

func TestTakesSince(t *testing.T) {
	b := read(evening(start, "set", source.Voice, 5, 0), evening(start.AddDate(0, 0, 1), "set", source.Struck, 3, 0))
	for at, want := range map[time.Time]int{start: 8, start.Add(time.Minute): 7, start.AddDate(0, 0, 1): 3, start.AddDate(0, 0, 2): 0} {
		if n := b.TakesSince(at); n != want {
			t.Errorf("since %v: %d takes, want %d", at, n, want)
		}
	}
}

// A step is lost for 30 days without practice, counted from the latest take
// whatever the order of the clock, and three right answers bring it back.
func TestLadderAfterAPause(t *testing.T) {
	k := Key{Drill: "set", Family: source.Struck}
	b := read(evening(start, "set", source.Struck, 6, 0)) // on step 7
	last := start.Add(5 * time.Minute)
	for days, want := range map[int]int{0: 7, 29: 7, 30: 6, 61: 5, 1000: 1, -500: 7} {
		if got := b.Ladder(k, last.AddDate(0, 0, days)).Now(); got != want {
			t.Errorf("after %d days: step %d, want %d", days, got, want)
		}
	}
	back := read(evening(start, "set", source.Struck, 6, 0), evening(last.AddDate(0, 0, 61), "set", source.Struck, 3, 0))
	if got := back.Ladder(k, last.AddDate(0, 0, 62)).Now(); got != 7 {
		t.Errorf("after three right answers: step %d, want 7", got)
	}
}
