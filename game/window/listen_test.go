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

// listens waits until the screen that listens has come to a stage.
func (a *app) listens(stage string) event {
	a.t.Helper()
	return a.from(&a.stages, "listening: "+stage, func(e event) bool { return e.is("listen") && e.str("stage") == stage })
}

// goOn lets the trainer run for some seconds, told by its own clock.
func (a *app) goOn(seconds float64) {
	a.t.Helper()
	a.poll()
	from := a.events[len(a.events)-1].num("ms")
	at := len(a.events)
	a.from(&at, "time gone", func(e event) bool { return e.is("pace") && e.num("ms")-from > 1000*seconds })
}

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
	a := start(t, options{settings: inputSettings, env: sink.Env})
	a.screen("home")
	a.press("l", func() event { return a.screen("listen") })
	a.listens("own")
	a.press("r", func() event { return a.listens("line-up") })
	a.shot("listen-line-up")
	if e := a.listens("steady"); math.Abs(e.num("dbfs")+30) > 0.1 {
		t.Errorf("the tone comes back at %.2f dBFS, want -18 less 12", e.num("dbfs"))
	}
	a.goOn(1)
	a.shot("listen-steady")
	begun := func(do func() event) float64 {
		t.Helper()
		aim := do().num("aim")
		a.listens("playing")
		return aim
	}
	isBegin := func(e event) bool { return e.is("begin") && e.str("drill") == "real-desk" }
	aim := begun(func() event { return a.press("Return", func() event { return a.next("a round", isBegin) }) })
	volume(aim)
	a.goOn(6)
	a.shot("listen-playing")
	verdict := func() map[string]any {
		t.Helper()
		e := a.press("Return", func() event {
			return a.next("verdict", func(e event) bool { return e.is("verdict") || e.is("notice") })
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
	a.screen("verdict")
	a.shot("listen-verdict")
	aim = begun(func() event { return a.press("Return", func() event { return a.next("a round", isBegin) }) })
	volume(aim + 5)
	a.goOn(6)
	v = verdict()
	if off := v["error_db"].(float64); math.Abs(off-5) > 0.1 || v["in_window"] != false {
		t.Errorf("5 dB above its aim it is %+.1f dB off: %v", off, v["headline"])
	}
	a.screen("verdict")
	if all := sounds(t, a.home); len(all) > 0 {
		t.Errorf("sound was written that nobody asked for: %v", all)
	}

	// Pulled out in the middle of a round, and plugged in again.
	begun(func() event { return a.press("Return", func() event { return a.next("a round", isBegin) }) })
	sink.Kill()
	a.listens("broken")
	a.next("the reason on the screen", func(e event) bool { return e.is("screen") && e.says("line input is gone") })
	a.shot("listen-broken")
	sink.Revive(t)
	a.press("Return", func() event { return a.listens("own") })
	a.press("Escape", func() event { return a.screen("home") })
	a.press("p", func() event { return a.screen("progress") })
	a.press("t", func() event { return a.screen("progress") })
	if e := a.press("t", func() event { return a.screen("progress") }); !e.says("2 rounds at a real desk") {
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
	a.screen("home")
	e := a.press("s", func() event { return a.screen("settings") })
	x, y := e.place(t, "set.input.more")
	a.click(x, y, func() event {
		return a.next("the monitor among the inputs", func(e event) bool { return e.is("screen") && e.says("Monitor of") })
	})
	a.shot("listen-settings")
	a.press("Escape", func() event { return a.screen("home") })

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
	a.press("l", func() event { return a.screen("listen") })
	a.listens("own")
	a.goOn(14)
	a.shot("listen-own")
	e = a.press("Return", func() event {
		return a.next("verdict", func(e event) bool { return e.is("verdict") || e.is("notice") })
	})
	v, ok := e["verdict"].(map[string]any)
	if !ok {
		t.Fatalf("no verdict but %v", e)
	}
	if off := v["error_db"].(float64); math.Abs(off-6) > 0.11 || v["in_window"] != false || !strings.Contains(fmt.Sprint(v["headline"]), "too hot") {
		t.Errorf("a tone at -12 dBFS: %+.1f dB off, %v", off, v["headline"])
	}
	a.screen("verdict")
	a.shot("listen-own-verdict")
	if all := sounds(t, a.home); len(all) > 0 {
		t.Errorf("sound was written that nobody asked for: %v", all)
	}
	a.press("s", func() event {
		return a.next("where it is", func(e event) bool { return e.is("notice") && strings.Contains(e.str("text"), "because you asked") })
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
	e = a.next("what followed", func(e event) bool {
		return e.is("follow") && strings.Contains(e.str("text"), "The minute that followed")
	})
	if !strings.Contains(e.str("text"), "6.0 dB too hot") {
		t.Errorf("%q, want 6 dB too hot", e.str("text"))
	}

	// It clips where the server does: at full scale.
	tone.Process.Kill()
	a.press("Return", func() event { return a.screen("listen") })
	play("30", "square", "440")
	a.listens("clips")
	a.goOn(1)
	a.shot("listen-clips")
	e = a.press("Return", func() event { return a.next("verdict", func(e event) bool { return e.is("verdict") }) })
	if v := e["verdict"].(map[string]any); v["points"] != 0.0 || !strings.Contains(fmt.Sprint(v["headline"]), "The input clips") {
		t.Errorf("an input that clips: %v", v)
	}
	if n := len(sounds(t, a.home)); n != 1 {
		t.Errorf("%d files of sound, want the one that was asked for", n)
	}
	_ = os.Remove(all[0])
}
