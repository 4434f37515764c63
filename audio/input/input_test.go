//go:build linux

package input_test

import (
	"math"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/input"
	"slowneedle/audio/meter"
	"slowneedle/audio/output/nullsink"
)

// server starts a sound server and lets this process find it.
func server(t *testing.T) *nullsink.Sink {
	t.Helper()
	s := nullsink.Start(t)
	for _, e := range s.Env {
		if k, v, _ := strings.Cut(e, "="); k == "PULSE_SERVER" || k == "HOME" || k == "XDG_RUNTIME_DIR" || k == "PULSE_RUNTIME_PATH" {
			t.Setenv(k, v)
		}
	}
	return s
}

// listen opens the monitor of the server's sink, which hears what is played.
func listen(t *testing.T) (in *input.Input, wait func(frames int) [2][]float32) {
	t.Helper()
	devices, err := input.Devices()
	if err != nil {
		t.Fatal(err)
	}
	id := ""
	for _, d := range devices {
		if d.ID == "room.monitor" && d.Name != "" {
			id = d.ID
		}
	}
	if id == "" {
		t.Fatalf("no monitor among %+v", devices)
	}
	var mu sync.Mutex
	var got [2][]float32
	more := make(chan struct{}, 1)
	in = input.Open(id, func(block [2][]float32) {
		mu.Lock()
		defer mu.Unlock()
		for ch := range got {
			got[ch] = append(got[ch], block[ch]...)
		}
		select {
		case more <- struct{}{}:
		default:
		}
	})
	t.Cleanup(in.Close)
	return in, func(frames int) [2][]float32 {
		t.Helper()
		late := time.After(20 * time.Second)
		for {
			mu.Lock()
			x := got
			mu.Unlock()
			if len(x[0]) >= frames {
				return x
			}
			select {
			case <-more:
			case <-late:
				t.Fatalf("%d frames after 20 s, want %d", len(x[0]), frames)
			}
		}
	}
}

// A tone that another program plays comes in at its level: -18 dBFS on the left,
// 6 dB lower on the right.
func TestLevel(t *testing.T) {
	s := server(t)
	_, wait := listen(t)
	play := s.Command("sox", "-q", "-n", "-r", "48000", "-t", "alsa", "default", "synth", "6", "sine", "1000", "sine", "1000",
		"remix", "1v0.125893", "2v0.063096")
	if err := play.Start(); err != nil {
		t.Fatal(err)
	}
	defer play.Wait()
	x := wait(5 * audio.Rate)
	for ch, want := range []float64{-18, -24} {
		reader := meter.NewReader(audio.Rate)
		reader.Process(x[ch])
		if got := reader.Passage().Reading; math.Abs(got-want) > 0.1 {
			t.Errorf("channel %d: %.2f dBFS, want %g", ch, got, want)
		}
	}
}

func TestPulledOut(t *testing.T) {
	s := server(t)
	in, wait := listen(t)
	wait(audio.Rate / 4)
	if err := in.Err(); err != nil {
		t.Fatal(err)
	}
	s.Kill()
	if err := reason(t, in); !strings.Contains(err.Error(), "the line input is gone") {
		t.Errorf("pulled out: %v", err)
	}
	in.Close()
	if _, err := input.Devices(); err == nil || !strings.Contains(err.Error(), "no sound server answers") {
		t.Errorf("devices without a server: %v", err)
	}
}

func TestNoSuchInput(t *testing.T) {
	server(t)
	in := input.Open("nothing", func([2][]float32) {})
	defer in.Close()
	if err := reason(t, in); !strings.Contains(err.Error(), "choose another") {
		t.Errorf("error %v", err)
	}
}

// reason waits until an input tells why nothing comes in.
func reason(t *testing.T, in *input.Input) error {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); {
		if err := in.Err(); err != nil {
			return err
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Fatal("nobody noticed within 10 s")
	return nil
}
