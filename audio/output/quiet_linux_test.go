package output

import (
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// standardError is where standard error leads.
func standardError(t *testing.T) string {
	to, err := os.Readlink("/proc/self/fd/2")
	if err != nil {
		t.Fatal(err)
	}
	return to
}

// Two that want quiet at once leave standard error where it led.
func TestQuietTwice(t *testing.T) {
	before := standardError(t)
	first := quietLibraries()
	second := quietLibraries()
	first()
	first()
	during := standardError(t)
	second()
	if after := standardError(t); during != os.DevNull || after != before {
		t.Errorf("standard error leads to %s, then %s; it led to %s", during, after, before)
	}
}

// One that never calls loud keeps standard error for its time and no longer.
func TestQuietEnds(t *testing.T) {
	before := standardError(t)
	quietFor(time.Millisecond)
	for end := time.Now().Add(10 * time.Second); standardError(t) != before; {
		if time.Now().After(end) {
			t.Fatal("standard error led nowhere after 10 s")
		}
	}
}

// A sound server that takes the connection and never answers: the device does not open,
// that is told, and what the program itself prints is seen.
func TestDeviceNeverReady(t *testing.T) {
	t.Parallel()
	dir, err := os.MkdirTemp("", "mute") // for a socket's short path
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	socket, config := filepath.Join(dir, "native"), filepath.Join(dir, "asound.conf")
	server, err := net.Listen("unix", socket)
	if err != nil {
		t.Fatal(err)
	}
	defer server.Close()
	if err := os.WriteFile(config, []byte("</usr/share/alsa/alsa.conf>\npcm.!default { type pulse }\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	p := play(t, append(os.Environ(), "ALSA_CONFIG_PATH="+config, "PULSE_SERVER=unix:"+socket, "HOME="+dir, "XDG_RUNTIME_DIR="+dir))
	if why := p.until("silent", func(l line) bool { return l.Silent }).Why; why != "no sound: meters only (the sound device does not open)" {
		t.Errorf("it says %q", why)
	}
	p.order("say")
	p.orders.Close()
	<-p.ended
	if s := p.said.String(); !strings.Contains(s, "a sentence of the program's own") {
		t.Errorf("printed: %q", s)
	}
}
