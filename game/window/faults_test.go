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
	inTurn(t)
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

// A recording that cannot be used gets one sentence, and the trainer goes on: given at the
// start, or dropped on the window.
func TestUnusableRecordings(t *testing.T) {
	inTurn(t)
	dir := t.TempDir()
	path := func(name string) string { return filepath.Join(dir, name) }
	a := start(t, options{settings: calm, size: "960x600", args: []string{path("missing.wav")}})
	unusable := func(name string) {
		t.Helper()
		text := a.Event("notice").Str("text")
		if !strings.Contains(text, name) || strings.Contains(text, "\n") {
			t.Errorf("said %q, want one sentence with %s", text, name)
		}
		t.Log(text)
	}
	unusable("missing.wav")
	from := dragFrom(a)
	for name, data := range map[string][]byte{
		"empty.wav":     {},
		"text.wav":      []byte("this is a letter, not a recording"),
		"truncated.wav": header(1, 48000)[:30],
		"channels.wav":  header(0, 48000),
		"short.wav":     append(header(1, 200), make([]byte, 200)...),
	} {
		if err := os.WriteFile(path(name), data, 0o644); err != nil {
			t.Fatal(err)
		}
		from.drop(path(name))
		unusable(name)
	}
	a.To("Return", "round")
}

// A usable one makes a round of it.
func TestOwnRecording(t *testing.T) {
	inTurn(t)
	path := filepath.Join(t.TempDir(), "evening.wav")
	if out, err := exec.Command("sox", "-n", "-r", "44100", "-c", "2", "-b", "24", path, "synth", "20", "pluck", "C3", "tremolo", "2", "gain", "-9").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	a := start(t, options{settings: calm, args: []string{path}})
	a.Event("own")
	a.Screen("home")
	a.Shot("home-own-1280x800")
	a.To("Return", "round")
	e := a.For("Return", "begin")
	if e.Str("family") != "own" {
		t.Errorf("a round of %q, want own", e.Str("family"))
	}
	a.For("Prior", "fader")
	a.To("Return", "verdict")
	a.To("n", "round") // what is needed most is none of it
	e = a.For("Return", "begin")
	if e.Str("family") == "own" {
		t.Error("what is needed most is another round of one's own recording")
	}
}

// In the smallest window it asks for more room, and goes on when it gets it.
func TestSmallWindow(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: calm, size: "300x200", display: "1280x800"})
	a.Next("the small window", func(e event) bool { return e.Is("screen") && e["small"] == true })
	if b := a.picture("small-300x200", dragFrom(a).target).Bounds(); b.Dx() != 300 || b.Dy() != 200 {
		t.Errorf("the picture of the smallest window is %d by %d", b.Dx(), b.Dy())
	}
	a.resize(1000, 700)
	a.Next("larger window", func(e event) bool { return e.Is("screen") && e["small"] == false })
	a.To("Return", "round")
}

// Damaged settings are set aside and said, and the trainer goes on.
func TestDamagedSettings(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: "{not settings"})
	text := a.Event("notice").Str("text")
	if !strings.Contains(text, "damaged") {
		t.Errorf("said %q", text)
	}
	a.Screen("cautions")
}
