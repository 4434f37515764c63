package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"
)

// windowSpeed is what a running window costs.
type windowSpeed struct {
	first       time.Duration // from starting the program to its first frame
	home, round cost
	empty       float64 // ms of processor a frame of the library's empty window
}

// cost is what a while of running took.
type cost struct {
	frames    float64
	processor time.Duration // of all threads
	wall      time.Duration
	drawing   float64 // ms a frame, in the program's own drawing, as it reports
}

func (c cost) perFrame() float64 {
	return float64(c.processor.Microseconds()) / 1000 / math.Max(c.frames, 1)
}
func (c cost) share() float64 { return 100 * c.processor.Seconds() / c.wall.Seconds() }

// window measures a window once.
func (m *meters) window() (windowSpeed, error) {
	if m.seen == nil {
		m.seen = new(windowSpeed)
		*m.seen, m.seenErr = measureWindow()
	}
	return *m.seen, m.seenErr
}

// What a look at the window takes.
const (
	starts   = 3
	watchFor = 8 * time.Second
	patience = 60 * time.Second
	tick     = 10 * time.Millisecond
)

// measureWindow opens the trainer on a display without a screen, drawn by
// software, leaves the first screen standing, then brings a round's sound
// up and lets it play. The trainer writes what happens as JSON lines, a count of its frames
// once a second among them.
func measureWindow() (w windowSpeed, err error) {
	if runtime.GOOS != "linux" {
		return w, errors.New("the window is measured on Linux only, where a display can stand in")
	}
	home, err := os.MkdirTemp("", "slowneedle-speed-")
	if err != nil {
		return w, err
	}
	defer os.RemoveAll(home)
	config := filepath.Join(home, "config", "slowneedle")
	if err := os.MkdirAll(config, 0o755); err != nil {
		return w, err
	}
	if err := os.WriteFile(filepath.Join(config, "settings.json"), []byte(`{"caution_seen": true, "drill": "take"}`), 0o644); err != nil {
		return w, err
	}
	trainer := filepath.Join(home, "slowneedle")
	if err := show("go", "build", "-o", trainer, "./cmd/slowneedle"); err != nil {
		return w, fmt.Errorf("building the trainer: %w", err)
	}
	blank := filepath.Join(home, "empty")
	if err := show("go", "build", "-o", blank, "./game/window/empty"); err != nil {
		return w, fmt.Errorf("building the empty window: %w", err)
	}
	display, stop, err := virtualDisplay()
	if err != nil {
		return w, err
	}
	defer stop()
	if w.empty, err = emptyFrame(blank, display); err != nil {
		return w, err
	}

	var a *watched
	for i := range starts {
		var took time.Duration
		if a, took, err = watch(trainer, display, home, fmt.Sprint("log", i)); err != nil {
			return w, err
		}
		if i == 0 || took < w.first {
			w.first = took
		}
		if i < starts-1 {
			a.stop()
		}
	}
	defer a.stop()
	if w.home, err = a.cost("home"); err != nil {
		return w, err
	}
	for _, step := range []struct{ event, scene string }{{"screen", "round"}, {"begin", ""}} {
		if err := a.press("Return", step.event, step.scene); err != nil {
			return w, err
		}
	}
	for range 9 { // bring the sound up, so that the needle moves
		if err := a.press("Prior", "fader", ""); err != nil {
			return w, err
		}
	}
	w.round, err = a.cost("round")
	return w, err
}

// emptyFrame runs a window in which one pixel changes and returns what it reports
// of itself, in milliseconds of processor time a frame.
func emptyFrame(program, display string) (float64, error) {
	c := exec.Command(program)
	c.Env = append(os.Environ(), "DISPLAY="+display, "WAYLAND_DISPLAY=", "LIBGL_ALWAYS_SOFTWARE=1")
	c.Stderr = os.Stderr
	out, err := c.Output()
	if err != nil {
		return 0, fmt.Errorf("the empty window: %w", err)
	}
	return strconv.ParseFloat(strings.TrimSpace(string(out)), 64)
}

// watched is a running trainer.
type watched struct {
	cmd     *exec.Cmd
	log     string
	display string
	read    int // of the log, in bytes
}

// watch starts the trainer and returns how long it took to its first frame.
func watch(trainer, display, home, log string) (*watched, time.Duration, error) {
	a := &watched{log: filepath.Join(home, log), display: display}
	a.cmd = exec.Command(trainer, "--seed", "21", "--window", "1280x800")
	a.cmd.Env = append(os.Environ(), "DISPLAY="+display, "WAYLAND_DISPLAY=", "LIBGL_ALWAYS_SOFTWARE=1", "SLOWNEEDLE_PROBE="+a.log,
		"XDG_CONFIG_HOME="+filepath.Join(home, "config"), "XDG_DATA_HOME="+filepath.Join(home, "data"), "XDG_STATE_HOME="+filepath.Join(home, "state"))
	started := time.Now()
	if err := a.cmd.Start(); err != nil {
		return nil, 0, fmt.Errorf("starting the trainer: %w", err)
	}
	if _, err := a.wait("pace", ""); err != nil {
		a.stop()
		return nil, 0, err
	}
	return a, time.Since(started), nil
}

func (a *watched) stop() {
	a.cmd.Process.Kill()
	a.cmd.Wait()
}

// event is one line of what the trainer reports.
type event struct {
	Event  string  `json:"event"`
	Scene  string  `json:"scene"`
	Frames float64 `json:"frames"`
	MS     float64 `json:"ms"`
	Each   float64 `json:"each_us"` // of drawing, a frame
}

// wait returns the next event of a name, and of a scene if one is given.
func (a *watched) wait(name, scene string) (event, error) {
	for end := time.Now().Add(patience); time.Now().Before(end); time.Sleep(tick) {
		data, err := os.ReadFile(a.log)
		if errors.Is(err, os.ErrNotExist) {
			continue
		}
		if err != nil {
			return event{}, err
		}
		for {
			length := bytes.IndexByte(data[a.read:], '\n') + 1
			if length == 0 {
				break
			}
			line := data[a.read : a.read+length]
			a.read += length
			var e event
			if err := json.Unmarshal(line, &e); err != nil {
				return event{}, fmt.Errorf("what the trainer says: %w", err)
			}
			if e.Event == name && (scene == "" || e.Scene == scene) {
				return e, nil
			}
		}
	}
	return event{}, fmt.Errorf("the trainer did not come to %q within %v", strings.TrimSpace(name+" "+scene), patience)
}

// press holds a key down until an event has come, so that no frame misses it.
func (a *watched) press(key, name, scene string) error {
	for _, act := range []string{"keydown", "keyup"} {
		c := exec.Command("xdotool", act, key)
		c.Env = append(os.Environ(), "DISPLAY="+a.display)
		if out, err := c.CombinedOutput(); err != nil {
			return fmt.Errorf("pressing a key: %w: %s", err, out)
		}
		if act == "keydown" {
			if _, err := a.wait(name, scene); err != nil {
				return err
			}
		}
	}
	_, err := a.wait("idle", "")
	return err
}

// cost watches a scene for a while, from one count of frames to another.
func (a *watched) cost(scene string) (c cost, err error) {
	first, err := a.wait("pace", scene)
	if err != nil {
		return c, err
	}
	before, err := processorTime(a.cmd.Process.Pid)
	if err != nil {
		return c, err
	}
	last := first
	for last.MS-first.MS < float64(watchFor.Milliseconds()) {
		if last, err = a.wait("pace", scene); err != nil {
			return c, err
		}
	}
	after, err := processorTime(a.cmd.Process.Pid)
	return cost{last.Frames - first.Frames, after - before, time.Duration((last.MS - first.MS) * 1e6), last.Each / 1000}, err
}

// processorTime is what a process has used of the processor, in user and system
// mode: fields 14 and 15 of /proc/PID/stat, in hundredths of a second (proc(5)).
func processorTime(pid int) (time.Duration, error) {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0, err
	}
	// The second field, the name, is in brackets and may hold spaces.
	_, rest, _ := strings.Cut(string(data), ") ")
	f := strings.Fields(rest)
	if len(f) < 13 {
		return 0, fmt.Errorf("/proc/%d/stat is not as expected", pid)
	}
	user, err1 := strconv.ParseInt(f[11], 10, 64)
	system, err2 := strconv.ParseInt(f[12], 10, 64)
	return time.Duration(user+system) * 10 * time.Millisecond, errors.Join(err1, err2)
}

// load returns how busy the machine is, where that can be read (proc(5)): the
// processes that ran or wanted to, on the mean of the last minute.
func load() string {
	data, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return ""
	}
	busy, _, _ := strings.Cut(string(data), " ")
	if n, err := strconv.ParseFloat(busy, 64); err == nil && n > 1.5*float64(runtime.NumCPU()) {
		return ", load " + busy + ": the machine is busy with other things, and times come out too long"
	}
	return ", load " + busy
}

func lastLine(s string) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	return lines[len(lines)-1]
}

func middle(x []float64) float64 {
	x = slices.Sorted(slices.Values(x))
	return x[len(x)/2]
}
