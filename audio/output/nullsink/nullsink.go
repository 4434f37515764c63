// Package nullsink gives tests a sound device: a PulseAudio server of their
// own whose only sink plays into nothing, in real time. What it plays comes in at its
// monitor, room.monitor.
package nullsink

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
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
// It needs the programs pulseaudio and pactl, and ALSA's pulse plug-in;
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
