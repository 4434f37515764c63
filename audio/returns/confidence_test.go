//go:build !js

package returns

import (
	"os/exec"
	"path/filepath"
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

// coded sends a sound on two sides through the Vorbis coder of ffmpeg, which puts noise
// of its own in the place of noise, and returns one of them.
func coded(t *testing.T, x []float32) []float32 {
	dir := t.TempDir()
	in, coded, out := filepath.Join(dir, "in.wav"), filepath.Join(dir, "coded.ogg"), filepath.Join(dir, "out.wav")
	w, err := wavfile.Create(in, wavfile.Format{SampleRate: audio.Rate, Channels: 2, Bits: 16})
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
	for _, args := range [][]string{{"-i", in, "-b:a", "64k", coded}, {"-i", coded, out}} {
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

// A whisper of which a coder leaves little of the waveform is known again by how its
// bands move; another whisper in its place is not.
func TestConfidence(t *testing.T) {
	two := whispers(t)
	sure := func(back []float32) (waveform, confidence float64) {
		margin := make([]float32, int(reach*audio.Rate))
		stretch := append(append(margin[:len(margin):len(margin)], back...), append(margin, margin...)...)
		l := lay([][]float32{two[0]}, stretch, audio.Rate, false)
		return l.alike, l.confidence(frames(l.sent, l.back, powers{}, 0, float64(len(two[0]))/audio.Rate))
	}
	for _, c := range []struct {
		name        string
		back        []float32
		least, most float64
	}{
		{"itself", two[0], 0.99, 1},
		{"coded", coded(t, two[0]), 0.8, 1},
		{"another", two[1], 0, 0.5},
		{"another, coded", coded(t, two[1]), 0, 0.5},
	} {
		waveform, got := sure(c.back)
		if !(got >= c.least && got <= c.most+1e-9) {
			t.Errorf("%s: confidence %.2f, want %g to %g", c.name, got, c.least, c.most)
		}
		t.Logf("%s: %.2f of the waveform, confidence %.2f", c.name, waveform, got)
	}
}
