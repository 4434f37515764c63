package widget

import (
	"fmt"
	"image/color"
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/game/draw"
	"slowneedle/game/sound"
)

// generalFlashes returns the most general flashes in any one second of a
// picture whose relative luminance changes as given. WCAG 2.2: a general flash
// is a pair of opposing changes of relative luminance of 10 % or more of its
// maximum, where the darker of the two is below 0.80.
func generalFlashes(at, luminance []float64) float64 {
	var changes []float64
	for i := 1; i < len(at); i++ {
		a, b := luminance[i-1], luminance[i]
		if math.Abs(a-b) >= 0.1 && math.Min(a, b) < 0.8 {
			changes = append(changes, at[i])
		}
	}
	most, end := 0, 0
	for i, from := range changes {
		for end < len(changes) && changes[end]-from <= 1 {
			end++
		}
		most = max(most, end-i)
	}
	return float64(most) / 2
}

// In the reduced mode no second has more than three general flashes, whatever
// the meter's lamp does and however evenly or not the frames come: against a
// lamp that does whatever makes most flashes, against thousands of random ones,
// with frames at 5 to 144 a second, some of them late by up to a quarter of a
// second. Without the mode the worst lamp makes more, so the count can tell.
func TestGeneralFlashes(t *testing.T) {
	for _, th := range []*draw.Theme{&draw.Slate, &draw.Paper} {
		on, off := relativeLuminance(th.Lit), relativeLuminance(th.Unlit)
		if math.Abs(on-off) < 0.1 {
			t.Errorf("%s: the lamp changes the luminance by less than a flash does: this test counts nothing", th.Name)
		}
		count := func(reduced bool, rng *rand.Rand, lamp func(i int, shown bool) bool) float64 {
			g := sound.LampGate{Reduced: reduced}
			fps := 5 + 139*rng.Float64()
			var at, lum []float64
			now, shown := 0.0, false
			for i := 0; now < 30; i++ {
				shown = g.Show(now, lamp(i, shown))
				at = append(at, now)
				lum = append(lum, map[bool]float64{true: on, false: off}[shown])
				now += 1 / fps
				if rng.IntN(20) == 0 {
					now += 0.25 * rng.Float64()
				}
			}
			return generalFlashes(at, lum)
		}
		rng := rand.New(rand.NewPCG(23, 1))
		most := 0.0
		check := func(name string, lamp func(i int, shown bool) bool) {
			n := count(true, rng, lamp)
			most = max(most, n)
			if n > 3 {
				t.Errorf("%s, %s: %.1f general flashes in a second", th.Name, name, n)
			}
		}
		for range 200 {
			check("against what is shown", func(_ int, shown bool) bool { return !shown })
		}
		for k := range 500 {
			p := rng.Float64()
			check(fmt.Sprintf("random %d", k), func(int, bool) bool { return rng.Float64() < p })
			period, part := 2+rng.IntN(60), 1+rng.IntN(30)
			check(fmt.Sprintf("%d of %d frames", part, period), func(i int, _ bool) bool { return i%period < part })
		}
		free := 0.0
		for range 20 {
			free = max(free, count(false, rng, func(_ int, shown bool) bool { return !shown }))
		}
		t.Logf("%s: at most %.1f general flashes a second in the reduced mode, %.0f without it", th.Name, most, free)
		if most < 2 || free <= 3 {
			t.Errorf("%s: the lamps tried are not hostile: %.1f and %.1f", th.Name, most, free)
		}
	}
}

// relativeLuminance is that of WCAG 2.2, 0 to 1.
func relativeLuminance(c color.NRGBA) float64 {
	channel := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(c.R) + 0.7152*channel(c.G) + 0.0722*channel(c.B)
}
