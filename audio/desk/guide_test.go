package desk

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
)

// amplitude is that of a frequency in a stretch of one side (discrete Fourier
// transform at that frequency, Hann window).
func amplitude(x []float32, hz float64) float64 {
	re, im, sum := 0.0, 0.0, 0.0
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		re += w * float64(v) * math.Cos(2*math.Pi*hz*float64(i)/audio.Rate)
		im += w * float64(v) * math.Sin(2*math.Pi*hz*float64(i)/audio.Rate)
		sum += w
	}
	return 2 * math.Hypot(re, im) / sum
}

// A needle 3 dB over where it is to stand is heard as a tone half an octave above the
// one that stays: 440 and 622 Hz, the interval of three whole tones of equal
// temperament. It starts without a step, is quiet beside the sound, and ends.
func TestGuide(t *testing.T) {
	d, err := New(Config{Channels: []Channel{{Sound: source.LineUp(-90)}}, MonitorDB: -20})
	if err != nil {
		t.Fatal(err)
	}
	left := func(seconds float64) []float32 {
		out := make([]float32, 2*int(seconds*audio.Rate))
		d.Pull(out)
		side := make([]float32, len(out)/2)
		for i := range side {
			side[i] = out[2*i]
		}
		return side
	}
	if quiet := left(1.5); amplitude(quiet, 440) > 1e-5 {
		t.Errorf("the tone is there without being asked for: %g", amplitude(quiet, 440))
	}
	d.SetGuide(3)
	x := left(3)
	for i := 1; i < len(x); i++ { // a sine of 622 Hz at a hundredth of full scale moves by 0.0008 a sample
		if math.Abs(float64(x[i]-x[i-1])) > 0.0015 {
			t.Fatalf("a step of %.4f at %.3f s", x[i]-x[i-1], float64(i)/audio.Rate)
		}
	}
	stays, second := 0.0, 0.0
	for at := 0; at+4800 < len(x); at += 2400 {
		part := x[at : at+4800]
		stays, second = math.Max(stays, amplitude(part, 440)), math.Max(second, amplitude(part, 622.25))
	}
	want := 0.1 * 0.1 // a tenth of full scale, turned down by 20 dB
	for name, got := range map[string]float64{"440 Hz": stays, "622 Hz": second} {
		if math.Abs(got-want) > 0.1*want {
			t.Errorf("%s is heard at %.4f of full scale, want %.4f", name, got, want)
		}
	}
	// A quarter of a second of the one, a tenth of silence, four tenths of the other, a
	// tenth of silence, and so on.
	for _, row := range []struct{ from, to, stays, second float64 }{
		{0.05, 0.2, want, 0}, {0.26, 0.34, 0, 0}, {0.4, 0.7, 0, want}, {0.76, 0.84, 0, 0},
		{0.9, 1.05, want, 0}, {1.11, 1.19, 0, 0}, {1.25, 1.55, 0, want}, {1.61, 1.69, 0, 0}, {1.75, 1.9, want, 0},
	} {
		part := x[int(row.from*audio.Rate):int(row.to*audio.Rate)]
		if a, b := amplitude(part, 440), amplitude(part, 622.25); math.Abs(a-row.stays) > 0.1*want || math.Abs(b-row.second) > 0.1*want {
			t.Errorf("from %g to %g s: %.4f of 440 Hz and %.4f of 622 Hz, want %.4f and %.4f", row.from, row.to, a, b, row.stays, row.second)
		}
		if row.stays+row.second > 0 {
			continue
		}
		for i, v := range part {
			if math.Abs(float64(v)) > 1e-5 {
				t.Errorf("%.4f s: %g where both are silent", row.from+float64(i)/audio.Rate, v)
				break
			}
		}
	}
	d.SetGuide(math.NaN())
	left(0.2)
	if rest := left(1); amplitude(rest, 440)+amplitude(rest, 622.25) > 1e-5 {
		t.Error("the tone does not end")
	}
}

// Whatever the sound does beside it, nothing passes the ceiling.
func TestGuideUnderTheCeiling(t *testing.T) {
	d, err := New(Config{Channels: []Channel{{Sound: source.LineUp(0), StartGainDB: 20}}, MonitorDB: MonitorMax})
	if err != nil {
		t.Fatal(err)
	}
	d.SetGuide(-40)
	out := make([]float32, 2*3*audio.Rate)
	d.Pull(out)
	for i, v := range out {
		if math.Abs(float64(v)) > math.Pow(10, -1.0/20)+1e-6 {
			t.Fatalf("sample %d is %g, above -1 dBFS", i, v)
		}
	}
}

// Beyond two octaves, 12 dB, the pitch stays: 1760 Hz above, 110 Hz below.
func TestGuideReach(t *testing.T) {
	for db, hz := range map[float64]float64{30: 1760, -30: 110} {
		d, err := New(Config{Channels: []Channel{{Sound: source.LineUp(-90)}}, MonitorDB: -20})
		if err != nil {
			t.Fatal(err)
		}
		d.SetGuide(db)
		out, heard := run(d, 2*audio.Rate), 0.0
		side := make([]float32, len(out)/2)
		for i := range side {
			side[i] = out[2*i]
		}
		for at := audio.Rate; at+9600 < len(side); at += 2400 {
			heard = math.Max(heard, amplitude(side[at:at+9600], hz))
		}
		if want := 0.1 * 0.1; math.Abs(heard-want) > 0.1*want {
			t.Errorf("at %+g dB %g Hz is heard at %.4f of full scale, want %.4f", db, hz, heard, want)
		}
	}
}
