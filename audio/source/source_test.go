package source

import (
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source/figures"
)

// made is what the tests look at of one generated sound.
type made struct {
	kind     string // without its manner
	full     string
	frames   int
	channels int
	peak     float64 // dBFS
	raw      bool
	under    float64 // of the whole loop, by package meter
	figures  figures.Figures
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
			n = 160
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
	m := made{full: s.Kind, frames: s.Len(), channels: len(s.Channels), peak: math.Inf(-1), finite: true,
		raw: s.Raw, figures: measured(s)}
	for _, k := range kinds(f) {
		if len(s.Kind) >= len(k.name) && s.Kind[:len(k.name)] == k.name {
			m.kind = k.name
		}
	}
	h := uint64(14695981039346656037)
	for _, x := range s.Channels {
		for _, v := range x {
			h = (h ^ uint64(math.Float32bits(v))) * 1099511628211
			if v-v != 0 {
				m.finite = false
			}
			m.peak = max(m.peak, audio.DB(math.Abs(float64(v))))
		}
	}
	m.print = h
	reading := math.Inf(-1)
	for _, x := range s.Channels {
		reading = max(reading, meter.ReadLoop(x, audio.Rate).Reading)
	}
	m.under = m.peak - reading
	m.seam = seam(s.Channels[0])
	if len(s.Channels) == 2 {
		if other := seam(s.Channels[1]); other.fault() != "" {
			m.seam = other
		}
	}
	return m
}

// measured measures a sound over as long a passage as recordings are measured over,
// or all of it if it is shorter.
func measured(s *Sound) figures.Figures {
	var ch [][]float32
	for _, x := range s.Channels {
		ch = append(ch, x[:min(len(x), figures.Seconds*audio.Rate)])
	}
	return figures.Of(ch...)
}

// Every sound lasts 10 to 16 s, its peak is PeakDBFS, and no two are the same. Ensembles
// have two channels, the others one. Steady sounds are never raw, of the others a quarter is.
func TestForm(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			seen := map[uint64]int{}
			channels, raw := 1, 0
			if f == Ensemble {
				channels = 2
			}
			for seed, m := range survey(f) {
				if m.raw {
					raw++
				}
				if sec := float64(m.frames) / audio.Rate; sec < 10 || sec > 16 {
					t.Errorf("seed %d, %s: %.2f s", seed, m.full, sec)
				}
				if m.channels != channels || !m.finite || m.kind == "" {
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
			if share := float64(raw) / float64(len(survey(f))); f == Steady && raw > 0 || f != Steady && (share < 0.15 || share > 0.35) {
				t.Errorf("%.0f %% are raw", 100*share)
			}
		})
	}
}

// Common practice, for finished sound: a needle reads a sine exactly, under-reads a
// voice by about 6 dB, a plucked guitar by 12 and drums by 16; mixtures lie between.
// Recordings differ among each other by a few dB.
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
		if !m.raw {
			u = append(u, m.under)
			by[m.kind] = append(by[m.kind], m.under)
		}
	}
	q := figures.Quartiles(u)
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
		if k.reserved {
			continue
		}
		v := by[k.name]
		if len(v) < len(u)/40 {
			t.Errorf("%s: drawn %d times in %d", k.name, len(v), len(u))
			continue
		}
		q := figures.Quartiles(v)
		t.Logf("  %-20s %3d sounds: median %5.2f dB, quartiles %5.2f and %5.2f", k.name, len(v), q[1], q[0], q[2])
		if f != Steady && q[2]-q[0] < 1 {
			t.Errorf("%s: quartiles only %.2f dB apart", k.name, q[2]-q[0])
		}
		if k.name == "tone" && (slices.Min(v) < -0.05 || slices.Max(v) > 0.05) {
			t.Errorf("a sine under-reads by %.3f to %.3f dB", slices.Min(v), slices.Max(v))
		}
	}
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
				for _, x := range s.Channels {
					for _, v := range x {
						top = max(top, v, -v)
					}
				}
				if math.Abs(audio.DB(float64(top))-PeakDBFS) > 1e-5 || s.Len() < 10*audio.Rate || s.Len() > 16*audio.Rate {
					t.Errorf("seed %d, %s: peak %.3f dBFS, %d frames", seed, s.Kind, audio.DB(float64(top)), s.Len())
				}
			}
		})
	}
}

// The kinds kept for test forms are never drawn without being asked for, and there
// are two of them in each family.
func TestReserved(t *testing.T) {
	for _, f := range Generated() {
		reserved := map[string]bool{}
		for _, k := range kinds(f) {
			if k.reserved {
				reserved[k.name] = true
			}
		}
		if len(reserved) != 2 {
			t.Errorf("%s: %d kinds are reserved", f, len(reserved))
		}
		for seed, m := range survey(f) {
			if reserved[m.kind] {
				t.Errorf("%s, seed %d: %s is drawn in practice", f, seed, m.full)
			}
		}
		seen := map[string]bool{}
		for seed := range uint64(16) {
			s, err := Request{Family: f, Seed: seed, Reserved: true}.Generate()
			if err != nil {
				t.Fatal(err)
			}
			name, _, _ := strings.Cut(s.Kind, ", ")
			if !reserved[name] {
				t.Errorf("%s, seed %d: %s is not reserved", f, seed, s.Kind)
			}
			seen[name] = true
		}
		if len(seen) != 2 {
			t.Errorf("%s: 16 seeds draw %v", f, seen)
		}
	}
}

// Nothing pauses in digital silence: no 20 ms anywhere, the hardest pauses and the
// end of a take included, are quieter than -100 dBFS, as any room and microphone is louder.
func TestRoomTone(t *testing.T) {
	for _, f := range Generated() {
		for seed := range uint64(12) {
			for _, r := range []Request{{Family: f, Seed: seed}, {Family: f, Seed: seed, Difficulty: Difficulty{1, 1, 1}}, {Family: f, Seed: seed, Seconds: 30}} {
				s, err := r.Generate()
				if err != nil {
					t.Fatal(err)
				}
				const step = audio.Rate / 50
				for _, x := range s.Channels {
					for at := 0; at+step <= len(x); at += step {
						top := float32(0)
						for _, v := range x[at : at+step] {
							top = max(top, v, -v)
						}
						if db := audio.DB(float64(top)); db < -100 {
							t.Fatalf("%+v, %s: %.0f dBFS at %.2f s", r, s.Kind, db, float64(at)/audio.Rate)
						}
					}
				}
			}
		}
	}
}

// Ensembles are wide, and the sum of their channels loses no more than 1.5 dB against
// their power: nothing cancels.
func TestWidth(t *testing.T) {
	for seed := range uint64(40) {
		s, err := Generate(Ensemble, seed, Difficulty{})
		if err != nil {
			t.Fatal(err)
		}
		var mid, side, left, right float64
		for i, l := range s.Channels[0] {
			l, r := float64(l), float64(s.Channels[1][i])
			mid, side = mid+(l+r)*(l+r)/2, side+(l-r)*(l-r)/2
			left, right = left+l*l, right+r*r
		}
		width, loss, balance := 10*math.Log10(side/mid), 10*math.Log10((left+right)/mid), 10*math.Log10(left/right)
		if width < -25 || width > -4 || loss > 1.5 || math.Abs(balance) > 4 {
			t.Errorf("seed %d, %s: sides %.1f dB below the middle, the sum loses %.1f dB, left %.1f dB above right", seed, s.Kind, width, loss, balance)
		}
	}
}
