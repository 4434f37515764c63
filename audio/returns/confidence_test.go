//go:build !js

package returns

import (
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
)

// whispers makes two whispers of ten seconds.
func whispers(t *testing.T) (two [][]float32) {
	for seed := uint64(0); len(two) < 2; seed++ {
		s, err := source.Generate(source.Voice, seed, source.Difficulty{})
		if err != nil {
			t.Fatal(err)
		}
		if s.Kind == "whisper" && s.Len() >= 8*audio.Rate {
			two = append(two, s.Channels[0][:8*audio.Rate])
		}
	}
	return two
}

// through sends a sound on two sides through ffmpeg, into a file of a kind and back, and
// returns one of them.
func through(t *testing.T, x []float32, kind string, how ...string) []float32 {
	dir := t.TempDir()
	in, coded, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "coded."+kind), filepath.Join(dir, "out.wav")
	w, err := wavfile.Create(in, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 24})
	if err != nil {
		t.Fatal(err)
	}
	defer w.Abort()
	if err := w.Write([][]float32{x, x}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{append(append([]string{"-i", in}, how...), coded), {"-i", coded, "-c:a", "pcm_s24le", out}} {
		if said, err := exec.Command("ffmpeg", append([]string{"-v", "error", "-y"}, args...)...).CombinedOutput(); err != nil {
			t.Fatalf("ffmpeg %q: %v\n%s", args, err, said)
		}
	}
	r, err := wavfile.Open(out)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	back := wavfile.NewBlock(2, int(r.Frames()))
	if _, err := r.Read(back); err != nil {
		t.Fatal(err)
	}
	return back[0]
}

// A whisper that was coded is known again, another in its place is not; also through a low
// cut, which leaves next to nothing below 1.2 kHz, where the waveforms are compared.
func TestConfidence(t *testing.T) {
	const lowCut = "highpass=f=4000,highpass=f=4000,highpass=f=4000,highpass=f=4000"
	for _, cut := range []bool{false, true} {
		two := whispers(t)
		if cut {
			for i, x := range two {
				two[i] = through(t, x, "wav", "-af", lowCut, "-c:a", "pcm_s24le")
			}
		}
		for _, c := range []struct {
			name        string
			back        []float32
			least, most float64
		}{
			{"itself", two[0], 0.99, 1},
			{"coded", through(t, two[0], "ogg", "-b:a", "64k"), 0.8, 1},
			{"another", two[1], 0, 0.5},
			{"another, coded", through(t, two[1], "ogg", "-b:a", "64k"), 0, 0.5},
		} {
			margin := make([]float32, lags*audio.Rate/thinRate)
			stretch := slices.Concat(margin, c.back, margin, margin)
			l := lay([][]float32{two[0]}, stretch, audio.Rate, false)
			got := l.confidence(frames(l.sent, l.back, powers{}, 0, float64(len(two[0]))/audio.Rate))
			if !(got >= c.least && got <= c.most+1e-9) {
				t.Errorf("%s, low cut %v: confidence %.2f, want %g to %g", c.name, cut, got, c.least, c.most)
			}
			t.Logf("%s, low cut %v: %.2f of the waveform, confidence %.2f", c.name, cut, l.alike, got)
		}
	}
}
