// Package nullsink gives tests a sound device: a PulseAudio server of their
// own whose only sink plays into nothing, in real time, and can be recorded.
package nullsink

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/audio/wavfile"
)

// Sink is a running server.
type Sink struct {
	// Env is what a program needs to play into the sink through ALSA, to be
	// put in place of or after os.Environ.
	Env []string

	socket string
	server *exec.Cmd
	gone   chan struct{}
}

// Start starts a server with a 48 kHz stereo sink and ends it with the test.
// It needs the programs pulseaudio, parec and pactl, and ALSA's pulse plug-in;
// the test fails without them.
func Start(tb testing.TB) *Sink {
	tb.Helper()
	// A socket's path is limited to about 100 characters: too few for the
	// usual directory of a test.
	dir, err := os.MkdirTemp("", "sink")
	if err != nil {
		tb.Fatal(err)
	}
	tb.Cleanup(func() { os.RemoveAll(dir) })
	socket := filepath.Join(dir, "native")
	config := filepath.Join(dir, "asound.conf")
	// The library's own configuration first, then the default device.
	asound := "</usr/share/alsa/alsa.conf>\n" +
		"pcm.!default { type pulse }\nctl.!default { type pulse }\n"
	if err := os.WriteFile(config, []byte(asound), 0o600); err != nil {
		tb.Fatal(err)
	}
	s := &Sink{socket: socket}
	s.Env = append(os.Environ(),
		"HOME="+dir, "XDG_RUNTIME_DIR="+dir, "XDG_CONFIG_HOME="+dir,
		"PULSE_SERVER=unix:"+socket, "PULSE_RUNTIME_PATH="+dir,
		"ALSA_CONFIG_PATH="+config)
	s.launch(tb)
	tb.Cleanup(func() { s.Kill() })
	return s
}

// launch starts a server and waits until it answers.
func (s *Sink) launch(tb testing.TB) {
	tb.Helper()
	s.gone = make(chan struct{})
	s.server = exec.Command("pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1",
		"--use-pid-file=no", "--disable-shm=yes", "--log-target=stderr", "--log-level=error",
		"-L", "module-null-sink sink_name=room rate=48000 channels=2 format=float32le norewinds=true",
		"-L", "module-native-protocol-unix auth-anonymous=1 socket="+s.socket)
	s.server.Env = s.Env
	var said bytes.Buffer
	s.server.Stderr = &said
	if err := s.server.Start(); err != nil {
		tb.Fatalf("nullsink: cannot start the sound server: %v", err)
	}
	server, gone := s.server, s.gone
	go func() { server.Wait(); close(gone) }()

	for end := time.Now().Add(10 * time.Second); ; {
		out, err := s.Command("pactl", "list", "short", "sinks").CombinedOutput()
		if err == nil && strings.Contains(string(out), "room") {
			return
		}
		select {
		case <-s.gone:
			tb.Fatalf("nullsink: the sound server ended at once: %s", said.String())
		case <-time.After(20 * time.Millisecond):
		}
		if time.Now().After(end) {
			tb.Fatalf("nullsink: the sound server does not answer: %v: %s", err, out)
		}
	}
}

// Command is exec.Command in the sink's environment.
func (s *Sink) Command(name string, arg ...string) *exec.Cmd {
	c := exec.Command(name, arg...)
	c.Env = s.Env
	return c
}

// Kill ends the server at once, as a device that is pulled out.
func (s *Sink) Kill() {
	s.server.Process.Kill()
	<-s.gone
}

// Revive starts the server again after Kill, as a device that is plugged in
// again. Recordings made before have ended.
func (s *Sink) Revive(tb testing.TB) {
	tb.Helper()
	os.Remove(s.socket)
	s.launch(tb)
}

// Recording is what a sink plays, as it comes in.
type Recording struct {
	tb   testing.TB
	cmd  *exec.Cmd
	said bytes.Buffer
	done chan struct{}

	mu      sync.Mutex
	sides   [2][]float32
	arrived []arrival
}

// arrival is when the frames up to a number had come in.
type arrival struct {
	frames int
	at     time.Time
}

// Record starts to record what is played, 48 kHz stereo. It returns when the
// first samples have come in.
func (s *Sink) Record(tb testing.TB) *Recording {
	tb.Helper()
	r := &Recording{tb: tb, done: make(chan struct{})}
	r.cmd = s.Command("parec", "--raw", "--device=room.monitor", "--format=float32le",
		"--rate=48000", "--channels=2", "--latency-msec=5")
	r.cmd.Stderr = &r.said
	pipe, err := r.cmd.StdoutPipe()
	if err != nil {
		tb.Fatal(err)
	}
	if err := r.cmd.Start(); err != nil {
		tb.Fatalf("nullsink: cannot record: %v", err)
	}
	first := make(chan struct{})
	go r.read(pipe, first)
	tb.Cleanup(r.end)
	select {
	case <-first:
	case <-r.done:
		tb.Fatalf("nullsink: the recording ended at once: %s", r.said.String())
	case <-time.After(10 * time.Second):
		tb.Fatalf("nullsink: the recording does not begin")
	}
	return r
}

func (r *Recording) read(pipe io.Reader, first chan struct{}) {
	defer close(r.done)
	buf := make([]byte, 1<<16)
	var have int
	for {
		n, err := pipe.Read(buf[have:])
		now := time.Now()
		have += n
		r.mu.Lock()
		begun := len(r.sides[0]) > 0
		whole := have / 8 * 8
		for i := 0; i < whole; i += 8 {
			for ch := range r.sides {
				v := math.Float32frombits(binary.LittleEndian.Uint32(buf[i+4*ch:]))
				r.sides[ch] = append(r.sides[ch], v)
			}
		}
		r.arrived = append(r.arrived, arrival{len(r.sides[0]), now})
		if !begun && whole > 0 {
			close(first)
		}
		r.mu.Unlock()
		have = copy(buf, buf[whole:have])
		if err != nil {
			return
		}
	}
}

func (r *Recording) end() {
	select {
	case <-r.done:
	default:
		r.cmd.Process.Kill()
		<-r.done
	}
	r.cmd.Wait()
}

// Stop ends the recording and returns its two sides.
func (r *Recording) Stop() [2][]float32 {
	r.end()
	return r.sides
}

// Arrived returns when a frame had come in, of a recording that was stopped.
func (r *Recording) Arrived(frame int) time.Time {
	for _, a := range r.arrived {
		if a.frames > frame {
			return a.at
		}
	}
	return time.Now()
}

// FrameAt returns how many frames had come in at a time, of a recording that
// was stopped.
func (r *Recording) FrameAt(t time.Time) (frame int) {
	for _, a := range r.arrived {
		if a.at.After(t) {
			break
		}
		frame = a.frames
	}
	return frame
}

// Save writes a part of a stopped recording, frames from up to to, as a WAV
// file and returns its path.
func (r *Recording) Save(from, to int) string {
	r.tb.Helper()
	path := filepath.Join(r.tb.TempDir(), fmt.Sprintf("heard-%d-%d.wav", from, to))
	w, err := wavfile.Create(path, wavfile.Format{SampleRate: 48000, Channels: 2, Bits: 32, Float: true})
	if err == nil {
		if err = w.Write([][]float32{r.sides[0][from:to], r.sides[1][from:to]}); err == nil {
			err = w.Close()
		}
	}
	if err != nil {
		r.tb.Fatalf("nullsink: %v", err)
	}
	return path
}
