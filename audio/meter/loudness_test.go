package meter_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio/meter"
)

func newLoudness(t *testing.T, rate, channels int) *meter.Loudness {
	t.Helper()
	l, err := meter.NewLoudness(rate, channels)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// formula works out "3-0.15i" or "-38+i" of the tables.
func formula(t *testing.T, s string, i int) float64 {
	t.Helper()
	if s == "off" {
		return math.Inf(-1)
	}
	head, ok := strings.CutSuffix(s, "i")
	if !ok {
		v, err := strconv.ParseFloat(s, 64)
		if err != nil {
			t.Fatalf("the table holds %q: %v", s, err)
		}
		return v
	}
	base, at := 0.0, strings.LastIndexAny(head, "+-")
	if at > 0 {
		base, head = formula(t, head[:at], 0), head[at:]
	}
	factor := 1.0
	if head != "+" && head != "-" {
		factor = formula(t, strings.TrimPrefix(head, "+"), 0)
	}
	return base + factor*float64(i)
}

// signal makes a table's signal: one channel.
func signal(t *testing.T, rate int, s string, i int) []float32 {
	t.Helper()
	var x []float32
	times := 1
	for _, part := range strings.Fields(s) {
		if n, ok := strings.CutPrefix(part, "x"); ok {
			times = int(formula(t, n, 0))
			continue
		}
		seconds, level, _ := strings.Cut(part, "@")
		x = append(x, tone(rate, formula(t, seconds, i), 1000, amplitude(formula(t, level, i)), 0)...)
	}
	once := x
	for range times - 1 {
		x = append(x, once...)
	}
	return x
}

func TestLoudnessEBU3341(t *testing.T) {
	for _, r := range table(t, "loudness-ebu3341.csv") {
		t.Run(r["case"]+" "+r["measure"], func(t *testing.T) {
			want, tolerance := r["expected_lufs"], r.num(t, "tolerance_lu")
			if r["case"] == "6" {
				l := newLoudness(t, rate, 5)
				_, levels, _ := strings.Cut(r["signal"], " at ")
				var block [][]float32
				for _, level := range strings.Fields(levels) {
					block = append(block, tone(rate, 20, 1000, amplitude(formula(t, level, 0)), 0))
				}
				l.Process(block...)
				near(t, "LUFS", l.Integrated(), formula(t, want, 0), tolerance)
				return
			}
			live := newLoudness(t, rate, 2) // hears all signals of a case in a row
			signals := 1
			if strings.Contains(r["signal"], "i") {
				signals = 20
			}
			for i := range signals {
				x := signal(t, rate, r["signal"], i)
				what := fmt.Sprintf("signal %d, LUFS", i)
				file := newLoudness(t, rate, 2)
				measure, after, steady := strings.Cut(strings.TrimPrefix(r["measure"], "steady "), " after ")
				if steady {
					skip := int(formula(t, after, 0) * rate)
					file.Process(x[:skip], x[:skip])
					for at := skip; at+480 <= len(x); at += 480 {
						file.Process(x[at:at+480], x[at:at+480])
						got := map[string]float64{"M": file.Momentary(), "S": file.ShortTerm()}[measure]
						near(t, what, got, formula(t, want, i), tolerance)
					}
					continue
				}
				file.Process(x, x)
				live.Process(x, x)
				get := map[string]func(*meter.Loudness) float64{
					"M": (*meter.Loudness).Momentary, "S": (*meter.Loudness).ShortTerm,
					"I": (*meter.Loudness).Integrated, "max M": (*meter.Loudness).MaxMomentary,
					"max S": (*meter.Loudness).MaxShortTerm,
				}[measure]
				near(t, what, get(file), formula(t, want, i), tolerance)
				if signals > 1 {
					near(t, what+", live", get(live), formula(t, want, i), tolerance)
				}
			}
		})
	}
}

// The weighting is the same at every rate.
func TestLoudnessRates(t *testing.T) {
	for _, rate := range append(rates, 32000, 22050, 176400, 384000) {
		for _, r := range table(t, "loudness-ebu3341.csv") {
			if r["measure"] != "I" || r["case"] > "2" {
				continue
			}
			l := newLoudness(t, rate, 2)
			x := signal(t, rate, r["signal"], 0)
			l.Process(x, x)
			near(t, fmt.Sprintf("case %s at %d Hz, LUFS", r["case"], rate), l.Integrated(),
				r.num(t, "expected_lufs"), r.num(t, "tolerance_lu"))
		}
	}
}

func TestLoudnessChannels(t *testing.T) {
	channels := table(t, "loudness-bs1770.csv")
	for i, r := range channels {
		l := newLoudness(t, rate, len(channels))
		block := make([][]float32, len(channels))
		for c := range block {
			block[c] = make([]float32, 5*rate)
		}
		block[i] = tone(rate, 5, 997, 1, 0)
		l.Process(block...)
		near(t, r["channel"]+", LUFS", l.Integrated(), r.num(t, "expected_lkfs"), 0.01)
	}
}

// A 997 Hz sine at full scale in one channel alone reads -3.01 LKFS, in a surround channel
// 1.5 dB more, whatever the number of channels; the low-frequency channel counts for
// nothing (ITU-R BS.1770-5, annex 1, table 3).
func TestLoudnessLayouts(t *testing.T) {
	front, surround, low := -3.01, -3.01+1.49, math.Inf(-1)
	for _, layout := range [][]float64{
		{front},
		{front, front},
		{front, front, front},
		{front, front, surround, surround},
		{front, front, front, surround, surround},
		{front, front, front, low, surround, surround},
	} {
		for c, want := range layout {
			block := make([][]float32, len(layout))
			for i := range block {
				block[i] = make([]float32, 2*rate)
			}
			block[c] = tone(rate, 2, 997, 1, 0)
			near(t, fmt.Sprintf("channel %d of %d, LUFS", c+1, len(layout)), meter.IntegratedLoudness(rate, block...), want, 0.01)
		}
	}
}

func TestLoudnessErrors(t *testing.T) {
	for _, c := range []struct {
		rate, channels int
		says           string
	}{
		{0, 2, "sample rate 0 Hz"}, {4000, 2, "8000 to 384000"}, {400000, 2, "sample rate"},
		{48000, 0, "0 channels"}, {48000, 7, "one to 6"}, {48000, -1, "channels"},
	} {
		_, err := meter.NewLoudness(c.rate, c.channels)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%d Hz, %d channels: %v, want %q", c.rate, c.channels, err, c.says)
		}
	}
	l := newLoudness(t, rate, 2)
	for _, v := range []float64{l.Momentary(), l.ShortTerm(), l.Integrated(), l.MaxMomentary(), l.MaxShortTerm()} {
		if !math.IsInf(v, -1) {
			t.Errorf("before any sound: %v", v)
		}
	}
	// A broken sample costs no more than the blocks it stands in.
	x := tone(rate, 20, 1000, amplitude(-23), 0)
	x[10*rate] = float32(math.NaN())
	l.Process(x, x)
	near(t, "with a broken sample, LUFS", l.Integrated(), -23, 0.1)
}

// Programme of wandering level: the histogram against the gates of BS.1770-5 applied
// to the very list of blocks, read off the meter as momentary loudness.
func TestLoudnessGates(t *testing.T) {
	for seed := range uint64(8) {
		rnd := rand.New(rand.NewPCG(seed, 128))
		l := newLoudness(t, rate, 1)
		var blocks []float64
		level := -30.0
		for i := range 1200 {
			level += 3 * rnd.NormFloat64()
			level = min(max(level, -80), -3)
			a := amplitude(level)
			x := make([]float32, rate/10)
			for j := range x {
				x[j] = float32(a * (2*rnd.Float64() - 1))
			}
			if l.Process(x); i >= 3 {
				blocks = append(blocks, math.Pow(10, (l.Momentary()+0.691)/10))
			}
		}
		mean := func(above float64) float64 {
			sum, n := 0.0, 0.0
			for _, b := range blocks {
				if b > above {
					sum += b
					n++
				}
			}
			return sum / n
		}
		absolute := math.Pow(10, (-70+0.691)/10)
		want := -0.691 + 10*math.Log10(mean(math.Max(absolute, mean(absolute)/10)))
		near(t, fmt.Sprintf("seed %d, LUFS", seed), l.Integrated(), want, 0.01)
	}
}

// Before 400 ms, and 3 s, have passed, silence counts as having gone before: a tone
// that has lasted for a share s of the time reads 10 log10(s) lower (the mean square of
// BS.1770-5 over the whole window).
func TestLoudnessAtTheStart(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		l := newLoudness(t, rate, 1)
		x := tone(rate, 3, 1000, amplitude(-20), 0)
		steady := newLoudness(t, rate, 1)
		steady.Process(x)
		at := 0
		for _, ms := range []int{50, 100, 200, 300, 400, 1000, 2000} {
			to := rate * ms / 1000
			l.Process(x[at:to])
			at = to
			share := min(float64(ms)/400, 1)
			near(t, fmt.Sprintf("%d Hz: momentary after %d ms, LUFS", rate, ms), l.Momentary(), steady.Momentary()+10*math.Log10(share), 0.05)
			share = float64(ms) / 3000
			near(t, fmt.Sprintf("%d Hz: short-term after %d ms, LUFS", rate, ms), l.ShortTerm(), steady.ShortTerm()+10*math.Log10(share), 0.05)
		}
	}
}
