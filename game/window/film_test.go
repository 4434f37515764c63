package window

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// TestFilm makes a silent film of a practice, two minutes of it, in the file that
// SLOWNEEDLE_FILM names:
//
//	SLOWNEEDLE_FILM=practice.mp4 go test ./game/window -run TestFilm
//
// Without a name it films the first two seconds, to see that it can.
func TestFilm(t *testing.T) {
	inTurn(t)
	path, long := filepath.Join(t.TempDir(), "practice.mp4"), 2*time.Second
	if name := os.Getenv("SLOWNEEDLE_FILM"); name != "" {
		path, long = filepath.Join(shots, filepath.Base(name)), 2*time.Minute
	}
	a := start(t, options{size: "1280x720", settings: `{"caution_seen":true,"drill":"take"}`})
	a.Screen("home")
	film := exec.Command("ffmpeg", "-nostdin", "-loglevel", "error", "-y", "-f", "x11grab", "-framerate", "30", "-video_size", "1280x720",
		"-i", a.display, "-an", "-pix_fmt", "yuv420p", "-preset", "ultrafast", path)
	film.Stderr = os.Stderr
	if err := film.Start(); err != nil {
		t.Fatalf("no film: %v", err)
	}
	end := time.Now().Add(long)
	look := func(d time.Duration) { time.Sleep(min(d, time.Until(end))) } // for whoever sees the film
	for look(2 * time.Second); time.Now().Before(end); {
		a.To("Return", "round")
		look(3 * time.Second)
		begun := a.For("Return", "begin")
		steps := max(1, int(math.Round((begun.Num("aim")+36)/3))) // of 3 dB, from the fader's foot
		for range steps {
			look(9 * time.Second / time.Duration(steps))
			a.hands("key", "Prior")
		}
		look(4 * time.Second)
		a.To("Return", "verdict")
		look(5 * time.Second)
	}
	if err := film.Process.Signal(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	film.Wait() // interrupted, it says so
	if info, err := os.Stat(path); err != nil || info.Size() < 10000 {
		t.Fatalf("no film: %v, %v", info, err)
	}
	t.Log(path)
}
