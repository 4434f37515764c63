package meter

import (
	"math"
	"math/rand/v2"
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
