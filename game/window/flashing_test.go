package window

import (
	"bufio"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"slowneedle/audio/wavfile"
)

const (
	filmRate = 30 // pictures a second
	filmW    = 320
	filmH    = 200
)

// film counts, in pictures of the display taken at an even rate for some
// seconds, the points that have the lamp's amber.
func (a *app) film(seconds int) []int {
	a.T.Helper()
	cmd := exec.Command("ffmpeg", "-nostdin", "-loglevel", "error", "-f", "x11grab", "-framerate", "30", "-video_size", "960x600",
		"-i", a.display, "-t", strconv.Itoa(seconds), "-vf", "fps=30,scale=320:200:flags=area", "-pix_fmt", "rgb24", "-f", "rawvideo", "-")
	cmd.Stderr = os.Stderr
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		a.T.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		a.T.Fatalf("no film: %v", err)
	}
	r := bufio.NewReaderSize(pipe, 1<<20)
	picture := make([]byte, 3*filmW*filmH)
	var amber []int
	for {
		if _, err := io.ReadFull(r, picture); err != nil {
			break
		}
		n := 0
		for i := 0; i < len(picture); i += 3 {
			if r, g, b := int(picture[i]), int(picture[i+1]), int(picture[i+2]); r > 200 && g > 130 && g < 210 && b < 110 {
				n++
			}
		}
		amber = append(amber, n)
	}
	if err := cmd.Wait(); err != nil {
		a.T.Fatalf("no film: %v", err)
	}
	if len(amber) < (seconds-1)*filmRate {
		a.T.Fatalf("the film has %d pictures only", len(amber))
	}
	return amber
}

// flicker writes a recording in which the lamp has something to do: short loud
// bursts over a quiet tone, for four seconds 4.5 of them a second, for the next
// four 1.2, between which it goes out in the reduced mode too.
func flicker(t *testing.T) string {
	t.Helper()
	const rate = 48000
	x := make([]float32, 16*rate)
	for i := range x {
		level, every := 0.02, rate*2/9
		if i/(4*rate)%2 == 1 {
			every = rate * 5 / 6
		}
		if i%every < 240 {
			level = 0.9
		}
		x[i] = float32(level * math.Sin(2*math.Pi*1000*float64(i)/rate))
	}
	path := filepath.Join(t.TempDir(), "flicker.wav")
	w, err := wavfile.Create(path, wavfile.Format{SampleRate: rate, Channels: 1, Bits: 24})
	if err == nil {
		if err = w.Write([][]float32{x}); err == nil {
			err = w.Close()
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// The lamp on the window itself, filmed while the meter's lamp flicks up to 4.5
// times a second: in the reduced mode at most three flashes begin within any second
// of film (WCAG 2.2, success criterion 2.3.1). Filmed without the mode there
// are more, so the film can tell.
func TestFlashingOnTheWindow(t *testing.T) {
	wav := flicker(t)
	var reduced, plain []int
	t.Run("filmed", func(t *testing.T) {
		t.Run("reduced", func(t *testing.T) {
			t.Parallel()
			reduced = flashes(t, wav, `{"caution_seen": true, "drill": "take", "reduced_flashing": true}`)
		})
		t.Run("plain", func(t *testing.T) {
			t.Parallel()
			plain = flashes(t, wav, calm)
		})
	})
	most, end := 0, 0
	for i, from := range reduced {
		for end < len(reduced) && reduced[end]-from < filmRate {
			end++
		}
		most = max(most, end-i)
	}
	if most > 3 {
		t.Errorf("in the reduced mode %d flashes began within a second", most)
	}
	if len(reduced) < 2 || len(plain) <= len(reduced) {
		t.Errorf("%d flashes in the reduced mode, %d without: the film does not tell", len(reduced), len(plain))
	}
}

// flashes are the pictures of a film at which the lamp goes on, in a round of a recording.
func flashes(t *testing.T, wav, settings string) (starts []int) {
	a := inRound(t, options{settings: settings, size: "960x600", args: []string{wav}})
	a.Louder(16) // to the fader's top
	amber := a.film(8)
	low, high := slices.Min(amber), slices.Max(amber)
	if high-low < 60 {
		t.Fatalf("the lamp does not show in the film: %d to %d amber points", low, high)
	}
	for i := 1; i < len(amber); i++ {
		if amber[i] > (low+high)/2 && amber[i-1] <= (low+high)/2 {
			starts = append(starts, i)
		}
	}
	t.Logf("%d flashes in %d pictures (%d to %d points)", len(starts), len(amber), low, high)
	return starts
}
