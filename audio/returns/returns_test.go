package returns_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/medium"
	"slowneedle/audio/returns"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
)

// desk is a series played into a desk made of sox: each round is brought up by
// a gain that is known.
type desk struct {
	dir    string
	series returns.Series
	gains  []float64
	pieces []string // WAV files: the tone, then each round, with the silence after it
}

const (
	gapSeconds = 3.0
	fade       = 0.5
	reference  = -18.0
)

// faded fades a sound in and out.
func faded(x [][]float32) [][]float32 {
	n := int(fade * audio.Rate)
	for _, ch := range x {
		for i := range n {
			g := float32(i) / float32(n)
			ch[i] *= g
			ch[len(ch)-1-i] *= g
		}
	}
	return x
}

func turn(loop []float32, n int, gain float64) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = loop[i%len(loop)] * float32(gain)
	}
	return x
}

// newDesk makes a series of rounds of a length from a seed. Rounds go out so
// that their peaks reach -6 dBFS or less once they are brought up.
func newDesk(t testing.TB, seed uint64, rounds int, seconds float64) *desk {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 1))
	d := &desk{dir: t.TempDir(), series: returns.Series{Hertz: 1000, Tone: returns.Span{Start: 0, End: 10}, ToneDBFS: reference, Fade: fade}}
	var sounds [][][]float32
	at := 10 + gapSeconds
	tone := faded([][]float32{turn(source.LineUp(reference).Channels[0], 10*audio.Rate, 1)})
	d.write(t, tone)
	families := source.Generated()
	for i := range rounds {
		s, err := source.Generate(families[i%len(families)], rng.Uint64(), source.Difficulty{})
		if err != nil {
			t.Fatal(err)
		}
		gain := math.Round(rng.Float64()*120) / 10
		var x [][]float32
		for _, ch := range s.Channels {
			x = append(x, turn(ch, int(seconds*audio.Rate), audio.Gain(-gain-1)))
		}
		sounds = append(sounds, faded(x))
		d.series.Rounds = append(d.series.Rounds, returns.Span{Start: at, End: at + seconds})
		d.gains = append(d.gains, gain)
		d.write(t, x)
		at += seconds + gapSeconds
	}
	d.series.Sound = func(i int) ([][]float32, error) { return sounds[i], nil }
	return d
}

// write writes a piece of the series, with the silence after it.
func (d *desk) write(t testing.TB, x [][]float32) {
	t.Helper()
	name := filepath.Join(d.dir, fmt.Sprintf("piece%d.wav", len(d.pieces)))
	d.pieces = append(d.pieces, name)
	w, err := wavfile.Create(name, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 32, Float: true})
	if err != nil {
		t.Fatal(err)
	}
	both := [][]float32{x[0], x[len(x)-1]}
	quiet := make([]float32, int(gapSeconds*audio.Rate))
	for _, x := range [][][]float32{both, {quiet, quiet}} {
		if err := w.Write(x); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
}

func sox(t testing.TB, args ...string) {
	t.Helper()
	if out, err := exec.Command("sox", append([]string{"-R", "-V1"}, args...)...).CombinedOutput(); err != nil {
		t.Fatalf("sox %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// pass plays the pieces whose numbers are given, all if none are, into the
// desk, and puts what comes out through sox's effects.
func (d *desk) pass(t testing.TB, format []string, effects ...string) string {
	t.Helper()
	return d.passPieces(t, nil, format, effects...)
}

func (d *desk) passPieces(t testing.TB, which []int, format []string, effects ...string) string {
	t.Helper()
	if which == nil {
		for i := range d.pieces {
			which = append(which, i)
		}
	}
	var args []string
	for _, i := range which {
		gain := 0.0
		if i > 0 {
			gain = d.gains[i-1]
		}
		args = append(args, "-v", strconv.FormatFloat(audio.Gain(gain), 'f', 9, 64), d.pieces[i])
	}
	out := filepath.Join(d.dir, "return.wav")
	args = append(args, format...)
	args = append(args, out)
	sox(t, append(args, effects...)...)
	return out
}

// tape records a file on the project's own tape and plays it again.
func (d *desk) tape(t testing.TB, in string) string {
	t.Helper()
	r, err := wavfile.Open(in)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	x := wavfile.NewBlock(2, int(r.Frames()))
	if _, err := r.Read(x); err != nil {
		t.Fatal(err)
	}
	medium.NewTape(reference, 1).Process(x[0], x[1])
	out := filepath.Join(d.dir, "tape.wav")
	w, err := wavfile.Create(out, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out
}

// hiss adds white noise of a level to a file.
func (d *desk) hiss(t testing.TB, in string, dbfs float64) string {
	t.Helper()
	noise, out := filepath.Join(d.dir, "noise.wav"), filepath.Join(d.dir, "hissing.wav")
	// White noise of sox is even between -1 and 1: RMS 4.77 dB below full scale.
	sox(t, in, noise, "synth", "whitenoise", "vol", strconv.FormatFloat(dbfs+1.76, 'f', 2, 64)+"dB")
	sox(t, "-m", "-v", "1", in, "-v", "1", noise, out)
	return out
}

func (d *desk) measure(t testing.TB, file string) *returns.Measured {
	t.Helper()
	m, err := d.try(file)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func (d *desk) try(file string) (*returns.Measured, error) {
	r, err := wavfile.Open(file)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return returns.Measure(r, d.series)
}

func TestTry(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("N"))
	for seed := range uint64(max(n, 1)) {
		d := newDesk(t, seed, 6, 15)
		file := d.pass(t, strings.Fields(os.Getenv("FMT")), strings.Fields(os.Getenv("FX"))...)
		if os.Getenv("TAPE") != "" {
			file = d.tape(t, file)
		}
		if h := os.Getenv("HISS"); h != "" {
			v, _ := strconv.ParseFloat(h, 64)
			file = d.hiss(t, file, v)
		}
		if c := os.Getenv("SH"); c != "" {
			out := filepath.Join(d.dir, "sh.wav")
			cmd := exec.Command("sh", "-c", c)
			cmd.Env = append(os.Environ(), "IN="+file, "OUT="+out, "D="+d.dir)
			if b, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%v %s", err, b)
			}
			file = out
		}
		m, err := d.try(file)
		if err != nil {
			t.Log(err)
			continue
		}
		t.Logf("tone %+v speed %.5f turned %v side %d %v", m.Tone, m.Speed, m.Turned, m.Side, m.OneSided)
		for i, r := range m.Rounds {
			mark := ""
			if os.Getenv("CURVE") == fmt.Sprint(i) {
				t.Logf("%.2f", r.Gain)
			}
			if !(math.Abs(r.ChangeDB-d.gains[i]) < 0.1) {
				mark = "  <<<<<"
			}
			t.Logf("found %v start %.4f conf %.3f change %.3f err %.3f needle %.1f peak %.1f clip %d noise %.1f thd %.3f treble %.2f steady %.1f %.1f n%d%s",
				r.Found, r.StartS, r.Confidence, r.ChangeDB, r.ChangeDB-d.gains[i], r.NeedleVU, r.PeakDBFS, r.Clipped, r.NoiseDBFS, r.DistortionPercent, r.TrebleDB, r.Steady.Start, r.Steady.End, len(r.Gain), mark)
		}
	}
}
