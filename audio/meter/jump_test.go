package meter

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"slowneedle/audio"
)

// The reading has no jump: courses whose tops and dips lie about every bound of the
// rule, each point moved by up to 1e-5 dB, read the same within 0.002 dB.
func TestReadingHasNoJump(t *testing.T) {
	const step = 1e-5
	rnd := rand.New(rand.NewPCG(12, 40))
	read := func(course []float64) float64 {
		s := swings{perSecond: 10}
		for _, db := range course {
			s.step(audio.Gain(db))
		}
		return audio.DB(s.reading())
	}
	worst := 0.0
	for range 30000 {
		var course, moved []float64
		add := func(db float64) {
			course = append(course, db)
			moved = append(moved, db+step*(2*rnd.Float64()-1))
		}
		for range 1 + rnd.IntN(12) {
			top := -3 * rnd.Float64()
			switch rnd.IntN(3) {
			case 0:
				top = -12 - 9*rnd.Float64() // about the end of the scale
			case 1:
				top = float64(rnd.IntN(4)) + 0.1*rnd.Float64() // about the bounds of what is unusual
			}
			for range 1 + rnd.IntN(20) { // held about as long as a swing is thrown
				add(top)
			}
			add(top - 0.8 - 1.5*rnd.Float64()*float64(1+rnd.IntN(8)))
		}
		by := math.Abs(read(moved) - read(course))
		if worst = max(worst, by); by > 0.002 {
			t.Fatalf("a course reads %.4f, moved by %g dB %.4f:\n%.4f\n%.4f", read(course), step, read(moved), course, moved)
		}
	}
	t.Logf("moved by %g dB the reading moves by %.4f dB at most", step, worst)
}

// The tops found as a course goes by are those found by looking at the whole of it: a
// top's prominence is its height above the higher of the lowest points between it and
// the next higher top on either side; 1 dB counts for nothing, 2 dB entirely.
func TestProminence(t *testing.T) {
	rnd := rand.New(rand.NewPCG(3, 19))
	for range 3000 {
		course := make([]float64, 2+rnd.IntN(60))
		for i := range course {
			course[i] = audio.Gain(-6*rnd.Float64() - 8*rnd.Float64()*float64(i%2))
		}
		type found struct{ value, weight float64 }
		var want []found
		for i, p := range course {
			if i > 0 && course[i-1] > p || i+1 < len(course) && course[i+1] > p {
				continue
			}
			saddle := 0.0 // the course rises from rest
			for _, step := range []int{-1, 1} {
				lowest, higher := p, false
				for j := i; j >= 0 && j < len(course) && !higher; j += step {
					lowest, higher = min(lowest, course[j]), course[j] > p
				}
				if higher {
					saddle = max(saddle, lowest)
				}
			}
			if w := min(max(audio.DB(p)-audio.DB(saddle)-1, 0), 1); w > 0 {
				want = append(want, found{p, w})
			}
		}
		slices.SortFunc(want, func(a, b found) int { return cmp.Compare(b.value, a.value) })
		s := swings{perSecond: 1500}
		for _, p := range course {
			s.step(p)
		}
		s.end()
		for i, w := range want {
			if got := s.tops[i]; got.value != w.value || math.Abs(got.weight-w.weight) > 1e-9 {
				t.Fatalf("top %d is %v, want %v, of %v in\n%v", i, got, w, want, course)
			}
		}
		if len(want) < len(s.tops) && s.tops[len(want)].weight != 0 {
			t.Fatalf("more than %d tops: %v in\n%v", len(want), s.tops, course)
		}
	}
}

// More swings than are kept open at a time, each lower than the one before and its dip
// higher: the one that stands out is left out, and the greatest of the rest is read.
func TestReadingOfManySwings(t *testing.T) {
	for _, c := range []struct {
		first float64 // dB above the next
		want  float64 // dB below the first
	}{{0.5, 0}, {5, -5}, {1.5, -1}} {
		s := swings{perSecond: 1500}
		for k := range 100 {
			top := -0.03 * float64(k)
			if k == 0 {
				top = c.first
			}
			s.step(audio.Gain(top))
			s.step(audio.Gain(-40 + 0.3*float64(k)))
		}
		got := audio.DB(s.reading()) - c.first
		// The second stands 0.03 dB lower than the first would.
		if math.Abs(got-c.want) > 0.07 {
			t.Errorf("the first %g dB above the rest: reads %.3f dB below it, want %.3f", c.first, got, c.want)
		}
	}
}

// A tone held for 1 s is read with its overshoot, for 1.5 s and more without, for 1.25 s
// half and half.
func TestHeldSwing(t *testing.T) {
	for _, c := range []struct{ seconds, want float64 }{
		{0.9, 1.0125}, {1, 1.0125}, {1.25, 1.00625}, {1.5, 1}, {4, 1},
	} {
		s := swings{perSecond: 1000}
		s.step(1.0125)
		for range int(c.seconds * 1000) {
			s.step(1)
		}
		if got := s.reading(); math.Abs(got-c.want) > 1e-5 {
			t.Errorf("held for %g s it reads %.5f, want %.5f", c.seconds, got, c.want)
		}
	}
}

// A held swing that falls while it is held, by less than parts two swings, reads its top
// less the overshoot of 1.25 % (ANSI C16.5 has 1 to 1.5 %), not what it fell to.
func TestHeldSwingThatFalls(t *testing.T) {
	s := swings{perSecond: 1000}
	s.step(1.0125)
	for range 4000 {
		s.step(0.93)
	}
	if got := s.reading(); math.Abs(got-1) > 1e-5 {
		t.Errorf("it reads %.5f, want 1", got)
	}
}
