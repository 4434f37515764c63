package chain

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

func near(t *testing.T, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.3f, want %v within %v", what, got, want, within)
	}
}

// Johnson and Nyquist, with the values that handbooks and makers' notes print: 150
// ohms is 0.22 µV, -133 dBV (-130.9 dBu), and 200 ohms -129.6 dBu (common practice).
// A kilohm over 10 kHz at room temperature is 0.4 µV: over 20 kHz 3 dB more.
func TestThermal(t *testing.T) {
	near(t, "150 ohms", Thermal(150, 20), -130.9, 0.05)
	near(t, "150 ohms in dBV", Thermal(150, 20)-20*math.Log10(1/math.Sqrt(0.6)), -133.1, 0.05)
	near(t, "200 ohms", Thermal(200, 20), -129.6, 0.1)
	near(t, "1 kilohm", Thermal(1000, 20), Millivolts(0.4e-3)+3.01, 0.1)
	near(t, "four times the resistance", Thermal(600, 20)-Thermal(150, 20), 6.02, 0.01)
	near(t, "white noise at 48 kHz", White(48000), 0.79, 0.005)
	near(t, "1.228 V", Millivolts(1228), 4, 0.005)
}

func TestSums(t *testing.T) {
	near(t, "two alike", Sum(-90, -90), -86.99, 0.005)
	near(t, "with none", Sum(-90, math.Inf(-1)), -90, 1e-9)
	near(t, "there and back", Less(Sum(-124, -130), -130), -124, 1e-9)
	if got := Less(-130, -120); !math.IsInf(got, -1) {
		t.Errorf("%v is left of less than nothing", got)
	}
}

// The noise figure of stages in series, against the formula of Friis (1944) and
// examples worked out in print. The first is the front end of a receiver in D. M.
// Pozar, "Microwave Engineering" (from memory): an amplifier of 10 dB with a noise
// figure of 2 dB, a filter that loses 1 dB, a mixer that loses 3 dB with 4 dB; F is
// 1.80, 2.55 dB. The second is one found in tutorials: 2.0 dB of loss, 18 dB with 1.5,
// 1.0 dB of loss, and 8 dB; F is 2.414, 3.83 dB.
func TestFriis(t *testing.T) {
	type stage struct{ gain, figure float64 }
	for _, row := range []struct {
		name   string
		stages []stage
		want   float64
	}{
		{"Pozar", []stage{{10, 2}, {-1, 1}, {-3, 4}}, 2.55},
		{"tutorial", []stage{{-2, 2}, {18, 1.5}, {-1, 1}, {-6, 8}}, 3.83},
		{"one pad", []stage{{-20, 20}}, 20},
	} {
		// Whatever the source's noise, a stage of a noise figure F adds (F-1) times as
		// much at its input.
		const source = -130.0
		var all []Stage
		factor, gain := 0.0, 1.0
		for i, s := range row.stages {
			f := math.Pow(10, s.figure/10)
			if i == 0 {
				factor = f
			} else {
				factor += (f - 1) / gain
			}
			gain *= math.Pow(10, s.gain/10)
			all = append(all, Stage{GainDB: s.gain, NoiseDBu: source + 10*math.Log10(f-1), ClipDBu: math.Inf(1)})
		}
		nodes := Run(-60, 0, source, all)
		got := -60 - source - nodes[len(nodes)-1].SNR()
		near(t, row.name+", by the formula", got, 10*math.Log10(factor), 1e-9)
		near(t, row.name+", as printed", got, row.want, 0.01)
	}
}

// A pad keeps the noise of the source: behind it there is that of the same
// resistance, and its noise figure is its loss.
func TestPad(t *testing.T) {
	thermal := Thermal(150, 20)
	n := Run(-30, 10, thermal, []Stage{Pad(20, thermal, -4)})[0]
	near(t, "noise", n.NoiseDBu, thermal, 1e-9)
	near(t, "loss of ratio", -30-thermal-n.SNR(), 20, 1e-9)
	near(t, "headroom", n.HeadroomDB(), 36, 1e-9)
	if none := Pad(0, thermal, 0); !math.IsInf(none.NoiseDBu, -1) {
		t.Errorf("a pad of 0 dB adds %v dBu", none.NoiseDBu)
	}
}

// soxChain plays stages with sox: a sine or nothing, and at each stage white noise
// that is mixed in, a gain, and a limit at which samples are cut off. It returns the
// RMS level and the peak behind the last, in dBu; full scale is +40 dBu.
func soxChain(t *testing.T, toneDBu float64, hiss bool, stages []Stage) (rms, peak float64) {
	t.Helper()
	const full = 40.0
	amplitude := func(dbu float64) float64 { return math.Pow(10, (dbu-full)/20) }
	folder := t.TempDir()
	run := func(args ...string) string {
		out, err := exec.Command("sox", args...).CombinedOutput()
		if err != nil {
			t.Fatalf("sox %s: %v: %s", strings.Join(args, " "), err, out)
		}
		return string(out)
	}
	file := func(i int) string { return fmt.Sprintf("%s/%d.wav", folder, i) }
	float := []string{"-r", "48000", "-e", "floating-point", "-b", "64"}
	synth := func(name, kind string, gain float64) {
		run(append(append([]string{"-n"}, float...), name, "synth", "10", kind, "1000", "vol", fmt.Sprintf("%.17g", gain))...)
	}
	synth(file(0), "sine", amplitude(toneDBu))
	for i, s := range stages {
		in := []string{"-m", "-v", "1", file(i)}
		if noise := fmt.Sprintf("%s/noise%d.wav", folder, i); hiss && !math.IsInf(s.NoiseDBu, -1) {
			// Evenly spread over ±1, as sox makes it, white noise has an RMS 1.76 dB below a sine's.
			synth(noise, "whitenoise", amplitude(s.NoiseDBu+White(48000))*math.Sqrt(1.5))
			in = append(in, "-v", "1", noise)
		} else {
			in = in[1:]
		}
		// Turned up so that its full scale, where sox cuts off, is the clip point.
		clip := min(s.ClipDBu, full)
		args := append(append(in, float[2:]...), file(i+1))
		run(append(args, "vol", fmt.Sprintf("%.17g", math.Pow(10, (s.GainDB+full-clip)/20)), "vol", fmt.Sprintf("%.17g", math.Pow(10, (clip-full)/20)))...)
	}
	out := run(file(len(stages)), "-n", "stat")
	value := func(name string) float64 {
		m := regexp.MustCompile(name + `: +([-0-9.]+)`).FindStringSubmatch(out)
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	decibel := func(v float64) float64 { return 20*math.Log10(v) + full }
	return decibel(value("RMS +amplitude") * math.Sqrt2), decibel(math.Max(value("Maximum amplitude"), -value("Minimum amplitude")))
}

// The same chain built from sox agrees within 0.1 dB in level and in
// signal-to-noise ratio. sox prints six decimals: the levels are line levels, and the noise
// is high.
func TestAgainstSox(t *testing.T) {
	for _, row := range []struct {
		name   string
		source float64
		stages []Stage
	}{
		{"right", 0, []Stage{{-20, math.Inf(-1), 40}, {33, -45, 40}, {-8, -10, 40}, {-2, -22, 40}, {0, -28, 40}}},
		{"too little gain, made up", 0, []Stage{{-20, math.Inf(-1), 40}, {25, -45, 40}, {0, -10, 40}, {-2, -22, 40}, {0, -28, 40}}},
		{"a noisy bus", -10, []Stage{{0, -60, 40}, {20, -64, 40}, {-6, -12, 40}, {6, -8, 40}, {-4, -24, 40}}},
	} {
		nodes := Run(row.source, 0, math.Inf(-1), row.stages)
		end := nodes[len(nodes)-1]
		level, _ := soxChain(t, row.source, false, row.stages)
		noise, _ := soxChain(t, -500, true, row.stages)
		noise -= White(48000) // over 20 kHz
		t.Logf("%s: level %.2f dBu and %.2f by sox, ratio %.2f and %.2f dB", row.name, end.LevelDBu, level, end.SNR(), level-noise)
		near(t, row.name+", level", end.LevelDBu, level, 0.1)
		near(t, row.name+", ratio", end.SNR(), level-noise, 0.1)
	}
	// What sox cuts off: the peak stays at the clip point, and before it would have
	// been higher by as much as headroom is missing.
	stages := []Stage{{10, math.Inf(-1), 20}, {-12, math.Inf(-1), 20}}
	nodes := Run(14, 0, math.Inf(-1), stages)
	near(t, "headroom", nodes[0].HeadroomDB(), -4, 1e-9)
	_, peak := soxChain(t, 14, false, stages)
	near(t, "peak behind a stage that clips", peak, 20-12, 0.05)
}

// Twenty level ratios of line-ups, worked out by hand in a table with their sources.
func TestRatios(t *testing.T) {
	file, err := os.Open("../../testdata/levels/ratios.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 21 {
		t.Fatalf("%d rows, want a head and 20", len(rows))
	}
	for _, row := range rows[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[1+i], 64); err != nil {
				t.Fatal(err)
			}
		}
		got := v[0] - v[1]
		switch row[0] {
		case "dbv":
			got = Volts(v[0]) - v[1]
		case "flux":
			got = Ratio(v[0], v[1])
		case "volts":
			got = Millivolts(1000*v[0]) - Millivolts(1000*v[1])
		}
		near(t, row[0]+" "+row[1]+" and "+row[2], got, v[2], 0.006)
	}
}
