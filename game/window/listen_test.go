package window

import (
	"fmt"
	"io/fs"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"slowneedle/audio/output/nullsink"
	"slowneedle/audio/wavfile"
)

// inputSettings are those of someone who has been here before and chose the sink's
// monitor as the line input.
const inputSettings = `{"caution_seen": true, "monitor_db": -12, "rig_choice": "digital", "input": "room.monitor", "input_name": "Monitor of room"}`

// sounds are the files in a folder that may hold sound: those that say so and all that
// are large.
func sounds(t *testing.T, dir string) (all []string) {
	t.Helper()
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() {
			return err
		}
		if info, err := d.Info(); err == nil && (info.Size() > 1<<20 || strings.HasSuffix(path, ".wav")) {
			all = append(all, path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// The series goes out of the sound device and comes back from its monitor; the sound
// server's own volume is the desk. A round that is brought up to its aim is right, one
// that is left 5 dB higher is that much too hot, to 0.1 dB; the device is pulled out in
// mid-round and comes back.
func TestRealDesk(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	volume := func(db float64) {
		t.Helper()
		if out, err := sink.Command("pactl", "set-sink-volume", "room", fmt.Sprintf("%.2fdB", db)).CombinedOutput(); err != nil {
			t.Fatalf("pactl: %v %s", err, out)
		}
	}
	a := start(t, options{settings: inputSettings, env: sink.Env, size: "960x600"})
	a.Screen("home")
	a.To("l", "listen")
	a.Listens("own")
	a.Press("r", func() event { return a.Listens("line-up") })
	a.Shot("listen-line-up")
	if e := a.Listens("steady"); math.Abs(e.Num("dbfs")+30) > 0.1 {
		t.Errorf("the tone comes back at %.2f dBFS, want -18 less 12", e.Num("dbfs"))
	}
	a.GoOn(1)
	a.Shot("listen-steady")
	begun := func(do func() event) float64 {
		t.Helper()
		aim := do().Num("aim")
		a.Listens("playing")
		return aim
	}
	isBegin := func(e event) bool { return e.Is("begin") && e.Str("drill") == "real-desk" }
	aim := begun(func() event { return a.Press("Return", func() event { return a.Next("a round", isBegin) }) })
	volume(aim)
	a.GoOn(6)
	a.Shot("listen-playing")
	verdict := func() map[string]any {
		t.Helper()
		e := a.Press("Return", func() event {
			return a.Next("verdict", func(e event) bool { return e.Is("verdict") || e.Is("notice") })
		})
		v, ok := e["verdict"].(map[string]any)
		if !ok {
			t.Fatalf("no verdict but %v", e)
		}
		return v
	}
	v := verdict()
	if off := v["error_db"].(float64); math.Abs(off) > 0.1 || v["in_window"] != true {
		t.Errorf("brought to its aim of %.2f dB it is %+.1f dB off: %v", aim, off, v["headline"])
	}
	a.Screen("verdict")
	a.Shot("listen-verdict")
	aim = begun(func() event { return a.Press("Return", func() event { return a.Next("a round", isBegin) }) })
	volume(aim + 5)
	a.GoOn(6)
	v = verdict()
	if off := v["error_db"].(float64); math.Abs(off-5) > 0.1 || v["in_window"] != false {
		t.Errorf("5 dB above its aim it is %+.1f dB off: %v", off, v["headline"])
	}
	a.Screen("verdict")
	if all := sounds(t, a.home); len(all) > 0 {
		t.Errorf("sound was written that nobody asked for: %v", all)
	}

	// Pulled out in the middle of a round, and plugged in again.
	begun(func() event { return a.Press("Return", func() event { return a.Next("a round", isBegin) }) })
	sink.Kill()
	a.Listens("broken")
	a.Next("the reason on the screen", func(e event) bool { return e.Is("screen") && e.Says("line input is gone") })
	a.Shot("listen-broken")
	sink.Revive(t)
	a.Press("Return", func() event { return a.Listens("own") })
	a.To("Escape", "home")
	a.To("p", "progress")
	a.To("t", "progress")
	if e := a.To("t", "progress"); !e.Says("2 rounds at a real desk") {
		t.Errorf("progress: %v", e["texts"])
	}
}

// A source of the learner's own at the line input: needle, lamp, its clipping, the
// verdict at the lock, and the sound saved only when that is asked for. The input is
// chosen in the settings.
func TestOwnSource(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	a := start(t, options{settings: `{"caution_seen": true, "rig_choice": "digital"}`, env: sink.Env, size: "960x600"})
	a.Screen("home")
	e := a.To("s", "settings")
	x, y := e.Place(t, "set.input.more")
	a.Click(x, y, func() event {
		return a.Next("the monitor among the inputs", func(e event) bool { return e.Is("screen") && e.Says("Monitor of") })
	})
	a.Shot("listen-settings")
	a.To("Escape", "home")

	// A tone at -12 dBFS is 6 dB too hot where 0 VU is at -18.
	play := func(seconds string, effects ...string) *exec.Cmd {
		t.Helper()
		cmd := sink.Command("sox", append([]string{"-q", "-n", "-r", "48000", "-c", "2", "-t", "alsa", "default", "synth", seconds}, effects...)...)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { cmd.Process.Kill(); cmd.Wait() })
		return cmd
	}
	tone := play("120", "sine", "440", "vol", "0.251189")
	a.To("l", "listen")
	a.Listens("own")
	a.GoOn(14)
	a.Shot("listen-own")
	e = a.Press("Return", func() event {
		return a.Next("verdict", func(e event) bool { return e.Is("verdict") || e.Is("notice") })
	})
	v, ok := e["verdict"].(map[string]any)
	if !ok {
		t.Fatalf("no verdict but %v", e)
	}
	if off := v["error_db"].(float64); math.Abs(off-6) > 0.11 || v["in_window"] != false || !strings.Contains(fmt.Sprint(v["headline"]), "too hot") {
		t.Errorf("a tone at -12 dBFS: %+.1f dB off, %v", off, v["headline"])
	}
	a.Screen("verdict")
	a.Shot("listen-own-verdict")
	if all := sounds(t, a.home); len(all) > 0 {
		t.Errorf("sound was written that nobody asked for: %v", all)
	}
	a.Press("s", func() event {
		return a.Next("where it is", func(e event) bool { return e.Is("notice") && strings.Contains(e.Str("text"), "because you asked") })
	})
	all := sounds(t, a.home)
	if len(all) != 1 {
		t.Fatalf("saved: %v, want one file", all)
	}
	r, err := wavfile.Open(all[0])
	if err != nil || r.Frames() < 12*48000 || r.Format().SampleRate != 48000 {
		t.Errorf("what was saved: %v", err)
	}
	r.Close()

	// The minute that follows is judged too.
	a.resize(480, 300)
	e = a.Next("what followed", func(e event) bool {
		return e.Is("follow") && strings.Contains(e.Str("text"), "The minute that followed")
	})
	if !strings.Contains(e.Str("text"), "6.0 dB too hot") {
		t.Errorf("%q, want 6 dB too hot", e.Str("text"))
	}

	a.resize(960, 600)

	// It clips where the server does: at full scale.
	tone.Process.Kill()
	a.To("Return", "listen")
	play("30", "square", "440")
	a.Listens("clips")
	a.GoOn(1)
	a.Shot("listen-clips")
	e = a.For("Return", "verdict")
	if v := e["verdict"].(map[string]any); v["points"] != 0.0 || !strings.Contains(fmt.Sprint(v["headline"]), "The input clips") {
		t.Errorf("an input that clips: %v", v)
	}
	if n := len(sounds(t, a.home)); n != 1 {
		t.Errorf("%d files of sound, want the one that was asked for", n)
	}
	_ = os.Remove(all[0])
}
