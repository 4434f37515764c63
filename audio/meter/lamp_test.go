package meter_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

func TestLamp(t *testing.T) {
	const hold = 100.0 / rate
	at := func(frames ...int) []float32 {
		x := make([]float32, 1000)
		for _, f := range frames {
			x[f] = -0.5
		}
		return x
	}
	for _, c := range []struct {
		what   string
		x      []float32
		flicks int
		lit    int64
		end    bool
	}{
		{"dark", at(), 0, 0, false},
		{"one peak", at(10), 1, 101, false},
		{"lit until the last frame of the hold", at(899), 1, 101, true},
		{"dark right after it", at(898), 1, 101, false},
		{"a peak as the hold ends keeps it lit", at(10, 111), 1, 202, false},
		{"one frame later it had gone out", at(10, 112), 2, 202, false},
		{"cut short by the end", at(990), 1, 10, true},
		{"first frame", at(0), 1, 101, false},
	} {
		for _, size := range []int{1, 7, 64, 1000} {
			l := meter.NewLamp(rate, db(0.5), hold)
			var lit int64 // block by block
			inBlocks(c.x, size, func(b []float32) {
				if l.Process(b); l.Lit() {
					lit++
				}
			})
			if l.Flicks() != c.flicks || size == 1 && lit != c.lit || l.Lit() != c.end {
				t.Errorf("%s, blocks of %d: %d flicks, %d frames, lit %v; want %d, %d, %v", c.what, size,
					l.Flicks(), lit, l.Lit(), c.flicks, c.lit, c.end)
			}
		}
	}
	l := meter.NewLamp(rate, db(0.5001), hold)
	l.Process(at(10))
	if l.Flicks() != 0 {
		t.Error("a peak below the threshold lit the lamp")
	}
	l = meter.NewLamp(rate, db(0.5), hold)
	l.Process(at(10), at(300))
	if l.Flicks() != 2 {
		t.Errorf("peaks in two channels: %d flicks", l.Flicks())
	}
}

// What the map says is what a lamp does, to the frame.
func TestLampMap(t *testing.T) {
	for seed := range uint64(2) {
		for _, frames := range []int{3*rate + 77, rate / 2, 700} {
			left, right := struck(seed, frames), struck(seed+50, frames)
			for _, hold := range []float64{0.15, 0.3, 0.02, 0} {
				for channels := 1; channels <= 2; channels++ {
					loop := [][]float32{left, right}[:channels]
					m := meter.NewLampMap(rate, hold, loop...)
					for threshold := -45.0; threshold < 3; threshold += 1.9 {
						want := lampOverLoop(loop, threshold, hold)
						got := m.At(threshold)
						if got.Flicks != want.Flicks || got.Busiest != want.Busiest ||
							math.Abs(got.LitShare-want.LitShare) > 1e-9 || math.Abs(got.LitMost-want.LitMost) > 1e-9 {
							t.Fatalf("seed %d, %d frames, %d channels, hold %g s, threshold %.1f dBFS: %+v, want %+v",
								seed, frames, channels, hold, threshold, got, want)
						}
					}
				}
			}
		}
	}
}

// lampOverLoop runs a lamp round the loop until it repeats and counts over the
// next turn; when each flick begins is found frame by frame.
func lampOverLoop(loop [][]float32, threshold, hold float64) meter.LampCount {
	frames := len(loop[0])
	l := meter.NewLamp(rate, threshold, hold)
	for range 2 + int(hold*rate)/frames {
		l.Process(loop...)
	}
	flicks := l.Flicks()
	var c meter.LampCount
	frame := make([][]float32, len(loop))
	for i := range frames {
		for ch := range loop {
			frame[ch] = loop[ch][i : i+1]
		}
		if l.Process(frame...); l.Lit() {
			c.LitShare += 1 / float64(frames)
		}
	}
	c.Flicks = l.Flicks() - flicks

	var begins, hits []int // hits: of a turn
	held, reach := int(math.Round(hold*rate)), amplitude(threshold)
	for i := range frames {
		for _, ch := range loop {
			if math.Abs(float64(ch[i])) >= reach {
				hits = append(hits, i)
				break
			}
		}
	}
	last := -1 << 40
	for turn := range 4 + held/frames + 3*rate/frames {
		for _, i := range hits {
			at := turn*frames + i
			if at-last > held+1 && turn > (held+frames-1)/frames {
				begins = append(begins, at)
			}
			last = at
		}
	}
	end := 0
	for i, b := range begins {
		for end < len(begins) && begins[end]-b < 3*rate {
			end++
		}
		c.Busiest = max(c.Busiest, end-i)
	}
	c.LitMost = litMost(hits, frames, held)
	return c
}

// litMost slides a window of three seconds over the repeating loop frame by
// frame and returns the greatest share of it that is lit.
func litMost(hits []int, frames, held int) float64 {
	hit := make([]bool, frames)
	for _, i := range hits {
		hit[i] = true
	}
	// Which frames of a turn are lit, from the last hit before, be it turns ago.
	lit := make([]bool, frames)
	last := -1 << 40
	for at := range (2 + held/frames) * frames {
		if hit[at%frames] {
			last = at
		}
		lit[at%frames] = at-last <= held
	}
	count, most := 0, 0
	first, newest := 0, 0 // frames of the loop, turn after turn
	for at := range 3*rate + frames {
		if lit[newest] {
			count++
		}
		if newest++; newest == frames {
			newest = 0
		}
		if at >= 3*rate {
			if lit[first] {
				count--
			}
			if first++; first == frames {
				first = 0
			}
		}
		if at >= 3*rate-1 {
			most = max(most, count)
		}
	}
	return float64(most) / float64(3*rate)
}

func TestLampMapEmpty(t *testing.T) {
	for _, m := range []*meter.LampMap{meter.NewLampMap(rate, 0.15), meter.NewLampMap(rate, 0.15, nil)} {
		if c := m.At(-200); c != (meter.LampCount{}) {
			t.Errorf("an empty loop: %+v", c)
		}
	}
}

// Whether a stretch of a loop reaches a threshold is what looking at every sample of
// it finds, also past the loop's end and for stretches longer than the loop.
func TestLampMapReaches(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 9))
	for _, frames := range []int{1, 63, 64, 1024, 5000, 16000} {
		left, right := make([]float32, frames), make([]float32, frames)
		for i := range left {
			left[i], right[i] = 0.2*float32(rng.NormFloat64()), 0.05*float32(rng.NormFloat64())
		}
		m := meter.NewLampMap(audio.Rate, 0.15, left, right)
		yes := 0
		for range 400 {
			threshold := -25 + 30*rng.Float64()
			from := rng.Int64N(3 * int64(frames))
			to := from + rng.Int64N(2*int64(frames)+1)
			want := false
			for i := from; i < to; i++ {
				for _, ch := range [][]float32{left, right} {
					want = want || 20*math.Log10(math.Abs(float64(ch[i%int64(frames)]))) >= threshold
				}
			}
			if want {
				yes++
			}
			if got := m.Reaches(threshold, from, to); got != want {
				t.Errorf("%d frames, %.2f dBFS from %d to %d: %v", frames, threshold, from, to, got)
			}
		}
		if frames > 1 && (yes < 20 || yes > 380) {
			t.Errorf("%d frames: %d of 400 reach it; the test tells little", frames, yes)
		}
	}
}

// A peak that reaches the threshold and no more lights the lamp of a map too.
func TestLampMapAtTheThreshold(t *testing.T) {
	x := make([]float32, 48000)
	x[5000] = -0.5
	m := meter.NewLampMap(48000, meter.LampHold, x)
	if c := m.At(db(0.5)); c.Flicks != 1 || c.Busiest != 3 { // three turns in three seconds
		t.Errorf("at the threshold: %+v, want one flick a turn", c)
	}
	if c := m.At(db(0.5001)); c.Flicks != 0 {
		t.Errorf("below the threshold: %+v, want none", c)
	}
}
