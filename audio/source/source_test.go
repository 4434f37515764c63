package source

import (
	"math"
	"slices"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source/figures"
)

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
				if m.channels != channels || !m.finite || !slices.ContainsFunc(kinds[f], func(k kind) bool { return k.name == m.kind }) {
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
	for _, k := range kinds[f] {
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
			for seed, m := range hardest(f) {
				if math.Abs(m.peak-PeakDBFS) > 1e-5 || m.frames < 10*audio.Rate || m.frames > 16*audio.Rate {
					t.Errorf("seed %d, %s: peak %.3f dBFS, %d frames", seed, m.full, m.peak, m.frames)
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
		for _, k := range kinds[f] {
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
		for name, all := range map[string][]made{"plain": survey(f), "hardest": hardest(f), "take": takes(f)} {
			for seed, m := range all {
				if m.softest < -100 {
					t.Errorf("%s, %s, seed %d, %s: 20 ms of %.0f dBFS", f, name, seed, m.full, m.softest)
				}
			}
		}
	}
}

// Ensembles are wide, and the sum of their channels loses no more than 1.5 dB against
// their power: nothing cancels.
func TestWidth(t *testing.T) {
	for seed, m := range survey(Ensemble)[:few] {
		if m.width < -25 || m.width > -4 || m.loss > 1.5 || math.Abs(m.balance) > 4 {
			t.Errorf("seed %d, %s: sides %.1f dB below the middle, the sum loses %.1f dB, left %.1f dB above right", seed, m.full, m.width, m.loss, m.balance)
		}
	}
}
