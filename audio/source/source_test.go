package source

import (
	"math"
	"runtime"
	"slices"
	"sync"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
)

// made is what the tests look at of one generated sound.
type made struct {
	kind     string // without its manner
	full     string
	frames   int
	channels int
	peak     float64 // dBFS
	under    float64 // read by package meter
	finite   bool
	seam     joint
	print    uint64 // of the samples
}

// survey makes the first sounds of a family, once for all tests.
func survey(f Family) []made {
	surveys.Lock()
	s := surveys.of[f]
	if s == nil {
		s = new(once)
		surveys.of[f] = s
	}
	surveys.Unlock()
	s.Do(func() {
		n := 500
		if testing.Short() {
			n = 200
		}
		s.all = make([]made, n)
		var wg sync.WaitGroup
		for w := range runtime.GOMAXPROCS(0) {
			wg.Go(func() {
				for seed := w; seed < n; seed += runtime.GOMAXPROCS(0) {
					s.all[seed] = look(f, uint64(seed))
				}
			})
		}
		wg.Wait()
	})
	return s.all
}

type once struct {
	sync.Once
	all []made
}

var surveys = struct {
	sync.Mutex
	of map[Family]*once
}{of: map[Family]*once{}}

func look(f Family, seed uint64) made {
	s, err := Generate(f, seed, Difficulty{})
	if err != nil {
		panic(err)
	}
	x := s.Channels[0]
	p := meter.ReadLoop(x, audio.Rate)
	m := made{full: s.Kind, frames: s.Len(), channels: len(s.Channels), peak: p.SamplePeak, under: p.UnderRead(), finite: true}
	for _, k := range kinds(f) {
		if len(s.Kind) >= len(k.name) && s.Kind[:len(k.name)] == k.name {
			m.kind = k.name
		}
	}
	h := uint64(14695981039346656037)
	for _, v := range x {
		h = (h ^ uint64(math.Float32bits(v))) * 1099511628211
		if v-v != 0 {
			m.finite = false
		}
	}
	m.print = h
	m.seam = seam(x)
	return m
}

// Every sound is one channel of 10 to 16 s whose peak is PeakDBFS, and no two
// are the same.
func TestForm(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			seen := map[uint64]int{}
			for seed, m := range survey(f) {
				if sec := float64(m.frames) / audio.Rate; sec < 10 || sec > 16 {
					t.Errorf("seed %d, %s: %.2f s", seed, m.full, sec)
				}
				if m.channels != 1 || !m.finite || m.kind == "" {
					t.Errorf("seed %d, %q: %d channels, finite %v", seed, m.full, m.channels, m.finite)
				}
				if math.Abs(m.peak-PeakDBFS) > 1e-5 {
					t.Errorf("seed %d, %s: peak %.6f dBFS", seed, m.full, m.peak)
				}
				if other, ok := seen[m.print]; ok {
					t.Errorf("seeds %d and %d make the same sound", other, seed)
				}
				seen[m.print] = seed
			}
		})
	}
}

// Common practice: a needle reads a sine exactly, under-reads a voice by about
// 6 dB, a plucked guitar by 12 and drums by 16; mixtures lie between. Recordings
// differ among each other by a few dB.
var practice = map[Family]struct{ lo, hi, spreadLo, spreadHi float64 }{
	Steady:   {0, 3, 1.5, 7},
	Voice:    {5.3, 6.7, 2, 4},
	Plucked:  {11.3, 12.7, 2, 4},
	Struck:   {15.3, 16.7, 2, 4},
	Ensemble: {8, 11, 2, 4},
}

func TestUnderRead(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			all := survey(f)
			if len(all) > 200 {
				all = all[:200]
			}
			checkUnderRead(t, f, all)
			if !testing.Short() {
				checkUnderRead(t, f, survey(f))
			}
		})
	}
}

func checkUnderRead(t *testing.T, f Family, all []made) {
	want := practice[f]
	var u []float64
	by := map[string][]float64{}
	for _, m := range all {
		u = append(u, m.under)
		by[m.kind] = append(by[m.kind], m.under)
	}
	q := quartiles(u)
	t.Logf("%-22s %3d sounds: median %5.2f dB, quartiles %5.2f and %5.2f, %5.2f to %5.2f", f, len(u), q[1], q[0], q[2], slices.Min(u), slices.Max(u))
	if q[1] < want.lo || q[1] > want.hi {
		t.Errorf("median under-read of %d is %.2f dB, common practice %.1f to %.1f", len(u), q[1], want.lo, want.hi)
	}
	if s := q[2] - q[0]; s < want.spreadLo || s > want.spreadHi {
		t.Errorf("quartiles of %d are %.2f dB apart, want %.1f to %.1f", len(u), s, want.spreadLo, want.spreadHi)
	}
	if len(by) < 4 {
		t.Errorf("%d kinds", len(by))
	}
	for _, k := range kinds(f) {
		v := by[k.name]
		if len(v) < len(u)/40 {
			t.Errorf("%s: drawn %d times in %d", k.name, len(v), len(u))
			continue
		}
		q := quartiles(v)
		t.Logf("  %-20s %3d sounds: median %5.2f dB, quartiles %5.2f and %5.2f", k.name, len(v), q[1], q[0], q[2])
		if f != Steady && q[2]-q[0] < 1 {
			t.Errorf("%s: quartiles only %.2f dB apart", k.name, q[2]-q[0])
		}
		if k.name == "tone" && (slices.Min(v) < -0.05 || slices.Max(v) > 0.05) {
			t.Errorf("a sine under-reads by %.3f to %.3f dB", slices.Min(v), slices.Max(v))
		}
	}
}

func quartiles(v []float64) [3]float64 {
	s := slices.Sorted(slices.Values(v))
	at := func(p float64) float64 {
		x := p * float64(len(s)-1)
		i := int(x)
		if i+1 == len(s) {
			return s[i]
		}
		return s[i] + (x-float64(i))*(s[i+1]-s[i])
	}
	return [3]float64{at(0.25), at(0.5), at(0.75)}
}

// The line-up tone reads what it says, and its loop is whole cycles.
func TestLineUp(t *testing.T) {
	for _, level := range []float64{-20, -18, -6, 0} {
		s := LineUp(level)
		p := meter.ReadLoop(s.Channels[0], audio.Rate)
		if math.Abs(p.Reading-level) > 0.01 || math.Abs(p.SamplePeak-level) > 1e-5 {
			t.Errorf("%.0f dBFS: reads %.3f, peak %.5f", level, p.Reading, p.SamplePeak)
		}
		if s.Len()%48 != 0 {
			t.Errorf("%d frames are not whole cycles", s.Len())
		}
	}
}

func TestUnknownFamily(t *testing.T) {
	for _, f := range []Family{"", "choir", Own} {
		if s, err := Generate(f, 1, Difficulty{}); s != nil || err == nil {
			t.Errorf("%q: %v, %v", f, s, err)
		}
	}
}

// The hardest sounds keep the form of the plain ones.
func TestHardest(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			for seed := range uint64(100) {
				s, err := Generate(f, seed, Difficulty{1, 1, 1})
				if err != nil {
					t.Fatal(err)
				}
				top := float32(0)
				for _, v := range s.Channels[0] {
					top = max(top, v, -v)
				}
				if math.Abs(audio.DB(float64(top))-PeakDBFS) > 1e-5 || s.Len() < 10*audio.Rate || s.Len() > 16*audio.Rate {
					t.Errorf("seed %d, %s: peak %.3f dBFS, %d frames", seed, s.Kind, audio.DB(float64(top)), s.Len())
				}
			}
		})
	}
}
