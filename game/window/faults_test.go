package window

import (
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// without runs the trainer where there is no display, or a wrong one.
func without(display string, args ...string) (out string, code int) {
	cmd := exec.Command(trainer, args...)
	for _, v := range os.Environ() {
		if !strings.HasPrefix(v, "DISPLAY=") && !strings.HasPrefix(v, "WAYLAND_DISPLAY=") {
			cmd.Env = append(cmd.Env, v)
		}
	}
	if display != "" {
		cmd.Env = append(cmd.Env, "DISPLAY="+display)
	}
	all, _ := cmd.CombinedOutput()
	return string(all), cmd.ProcessState.ExitCode()
}

// Without a display the trainer says so in one sentence and ends with 1.
func TestNoDisplay(t *testing.T) {
	t.Parallel()
	for _, display := range []string{"", ":7777", "nonsense"} {
		out, code := without(display, "--seed", "1")
		if code != 1 {
			t.Errorf("DISPLAY=%q: exit %d, want 1", display, code)
		}
		if strings.Count(out, "\n") != 1 || !strings.Contains(out, "no display") {
			t.Errorf("DISPLAY=%q: said\n%s\nwant one sentence", display, out)
		}
	}
}

// header is a WAV file's beginning with a number of channels and a length of
// data, whatever follows.
func header(channels uint16, data uint32) []byte {
	b := []byte("RIFF\x00\x00\x00\x00WAVEfmt \x10\x00\x00\x00\x01\x00")
	b = binary.LittleEndian.AppendUint16(b, channels)
	b = binary.LittleEndian.AppendUint32(b, 48000)
	b = binary.LittleEndian.AppendUint32(b, 48000*2*uint32(channels))
	b = binary.LittleEndian.AppendUint16(b, 2*channels)
	b = binary.LittleEndian.AppendUint16(b, 16)
	b = append(b, "data"...)
	b = binary.LittleEndian.AppendUint32(b, data)
	binary.LittleEndian.PutUint32(b[4:], uint32(len(b))-8+data)
	return b
}

// A recording that cannot be used gets one sentence, and the trainer goes on.
func TestUnusableRecordings(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for name, data := range map[string][]byte{
		"empty.wav":     {},
		"text.wav":      []byte("this is a letter, not a recording"),
		"truncated.wav": header(1, 48000)[:30],
		"channels.wav":  header(0, 48000),
		"short.wav":     append(header(1, 200), make([]byte, 200)...),
	} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			unusable(t, path)
		})
	}
	t.Run("missing", func(t *testing.T) { unusable(t, filepath.Join(dir, "missing.wav")) })
}

func unusable(t *testing.T, path string) {
	a := start(t, options{settings: calm, size: "960x600", args: []string{path}})
	text := a.next("a sentence", func(e event) bool { return e.is("notice") }).str("text")
	if !strings.Contains(text, filepath.Base(path)) || strings.Contains(text, "\n") {
		t.Errorf("said %q, want one sentence with the file's name", text)
	}
	t.Log(text)
	a.screen("home")
	a.press("Return", func() event { return a.screen("round") })
}

// A usable one makes a round of it.
func TestOwnRecording(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "evening.wav")
	if out, err := exec.Command("sox", "-n", "-r", "44100", "-c", "2", "-b", "24", path, "synth", "20", "pluck", "C3", "tremolo", "2", "gain", "-9").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	a := start(t, options{settings: calm, args: []string{path}})
	a.next("the recording", func(e event) bool { return e.is("own") })
	a.screen("home")
	a.shot("home-own-1280x800")
	a.press("Return", func() event { return a.screen("round") })
	e := a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	if e.str("family") != "own" {
		t.Errorf("a round of %q, want own", e.str("family"))
	}
	a.press("Prior", func() event { return a.next("move", isFader) })
	a.press("Return", func() event { return a.screen("verdict") })
	a.press("n", func() event { return a.screen("round") }) // what is needed most is none of it
	e = a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	if e.str("family") == "own" {
		t.Error("what is needed most is another round of one's own recording")
	}
}

// In the smallest window it asks for more room, and goes on when it gets it.
func TestSmallWindow(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm, size: "300x200", display: "1280x800"})
	a.next("the small window", func(e event) bool { return e.is("screen") && e["small"] == true })
	if b := a.windowShot("small-300x200").Bounds(); b.Dx() != 300 || b.Dy() != 200 {
		t.Errorf("the picture of the smallest window is %d by %d", b.Dx(), b.Dy())
	}
	a.hands("search", "--sync", "--name", "^slowneedle$", "windowsize", "1000", "700")
	a.next("larger window", func(e event) bool { return e.is("screen") && e["small"] == false })
	a.press("Return", func() event { return a.screen("round") })
}

// Damaged settings are set aside and said, and the trainer goes on.
func TestDamagedSettings(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: "{not settings"})
	text := a.next("a sentence", func(e event) bool { return e.is("notice") }).str("text")
	if !strings.Contains(text, "damaged") {
		t.Errorf("said %q", text)
	}
	a.screen("cautions")
}
