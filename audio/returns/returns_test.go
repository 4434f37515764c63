package returns

import (
	"math"
	"math/rand/v2"
	"testing"

	"slowneedle/audio"
)

// curve is a level over time, ten times a second: so many points at each level.
func curve(parts ...[2]float64) (c []GainPoint) {
	for _, p := range parts {
		for range int(p[0]) {
			c = append(c, GainPoint{float64(len(c)) * gainStep, p[1]})
		}
	}
	return c
}

func TestSteady(t *testing.T) {
	slope := func(n int, perSecond float64) (c []GainPoint) {
		for i := range n {
			c = append(c, GainPoint{float64(i) * gainStep, float64(i) * gainStep * perSecond})
		}
		return c
	}
	for _, c := range []struct {
		name  string
		curve []GainPoint
		held  bool
		db    float64
		from  float64 // seconds, of the first window's middle
	}{
		{"held", curve([2]float64{100, 3}), true, 3, 0},
		{"two seconds", curve([2]float64{20, 3}), true, 3, 0},
		{"a little less", curve([2]float64{19, 3}), false, 0, 0},
		{"a step in the middle", curve([2]float64{50, -2}, [2]float64{50, 3}), true, 3, 5},
		{"a step of 0.2 dB", curve([2]float64{50, 2.8}, [2]float64{50, 3}), true, 2.9, 0},
		{"a step of 0.5 dB", curve([2]float64{50, 2.5}, [2]float64{50, 3}), true, 3, 5},
		{"a step a second before the end", curve([2]float64{90, -2}, [2]float64{10, 3}), false, 0, 0},
		{"held for 1.4 s", curve([2]float64{50, 2}, [2]float64{14, 0}), false, 0, 0},
		{"one window out of line", curve([2]float64{70, 3}, [2]float64{1, 9}, [2]float64{29, 3}), true, 3, 0},
		{"a fade of 1 dB a second", slope(100, 1), false, 0, 0},
		{"nothing", nil, false, 0, 0},
	} {
		part, db, held := steady(c.curve)
		if held != c.held || held && (math.Abs(db-c.db) > 0.11 || math.Abs(part.Start+gainWindow/2-c.from) > 0.11) {
			t.Errorf("%s: %v dB from %.2f s, held %v; want %v dB from %v s, %v", c.name, db, part.Start+gainWindow/2, held, c.db, c.from, c.held)
		}
	}
}

func TestMoves(t *testing.T) {
	got := moves(curve([2]float64{30, 0}, [2]float64{30, 2}, [2]float64{5, 2.3}, [2]float64{30, -1}))
	if len(got) != 2 || math.Abs(got[0].DB-2) > 0.01 || math.Abs(got[0].At-2.95) > 0.11 || math.Abs(got[1].DB+3.3) > 0.31 || math.Abs(got[1].At-6.45) > 0.11 {
		t.Errorf("moves %+v, want 2 dB at 2.95 s and -3 dB at 6.45 s", got)
	}
	if got := moves(curve([2]float64{30, 0}, [2]float64{30, 0.4})); len(got) != 0 {
		t.Errorf("moves %+v, want none", got)
	}
}

func sine(hertz, rate, amplitude float64, n int) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(amplitude * math.Sin(2*math.Pi*hertz*float64(i)/rate))
	}
	return x
}

// A sine has the power of its level at every rate, all of it in the bands around
// its frequency.
func TestPowers(t *testing.T) {
	for _, rate := range []float64{22050, 44100, 44545.45, 48000, 96000, 192000} {
		for _, hertz := range []float64{100, 440, 1000, 1500, 7000} {
			a := newAnalyser(rate, window)
			_, p, _ := a.mean(sine(hertz, rate, 0.5, int(rate/2)))
			if got := db(p.sum()); math.Abs(got-20*math.Log10(0.5)) > 0.1 {
				t.Errorf("%g Hz at %g: %.3f dB, want -6.02", hertz, rate, got)
			}
			below := int(math.Log2(hertz / middle))
			if near := p[max(0, below)] + p[min(bands-1, below+1)]; near < 0.9*p.sum() {
				t.Errorf("%g Hz at %g: only %.2f of it in its bands", hertz, rate, near/p.sum())
			}
		}
	}
}

// Resampled, a sine is the same sine, to 40 dB below it, and what lies above the
// cut is gone.
func TestResample(t *testing.T) {
	for _, rate := range []float64{44100, 48000, 49484.5, 96000} {
		x := sine(1000, rate, 1, int(rate))
		const n = 40000
		worst := 0.0
		for i, v := range resample(x, rate, 1000.25, audio.Rate, passCut, n) {
			want := math.Sin(2 * math.Pi * 1000 * (1000.25/rate + float64(i)/audio.Rate))
			worst = max(worst, math.Abs(float64(v)-want))
		}
		if worst > 0.01 {
			t.Errorf("from %g Hz: off by %.4f", rate, worst)
		}
		for i, v := range resample(sine(3000, rate, 1, int(rate)), rate, 1000, thinRate, thinCut, 4000) {
			if math.Abs(float64(v)) > 0.01 {
				t.Fatalf("from %g Hz: sample %d of a tone above the cut is %.4f", rate, i, v)
			}
		}
	}
}

func TestFrequency(t *testing.T) {
	x := sine(1031.7, 44100, 0.1, 5*44100)
	if got := frequency(x, 44100, 1030); math.Abs(got-1031.7) > 0.01 {
		t.Errorf("%.4f Hz, want 1031.7", got)
	}
	// With wow of 0.3 % twice a second the mean is what it was.
	for i := range x {
		s := float64(i) / 44100
		x[i] = float32(math.Sin(2 * math.Pi * (1000*s + 3/(2*math.Pi*2)*math.Sin(2*math.Pi*2*s))))
	}
	if got := frequency(x, 44100, 1001); math.Abs(got-1000) > 0.1 {
		t.Errorf("with wow %.4f Hz, want 1000", got)
	}
}

func TestFlatTops(t *testing.T) {
	x := sine(997, 48000, 0.5, 4800)
	if got := flatTops(x); got > 4800/5 {
		t.Errorf("a sine has %d samples in flat tops", got)
	}
	free := flatTops(x)
	for i, v := range x {
		x[i] = min(max(v, -0.35), 0.35)
	}
	// Clipped 3 dB down, half of all samples lie at the limit: 1 - 2/pi asin(0.7) = 0.506.
	if got := flatTops(x); math.Abs(float64(got)/4800-0.506) > 0.03 || got < 2*free {
		t.Errorf("clipped it has %d of 4800, %d before", got, free)
	}
	if got := flatTops(make([]float32, 100)); got != 0 {
		t.Errorf("silence has %d", got)
	}
}

// An equaliser that raises an octave by 3 dB is seen, noise is not taken for one.
func TestEqualiser(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	var all []frame
	for range 400 {
		f := frame{}
		for b := range f.sent {
			f.sent[b] = math.Exp(rng.NormFloat64())
			f.back[b] = 4 * f.sent[b] * math.Exp(0.2*rng.NormFloat64())
			f.clear[b] = true
		}
		all = append(all, f)
	}
	if eq := equaliser([][]frame{all}); unevenness(eq) != 0 {
		t.Errorf("of noise: %.2f", eq)
	}
	for i := range all {
		all[i].back[1] *= 2
	}
	eq := equaliser([][]frame{all})
	for b, v := range eq {
		want := 0.0
		if b == 1 {
			want = db(2)
		}
		if math.Abs(db(v)-want) > 0.3 {
			t.Errorf("band %d: %+.2f dB, want %+.2f", b, db(v), want)
		}
	}
}

// Noise that lies 12 dB below what is sent, in every band, would raise what comes back by
// 10 log10(1 + 10^-1.2) = 0.27 dB; it is taken off.
func TestNoiseIsTakenOff(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 5))
	white := func(n int, db float64) []float32 {
		x := make([]float32, n)
		for i := range x {
			x[i] = float32(math.Pow(10, db/20) * rng.NormFloat64())
		}
		return x
	}
	const n = 20 * audio.Rate
	sent, noise := white(n, -30), white(n, -42)
	back := make([]float32, n)
	for i, v := range sent {
		back[i] = v + noise[i]
	}
	alone := noiseIn(white(4*audio.Rate, -42), newAnalyser(audio.Rate, window))
	var out, in float64
	for _, f := range frames(sent, back, alone.bands, 0, n/audio.Rate) {
		out, in = out+f.sent.sum(), in+f.back.sum()
	}
	if got := db(in / out); math.Abs(got) > 0.08 {
		t.Errorf("it comes back %+.2f dB higher", got)
	}
}

// Noise of an RMS of a thousandth is at -57 dBFS, 3 dB above its RMS (AES17); a round has
// that of the quieter gap beside it, whichever comes first.
func TestQuieter(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 7))
	of := func(rms float64) gap {
		x := make([]float32, audio.Rate)
		for i := range x {
			x[i] = float32(rms * rng.NormFloat64())
		}
		return noiseIn(x, newAnalyser(audio.Rate, window))
	}
	quiet, loud := of(0.001), of(0.01)
	for _, two := range [][2]gap{{quiet, loud}, {loud, quiet}, {quiet, gap{}}, {gap{}, quiet}} {
		if got := quieter(two[0], two[1]); !got.known || math.Abs(got.dbfs+57) > 0.2 {
			t.Errorf("%.1f and %.1f dBFS: %.1f, want -57", two[0].dbfs, two[1].dbfs, got.dbfs)
		}
	}
	if quieter(gap{}, gap{}).known {
		t.Error("nothing is known of two gaps that are none")
	}
}

// One percent of third harmonic makes the tops of a sine rounder, and is no clipping: a
// tape has as much at 6 VU. Cut off 1 dB below its peak it is clipped, on 2/pi
// acos(0.891) = 0.30 of its samples.
func TestClippedIsNotDistorted(t *testing.T) {
	x := sine(441, audio.Rate, 0.5, audio.Rate)
	third := sine(3*441, audio.Rate, 0.005, audio.Rate)
	clipped := func(change func(i int, v float32) float32) int {
		back := make([]float32, len(x))
		for i, v := range x {
			back[i] = change(i, v)
		}
		r := Round{Steady: Span{0, 1}}
		r.read([][]float32{back}, 0, x, audio.Rate, 0)
		return r.Clipped
	}
	if got := clipped(func(i int, v float32) float32 { return v + third[i] }); got != 0 {
		t.Errorf("with a third harmonic %d samples are clipped", got)
	}
	limit := float32(0.5 * math.Pow(10, -1.0/20))
	got := clipped(func(_ int, v float32) float32 { return min(max(v, -limit), limit) })
	if want := int(2 / math.Pi * math.Acos(0.891) * audio.Rate); got < want/2 || got > want {
		t.Errorf("cut off %d samples are clipped, want %d less those near the tops of the sine itself", got, want)
	}
}

// Music repeats: of two places a bar apart that are much alike the expected one is taken,
// also if the other is a little more so.
func TestMusicRepeats(t *testing.T) {
	const bar = 94 // spectra, 2 s
	rng := rand.New(rand.NewPCG(8, 9))
	round := make([]powers, 4*bar)
	for i := range round {
		for b := range round[i] {
			if round[i][b] = math.Exp(3 * rng.NormFloat64()); i >= bar {
				round[i][b] = round[i-bar][b]
			}
		}
	}
	back := make([]powers, 30*bar)
	for i := range back {
		for b := range back[i] {
			back[i][b] = math.Exp(3 * rng.NormFloat64())
		}
	}
	for i, p := range round {
		for b, v := range p {
			back[10*bar+i][b] = v * math.Exp(0.4*rng.NormFloat64())
		}
	}
	for i := range bar { // a fifth bar, without the hiss
		back[14*bar+i] = round[i]
	}
	c, sh := newCorrelator(back), shapeOf(round)
	at, alike := c.best(sh, 0, 10*bar*hop)
	if math.Abs(at-10*bar*hop) > hop || alike < alikeEnough {
		t.Errorf("expected at %.1f s it is found at %.1f s, alike %.2f", 10*bar*hop, at, alike)
	}
	if at, _ := c.best(sh, 0, 11*bar*hop); math.Abs(at-11*bar*hop) > hop {
		t.Errorf("expected a bar later it is found at %.1f s, want %.1f s", at, 11*bar*hop)
	}
}

// A tone 3 % off the first is a round, not the line-up tone of a second recording: no
// recorder's speed changes by as much. One at the same frequency begins a second.
func TestSecondTone(t *testing.T) {
	s := Series{Hertz: 1000, Tone: Span{0, 10}}
	for hertz, want := range map[float64]int{1000: 2, 1030: 1} {
		sc := &scan{}
		for _, f := range []float64{0, 1000, 0, hertz, 0} {
			seconds := 2.0
			if f > 0 {
				seconds = 10
			}
			for range int(seconds / hop) {
				sc.tone = append(sc.tone, f)
			}
		}
		runs, err := s.findTones(sc)
		if err != nil || len(runs) != want || math.Abs(runs[0].Start-2) > 2*hop {
			t.Errorf("a second tone of %g Hz: %d line-up tones, want %d (%+v, %v)", hertz, len(runs), want, runs, err)
		}
	}
}

// A steady round lies where the rounds before and after it agree that it should, if what
// is there has its bands: not if the recorder was paused between them, nor where there is
// another sound.
func TestNeighbours(t *testing.T) {
	s := Series{Rounds: []Span{{0, 10}, {12, 22}, {24, 34}}}
	low, high := powers{0: 1, 1: 1}, powers{1: 1, 5: 1}
	var spectra []powers
	for range int(40 / hop) {
		spectra = append(spectra, low)
	}
	for _, c := range []struct {
		name  string
		third float64 // start of the round after it, seconds
		bands powers
		found bool
	}{
		{"agreed", 27.1, low, true},
		{"paused for a second", 28, low, false},
		{"another sound", 27, high, false},
	} {
		places := []place{{found: true, start: 3}, {}, {found: true, start: c.third}}
		s.neighbours(spectra, places, []powers{low, c.bands, low}, 3, 1)
		if got := places[1]; got.found != c.found || got.found && (!got.byNeighbours || math.Abs(got.start-15) > 0.01) {
			t.Errorf("%s: %+v, want found %v at 15 s", c.name, got, c.found)
		}
	}
}

// Of a tone that comes back as it was sent there is no distortion, however low it is, and
// of one with a second harmonic of 1 % there is 1 %.
func TestDistortionOfLowTones(t *testing.T) {
	const seconds = 8
	for _, hertz := range []float64{72, 83.8, 110, 187, 440, 997, 2100} {
		sent := make([]float32, seconds*audio.Rate)
		second := make([]float32, len(sent))
		for i := range sent {
			at := 2 * math.Pi * hertz * float64(i) / audio.Rate
			sent[i] = float32(0.1 * math.Sin(at))
			second[i] = sent[i] + float32(0.001*math.Sin(2*at))
		}
		if got := distortion(sent, sent, gap{}, 1); !(got < 0.05) {
			t.Errorf("%g Hz as it was sent: distortion %.2f %%", hertz, got)
		}
		if got := distortion(sent, second, gap{}, 1); !(math.Abs(got-1) < 0.05) {
			t.Errorf("%g Hz with a second harmonic of 1 %%: distortion %.2f %%", hertz, got)
		}
	}
}
