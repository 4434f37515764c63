package series_test

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/medium"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/series"
)

// desk is a series and a desk made of sox, a general-purpose sound program,
// that brings each round up by a gain that is known.
type desk struct {
	dir     string
	wav     string
	answers *series.Answers
	gains   []float64
	passed  map[string]string // files, by format and effects
	records int
}

const gap = 2.0 // seconds between rounds

func plan(seed uint64, rounds int, seconds float64) series.Plan {
	return series.Plan{Seed: seed, Count: rounds, Rig: drills.DigitalRig(), RoundSeconds: seconds, GapSeconds: gap}
}

// newDesk writes a series. Its gains lie 3 dB below to 2 dB above the aims.
func newDesk(t testing.TB, p series.Plan) *desk {
	t.Helper()
	d := &desk{dir: t.TempDir(), passed: map[string]string{}}
	d.wav = filepath.Join(d.dir, "series.wav")
	w, err := wavfile.Create(d.wav, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	if d.answers, err = p.Write(w, nil); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(p.Seed, 7))
	for _, r := range d.answers.Rounds {
		d.gains = append(d.gains, math.Round(10*(r.AimDB-3+5*rng.Float64()))/10)
	}
	return d
}

func sox(t testing.TB, args ...string) {
	t.Helper()
	if out, err := exec.Command("sox", append([]string{"-R", "-V1"}, args...)...).CombinedOutput(); err != nil {
		t.Fatalf("sox %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

func ffmpeg(t testing.TB, args ...string) {
	t.Helper()
	if out, err := exec.Command("ffmpeg", append([]string{"-v", "error", "-y"}, args...)...).CombinedOutput(); err != nil {
		t.Fatalf("ffmpeg %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// piece is an input of sox: the tone (0), or round n, with half the silence on
// either side, brought up by a gain.
func (d *desk) piece(n int, gain float64) []string {
	from, to := 0.0, d.answers.LineUp.EndS+gap/2
	if n > 0 {
		r := d.answers.Rounds[n-1]
		from, to = r.StartS-gap/2, r.EndS+gap/2
	}
	return []string{"-v", strconv.FormatFloat(audio.Gain(gain), 'f', 9, 64),
		fmt.Sprintf("|sox -V1 %s -e floating-point -b 32 -t wav - trim %.6f %.6f", d.wav, from, to-from)}
}

// pass plays the tone and the rounds through the desk and through effects, into
// a file of a format.
func (d *desk) pass(t testing.TB, format string, effects string) string {
	t.Helper()
	if file := d.passed[format+effects]; file != "" {
		return file
	}
	var inputs []string
	for n := range len(d.gains) + 1 {
		gain := 0.0
		if n > 0 {
			gain = d.gains[n-1]
		}
		inputs = append(inputs, d.piece(n, gain)...)
	}
	file := d.record(t, inputs, format, effects)
	d.passed[format+effects] = file
	return file
}

func (d *desk) record(t testing.TB, inputs []string, format string, effects string) string {
	t.Helper()
	d.records++
	out := filepath.Join(d.dir, fmt.Sprintf("return%d.wav", d.records))
	args := append(append(inputs, strings.Fields(format)...), out)
	sox(t, append(args, strings.Fields(effects)...)...)
	return out
}

// hiss adds white noise. That of sox is even between -1 and 1, 4.77 dB below
// full scale as RMS, 1.76 dB below a full-scale sine.
func (d *desk) hiss(t testing.TB, in string, dbfs float64) string {
	t.Helper()
	return d.mix(t, in, "whitenoise", dbfs+1.76)
}

// mix adds a sound that sox makes.
func (d *desk) mix(t testing.TB, in string, synth string, db float64) string {
	t.Helper()
	noise, out := filepath.Join(d.dir, "noise.wav"), strings.TrimSuffix(in, ".wav")+"+.wav"
	sox(t, append(append([]string{in, "-b", "24", noise, "synth"}, strings.Fields(synth)...), "vol", fmt.Sprintf("%.2fdB", db))...)
	sox(t, "-m", "-v", "1", in, "-v", "1", noise, out)
	return out
}

// tape records a file on the project's own tape and plays it back.
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
	medium.NewTape(d.answers.LineUp.LevelDBFS, 1).Process(x[0], x[1])
	out := filepath.Join(d.dir, "tape.wav")
	w, err := wavfile.Create(out, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	if err := w.Write(x); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return out
}

// coded sends a file through a lossy coder of ffmpeg.
func (d *desk) coded(t testing.TB, in, ext string) string {
	t.Helper()
	coded, out := filepath.Join(d.dir, "coded."+ext), filepath.Join(d.dir, "decoded.wav")
	ffmpeg(t, "-i", in, "-b:a", "96k", coded)
	ffmpeg(t, "-i", coded, out)
	return out
}

// wow lets the speed waver by 0.3 %: a delay that swings by at most 2.5 ms times
// the depth, at 192 kHz, where reading between samples costs no treble.
func (d *desk) wow(t testing.TB, in string, hertz float64) string {
	t.Helper()
	out := filepath.Join(d.dir, "wow.wav")
	depth := 0.003 / (0.0025 * 2 * math.Pi * hertz)
	ffmpeg(t, "-i", in, "-af", fmt.Sprintf("aresample=192000,vibrato=f=%g:d=%.4f,aresample=48000", hertz, depth), "-c:a", "pcm_s24le", out)
	return out
}

func (d *desk) judge(t testing.TB, file string) *series.Judged {
	t.Helper()
	j, err := d.try(file)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

func (d *desk) try(file string) (*series.Judged, error) {
	r, err := wavfile.Open(file)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return d.answers.Judge(r, nil)
}

// worst returns the largest error of a change, checking that all were found.
func (d *desk) worst(t testing.TB, j *series.Judged) float64 {
	t.Helper()
	worst := 0.0
	for i, r := range j.Rounds {
		off := math.Abs(float64(r.ChangeDB) - d.gains[i])
		if !r.Found || math.IsNaN(off) {
			t.Errorf("round %d, %s: found %v, change %v dB, want %.1f", r.Number, r.Kind, r.Found, r.ChangeDB, d.gains[i])
		}
		if off > 0.2 {
			t.Logf("round %d, %s: change %.3f dB, want %.1f, sure %.2f, treble %.2f", r.Number, r.Kind, r.ChangeDB, d.gains[i], r.Confidence, r.TrebleDB)
		}
		worst = max(worst, off)
	}
	return worst
}

var headroomTold = regexp.MustCompile(`(\d+\.\d) dB of headroom`)

// SERIES=20 in the environment judges as many series; by default it is four.
func TestClean(t *testing.T) {
	n := 4
	if s := os.Getenv("SERIES"); s != "" {
		var err error
		if n, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	}
	speeds := []float64{1, 0.99, 1.01}
	formats := []string{"-r 48000 -b 24", "-r 44100 -b 16", "-r 48000 -b 16", "-r 44100 -b 24"}
	worst := 0.0
	for i := range n {
		d := newDesk(t, plan(uint64(100+i), 5, 10))
		speed, inverted := speeds[i%3], i%2 == 1
		effects := fmt.Sprintf("speed %g", speed)
		if inverted {
			effects += " vol -1"
		}
		file := d.hiss(t, d.pass(t, formats[i%4], effects), -66)
		j := d.judge(t, file)
		off := d.worst(t, j)
		if off > 0.1 {
			t.Errorf("series %d: off by %.3f dB, want at most 0.1", i, off)
		}
		worst = max(worst, off)
		if j.Inverted != inverted || math.Abs(j.SpeedPercent-100*(speed-1)) > 0.01 || j.OneSide != "" {
			t.Errorf("series %d: inverted %v, %+.3f %%, side %q; want %v, %+.0f %%", i, j.Inverted, j.SpeedPercent, j.OneSide, inverted, 100*(speed-1))
		}
		for k, r := range j.Rounds {
			if math.Abs(float64(r.NoiseDBFS)+66) > 1 {
				t.Errorf("series %d: noise %v dBFS, want -66", i, r.NoiseDBFS)
			}
			if said := headroomTold.FindStringSubmatch(r.Reason); said != nil && said[1] != fmt.Sprintf("%.1f", float64(r.HeadroomDB)) {
				t.Errorf("series %d, round %d: measured headroom %.3f dB, but %q", i, k+1, float64(r.HeadroomDB), r.Reason)
			}
			a := d.answers.Rounds[k]
			// What can be worked out from the gain, worked out.
			wantError := d.gains[k] - a.AimDB
			if math.Abs(float64(r.ErrorDB)-wantError) > 0.11 || r.InWindow != (d.gains[k] > a.WindowDB[0]-0.05 && d.gains[k] < a.WindowDB[1]+0.05) && math.Abs(math.Abs(wantError)-1) > 0.11 {
				t.Errorf("series %d, round %d: %+.2f dB off, right %v; want %+.2f of %v", i, k+1, float64(r.ErrorDB), r.InWindow, wantError, a.WindowDB)
			}
		}
	}
	t.Logf("the worst change of %d series is off by %.3f dB", n, worst)
}

// sent returns the side of a round, as it goes out, that sounds louder.
func (d *desk) sent(t *testing.T, r series.Answer) []float32 {
	t.Helper()
	in, err := wavfile.Open(d.wav)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	x := wavfile.NewBlock(2, int(in.Frames()))
	if _, err := in.Read(x); err != nil {
		t.Fatal(err)
	}
	from, to := int(math.Round(r.StartS*audio.Rate)), int(math.Round(r.EndS*audio.Rate))
	left, right := x[0][from:to], x[1][from:to]
	if power(right) > power(left) {
		return right
	}
	return left
}

func power(x []float32) (sum float64) {
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	return sum / float64(len(x))
}

// Rounds of 20 s and more are takes: they have parts and an ending, their reading is
// that over all of it, and what comes back is judged as exactly.
func TestTakes(t *testing.T) {
	parts := 0.0 // by how much the twelve seconds that follow the first ones differ, dB
	for i, seconds := range []float64{24, 70} {
		p := plan(uint64(40+i), 5, seconds)
		p.Count = 3
		if seconds > source.MaxTake {
			p.Count = 2
		}
		d := newDesk(t, p)
		if off := d.worst(t, d.judge(t, d.hiss(t, d.pass(t, "-r 44100 -b 24", "speed 0.99"), -66))); off > 0.1 {
			t.Errorf("rounds of %g s: off by %.3f dB, want at most 0.1", seconds, off)
		}
		for _, r := range d.answers.Rounds {
			x := d.sent(t, r)
			n := len(x)
			if seconds > source.MaxTake { // the same twice
				if n /= 2; !slices.Equal(x[:n], x[n:]) {
					t.Errorf("%s of %g s: its second take is another", r.Kind, seconds)
				}
			}
			reader := meter.NewReader(audio.Rate)
			reader.Process(x[:n])
			if got := reader.Passage().Reading - d.answers.Rig.ReferenceDBFS; math.Abs(got-r.ReadingVU) > 0.3 {
				t.Errorf("%s of %g s: reads %.2f VU over all of it, the sheet has %.2f", r.Kind, seconds, got, r.ReadingVU)
			}
			if end := power(x[n-audio.Rate/5:n]) / power(x); r.Family != source.Steady && end > 1e-3 {
				t.Errorf("%s of %g s: its last 0.2 s lie only %.1f dB down: no ending", r.Kind, seconds, -10*math.Log10(end))
			}
			parts = max(parts, math.Abs(10*math.Log10(power(x[2*audio.Rate:12*audio.Rate])/power(x[14*audio.Rate:n-3*audio.Rate]))))
		}
	}
	if parts < 2 {
		t.Errorf("no part lies more than %.1f dB from the first; takes have louder and quieter parts", parts)
	}
	// Below that they are loops, which do not end.
	d := newDesk(t, plan(41, 3, 19))
	for _, r := range d.answers.Rounds {
		x := d.sent(t, r)
		if end := power(x[len(x)-3*audio.Rate:len(x)-audio.Rate]) / power(x); end < 1e-3 {
			t.Errorf("%s of 19 s ends", r.Kind)
		}
	}
}

func TestRough(t *testing.T) {
	digital := newDesk(t, plan(31, 5, 10)) // all but one go through it
	for _, c := range []struct {
		name  string
		most  float64 // dB
		desk  func(t *testing.T, d *desk) string
		doubt bool // the confidence is lower
	}{
		{"3 % slow", 0.2, func(t *testing.T, d *desk) string { return d.hiss(t, d.pass(t, "-b 16", "speed 0.97"), -66) }, false},
		{"hiss at -38 dBFS", 0.05, func(t *testing.T, d *desk) string { return d.hiss(t, d.pass(t, "-b 24", ""), -38) }, false},
		{"hum at -43 dBFS", 0.2, func(t *testing.T, d *desk) string {
			return d.mix(t, d.mix(t, d.pass(t, "-b 24", ""), "sine 50", -43), "sine 150", -50)
		}, false},
		{"one channel", 0.2, func(t *testing.T, d *desk) string { return d.hiss(t, d.pass(t, "-b 16", "remix 0 1"), -66) }, false},
		{"MP3 at 96 kb/s", 0.2, func(t *testing.T, d *desk) string { return d.coded(t, d.pass(t, "-b 16", ""), "mp3") }, false},
		// Two coders themselves take level off a whisper, RMS by sox: AAC 0.31 dB, Vorbis 0.29 dB.
		{"AAC at 96 kb/s", 0.3, func(t *testing.T, d *desk) string { return d.coded(t, d.pass(t, "-b 16", ""), "m4a") }, false},
		{"Opus at 96 kb/s", 0.2, func(t *testing.T, d *desk) string { return d.coded(t, d.pass(t, "-b 16", ""), "opus") }, false},
		{"Vorbis at 96 kb/s", 0.3, func(t *testing.T, d *desk) string { return d.coded(t, d.pass(t, "-b 16", ""), "ogg") }, false},
		{"tape", 0.2, func(t *testing.T, d *desk) string { return d.tape(t, d.pass(t, "-b 24", "")) }, false},
		{"wow of 0.3 %, slow", 0.2, func(t *testing.T, d *desk) string { return d.wow(t, d.pass(t, "-b 24", ""), 0.55) }, false},
		{"wow of 0.3 %, fast", 0.2, func(t *testing.T, d *desk) string { return d.wow(t, d.pass(t, "-b 24", ""), 4) }, false},
		{"shelves", 1.5, func(t *testing.T, d *desk) string {
			return d.hiss(t, d.pass(t, "-b 24", "bass +2 200 treble -3 3000"), -66)
		}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := digital
			if c.name == "tape" {
				p := plan(31, 5, 10)
				p.Rig = drills.TapeRig()
				d = newDesk(t, p)
			}
			j := d.judge(t, c.desk(t, d))
			off := d.worst(t, j)
			if off > c.most {
				t.Errorf("off by %.3f dB, want at most %g", off, c.most)
			}
			sum := 0.0
			for _, r := range j.Rounds {
				sum += r.Confidence / 5
			}
			if c.doubt && sum > 0.85 { // 0.90 on a clean desk
				t.Errorf("mean confidence %.2f", sum)
			}
			t.Logf("off by %.3f dB, mean confidence %.2f", off, sum)
		})
	}
}

// Of two sides that sound much alike, coded together, each is laid beside what
// was sent on its own side: a series with a groove in stereo, through four coders.
func TestCodedStereo(t *testing.T) {
	d := newDesk(t, plan(32, 5, 10))
	in := d.pass(t, "-b 16", "")
	for _, ext := range []string{"mp3", "m4a", "opus", "ogg"} {
		if off := d.worst(t, d.judge(t, d.coded(t, in, ext))); off > 0.2 {
			t.Errorf("%s: off by %.3f dB, want at most 0.2", ext, off)
		}
	}
}

// Single strokes sound for less than half of a short round; their level is known.
func TestShortStrokes(t *testing.T) {
	for _, seed := range []uint64{1, 2} {
		p := plan(seed, 6, 5)
		p.Family = source.Struck
		d := newDesk(t, p)
		if off := d.worst(t, d.judge(t, d.hiss(t, d.pass(t, "-b 16", ""), -66))); off > 0.1 {
			t.Errorf("off by %.3f dB, want at most 0.1", off)
		}
	}
}

// The last round of a slow return is measured to its end.
func TestSlowToTheEnd(t *testing.T) {
	d := newDesk(t, plan(7, 3, 10))
	j := d.judge(t, d.pass(t, "-b 24", "speed 0.97"))
	if off := d.worst(t, j); off > 0.1 {
		t.Errorf("off by %.3f dB", off)
	}
	if end := j.Rounds[2].Measured.Gain; end[len(end)-1].At < 9 {
		t.Errorf("the last level is that at %.1f s of 10", end[len(end)-1].At)
	}
}

// What is wrong with a recording is one sentence.
func TestBadReturns(t *testing.T) {
	d := newDesk(t, plan(7, 3, 8))
	other := newDesk(t, plan(8, 3, 8))
	good := d.pass(t, "-b 16", "")
	whole := filepath.Join(d.dir, "good.wav")
	if err := os.Rename(good, whole); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, want string
		answers    *desk
		effects    string
		inputs     []string
	}{
		{"no tone", "no line-up tone", d, "trim 11", []string{whole}},
		{"two recordings", "two recordings in it, one from 0:01 and one from 0:41", d, "pad 1", []string{whole, whole}},
		{"another series", "none of the rounds is one of this series", other, "", []string{whole}},
		{"5 % fast", "it runs 5.0 % too fast: the tone comes back at 1050 Hz, not 1000", d, "speed 1.05", []string{whole}},
		{"at the wrong rate", "it runs 8.1 % too slow", d, "speed 0.91875", []string{whole}}, // 44.1 kHz as 48
		{"silence", "nothing but silence", d, "vol 0", []string{whole}},
		{"too short", "no line-up tone", d, "trim 0 0.02", []string{whole}},
		{"tone never held", "does not hold its level", d, "", append([]string{}, fading(whole)...)},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.answers.try(d.record(t, c.inputs, "-b 16", c.effects))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("error %v, want %q", err, c.want)
			}
		})
	}
}

// fading is an input in which somebody fades the tone out.
func fading(file string) []string {
	return []string{"|sox -V1 " + file + " -t wav - fade l 0 10 9.5", "|sox -V1 " + file + " -t wav - trim 11"}
}

// What is odd about a recording does not keep it from being judged.
func TestOddReturns(t *testing.T) {
	d := newDesk(t, plan(7, 5, 8))
	want := func(t *testing.T, j *series.Judged, skip ...int) {
		t.Helper()
		for i, r := range j.Rounds {
			if !slices.Contains(skip, i+1) && !(math.Abs(float64(r.ChangeDB)-d.gains[i]) <= 0.1) {
				t.Errorf("round %d, %s: change %.3f dB, want %.1f", r.Number, r.Kind, r.ChangeDB, d.gains[i])
			}
		}
	}
	pieces := func(gains []float64, which ...int) (inputs []string) {
		for _, n := range which {
			gain := 0.0
			if n > 0 {
				gain = gains[n-1]
			}
			inputs = append(inputs, d.piece(n, gain)...)
		}
		return inputs
	}
	t.Run("a round is missing", func(t *testing.T) {
		j := d.judge(t, d.record(t, pieces(d.gains, 0, 1, 2, 4, 5), "-b 24", ""))
		want(t, j, 3)
		if r := j.Rounds[2]; r.Found || r.Headline != "It is not in the recording." || r.InWindow || r.Points != 0 {
			t.Errorf("round 3: %+v", r)
		}
	})
	t.Run("the return lies on one side", func(t *testing.T) {
		j := d.judge(t, d.pass(t, "-b 24", "remix 0 1"))
		want(t, j)
		if j.OneSide != "right" {
			t.Errorf("side %q", j.OneSide)
		}
	})
	t.Run("mono, begun late, ended early", func(t *testing.T) {
		j := d.judge(t, d.pass(t, "-b 16 -c 1", fmt.Sprintf("trim 4 %g", d.answers.Seconds-7)))
		want(t, j)
	})
	t.Run("paused between rounds", func(t *testing.T) {
		pad := fmt.Sprintf("pad 9@%g 5@%g", d.answers.Rounds[1].StartS-1, d.answers.Rounds[3].StartS-1)
		want(t, d.judge(t, d.pass(t, "-b 16", pad)))
	})
	t.Run("brought up from nothing", func(t *testing.T) {
		// The fader is closed for two seconds, 20 dB too low for one, 2 dB too high for half of one.
		inputs := pieces(d.gains, 0)
		for i, r := range d.answers.Rounds {
			for _, p := range []struct{ from, to, db float64 }{{-gap / 2, 2, -90}, {2, 3, -20}, {3, 3.5, 2}, {3.5, 8 + gap/2, 0}} {
				inputs = append(inputs, "-v", strconv.FormatFloat(audio.Gain(d.gains[i]+p.db), 'f', 9, 64),
					fmt.Sprintf("|sox -V1 %s -e floating-point -b 32 -t wav - trim %.6f %.6f", d.wav, r.StartS+p.from, p.to-p.from))
			}
		}
		want(t, d.judge(t, d.hiss(t, d.record(t, inputs, "-b 24", "speed 1.004"), -66)))
	})
	t.Run("the fader moves", func(t *testing.T) {
		// Two decibels up in the middle of round 2, and one and a half seconds before the end of round 4.
		up := func(n int, at, db float64) string {
			r := d.answers.Rounds[n-1]
			return fmt.Sprintf("|sox -V1 %s -e floating-point -b 32 -t wav - trim %.6f %.6f", d.wav, r.StartS-gap/2, gap/2+at) +
				fmt.Sprintf(" vol %.2fdB", d.gains[n-1]-db)
		}
		rest := func(n int, at float64) string {
			r := d.answers.Rounds[n-1]
			return fmt.Sprintf("|sox -V1 %s -e floating-point -b 32 -t wav - trim %.6f %.6f vol %.2fdB", d.wav, r.StartS+at, r.EndS-r.StartS-at+gap/2, d.gains[n-1])
		}
		inputs := pieces(d.gains, 0, 1)
		inputs = append(inputs, up(2, 3, 2), rest(2, 3))
		inputs = append(inputs, pieces(d.gains, 3)...)
		inputs = append(inputs, up(4, 6.5, 1), rest(4, 6.5))
		inputs = append(inputs, pieces(d.gains, 5)...)
		j := d.judge(t, d.record(t, inputs, "-b 24", ""))
		want(t, j, 4)
		if s := j.Rounds[1].Measured.Steady; s.Start < 2.9 || s.Start > 4 {
			t.Errorf("round 2 is steady from %.1f s on, want 3", s.Start)
		}
		if m := j.Rounds[1].Moves; len(m) != 1 || math.Abs(m[0].AtS-3) > 0.3 || math.Abs(m[0].DB-2) > 0.1 {
			t.Errorf("moves in round 2: %+v, want 2 dB at 3 s", m)
		}
		if m := j.Rounds[0].Moves; len(m) != 0 {
			t.Errorf("moves in round 1: %+v", m)
		}
		if r := j.Rounds[3]; r.ChangeDB.Exists() || !r.Found || !strings.HasPrefix(r.Headline, "Its level never held") {
			t.Errorf("round 4: change %v, %q", r.ChangeDB, r.Headline)
		}
	})
	t.Run("the desk clips", func(t *testing.T) {
		// Between its effects sox clips at full scale. Peaks lie 6 to 1 dB below
		// it where they decide, so 9 dB more cuts their tops.
		j := d.judge(t, d.hiss(t, d.pass(t, "-b 24", "gain 9 gain -14"), -80))
		clean := d.judge(t, d.hiss(t, d.pass(t, "-b 24", "gain -5"), -80))
		some := false
		for i, r := range j.Rounds {
			over := d.answers.Rounds[i].PeakDBFS + d.gains[i] + 9
			t.Logf("%s: peaks %.1f dB over, %d clipped, %d without", r.Kind, over, r.Clipped, clean.Rounds[i].Clipped)
			if clean.Rounds[i].Clipped != 0 {
				t.Errorf("%s: %d samples clipped on a clean desk", r.Kind, clean.Rounds[i].Clipped)
			}
			if over < 0 && r.Clipped != 0 || over > 4 && r.Clipped == 0 {
				t.Errorf("%s: %d samples clipped with peaks %.1f dB over", r.Kind, r.Clipped, over)
			}
			if r.Clipped > 0 {
				some = true
				if r.Points != 0 || r.InWindow {
					t.Errorf("%s: clipped, and worth %d points, right: %t", r.Kind, r.Points, r.InWindow)
				}
				// What is not too high is not told to have been set too high.
				high := !clean.Rounds[i].InWindow && r.ErrorDB > 0
				if told := strings.Contains(r.Reason, "here it belongs near"); told != high || r.Headline == "Spot on." {
					t.Errorf("%s, %+.1f dB off: %s %s", r.Kind, float64(r.ErrorDB), r.Headline, r.Reason)
				}
			}
		}
		if !some {
			t.Error("nothing clipped; the test needs another series")
		}
	})
}

// Without silence between the rounds nothing is known of the noise.
func TestNoGaps(t *testing.T) {
	p := plan(3, 4, 6)
	p.GapSeconds = 0
	d := newDesk(t, p)
	d.gains = make([]float64, 4)
	j := d.judge(t, d.wav)
	if off := d.worst(t, j); off > 0.1 {
		t.Errorf("off by %.3f dB", off)
	}
	for _, r := range j.Rounds {
		if r.NoiseDBFS.Exists() && r.Number < 4 {
			t.Errorf("round %d: noise %v", r.Number, r.NoiseDBFS)
		}
	}
}

// Distortion is that which sox's own clipping of the tone has: a tone whose
// tops are cut at a share s of its peak.
func TestDistortion(t *testing.T) {
	d := newDesk(t, plan(7, 1, 8))
	j := d.judge(t, d.record(t, append(d.piece(0, 19), d.piece(1, -6)...), "-b 24", "gain -10"))
	// Fourier series of a sine clipped at c of its peak, third and fifth harmonic.
	c := audio.Gain(-1)
	harmonic := func(k float64) float64 {
		sum := 0.0
		const n = 100000
		for i := range n {
			x := 2 * math.Pi * (float64(i) + 0.5) / n
			sum += min(max(math.Sin(x), -c), c) * math.Sin(k*x)
		}
		return sum
	}
	want := 100 * math.Hypot(harmonic(3), harmonic(5)) / harmonic(1)
	if got := float64(j.LineUp.DistortionPercent); math.Abs(got-want) > 0.02*want {
		t.Errorf("distortion %.3f %%, want %.3f", got, want)
	}
}

func TestOwnRecording(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "own.wav")
	// Two sides that have nothing in common.
	sox(t, "-n", "-r", "44100", "-b", "16", "-c", "2", file, "synth", "20", "pinknoise", "synth", "20", "pinknoise", "tremolo", "3", "90", "gain", "-9")
	sox(t, "-M", "|sox -R -V1 "+file+" -p remix 1", "|sox -R -V1 "+file+" -p remix 2 tremolo 0.7 90", filepath.Join(dir, "both.wav"))
	file = filepath.Join(dir, "both.wav")
	open := func() (*wavfile.Reader, error) { return wavfile.Open(file) }
	p := plan(3, 2, 8)
	p.Own = &series.Own{File: "own.wav", SHA256: "-", Open: open}
	d := newDesk(t, p)
	var back string
	for _, sides := range []string{"remix 1 2", "remix 2 1", "remix 0 2", "remix 1,2"} {
		back = d.pass(t, "-b 16", sides)
		if off := d.worst(t, d.judge(t, back)); off > 0.1 {
			t.Errorf("%s: off by %.3f dB", sides, off)
		}
	}
	data, err := json.Marshal(d.answers)
	if err != nil {
		t.Fatal(err)
	}
	if d.answers, err = series.Parse(data); err != nil {
		t.Fatal(err)
	}
	if _, err := d.try(back); err == nil || !strings.Contains(err.Error(), "passages of own.wav; that recording is needed too") {
		t.Errorf("without the recording: %v", err)
	}
}

func TestAimsLieOnAFader(t *testing.T) {
	var lowest, highest = 99.0, -99.0
	for seed := range uint64(4) {
		d := newDesk(t, plan(seed, 10, 1))
		for _, r := range d.answers.Rounds {
			lowest, highest = min(lowest, r.AimDB), max(highest, r.AimDB)
			// The rig's tolerance is 1 dB, and the window lies around the aim.
			if math.Abs(r.AimDB-1-r.WindowDB[0]) > 0.0015 || math.Abs(r.AimDB+1-r.WindowDB[1]) > 0.0015 {
				t.Errorf("aim %v dB, window %v", r.AimDB, r.WindowDB)
			}
			// Brought up to the aim, needle and peaks are within the rig.
			if r.ReadingVU+r.AimDB > 0.001 || r.PeakDBFS+r.AimDB > -3-1+0.001 && r.DecidedBy == drills.ByPeaks {
				t.Errorf("at the aim: %v VU, %v dBFS", r.ReadingVU+r.AimDB, r.PeakDBFS+r.AimDB)
			}
		}
	}
	if lowest < 0 || highest > 12 || highest-lowest < 9 {
		t.Errorf("aims from %.1f to %.1f dB, want 0 to 12", lowest, highest)
	}
}

func TestParse(t *testing.T) {
	d := newDesk(t, plan(5, 2, 2))
	data, err := json.Marshal(d.answers)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := series.Parse(data); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{`"slowneedle series 1"`, `"slowneedle hand-in 1"`, "take the file that ends in .answers.json"},
		{`"number":2`, `"number":3`, "round 2 is not numbered or timed"},
		{`"frequency_hz":1000`, `"frequency_hz":440`, "line_up is not"},
		{`"round_s":2`, `"round_s":0.5`, "a round lasts 1 to 600 s"},
		{`"seed":5`, `"sead":5`, "sead"},
	} {
		broken := strings.Replace(string(data), c.old, c.new, 1)
		if broken == string(data) {
			t.Fatalf("there is no %s", c.old)
		}
		if _, err := series.Parse([]byte(broken)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", c.new, err, c.want)
		}
	}
	// A sheet whose rounds this version does not make.
	d.answers.Rounds[1].ReadingVU++
	if _, err := d.try(d.pass(t, "-b 16", "")); err == nil || !strings.Contains(err.Error(), "round 2 of the answer sheet is not the one that this version makes") {
		t.Errorf("of another version: %v", err)
	}
}

// A series of 20 rounds of 30 s: how many times faster than it plays.
func BenchmarkJudge(b *testing.B) {
	d := newDesk(b, plan(1, 20, 30))
	file := d.hiss(b, d.pass(b, "-r 44100 -b 16", "speed 0.99"), -66)
	b.ReportAllocs()
	for b.Loop() {
		d.judge(b, file)
	}
	b.ReportMetric(d.answers.Seconds*float64(b.N)/b.Elapsed().Seconds(), "x-real-time")
}
