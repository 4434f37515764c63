package window

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	_ "image/png" // screenshots
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
)

var (
	trainer string // the trainer under test
	shots   string // folder for screenshots
)

func TestMain(m *testing.M) { os.Exit(testMain(m)) }

func testMain(m *testing.M) int {
	dir, err := os.MkdirTemp("", "slowneedle-window-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	trainer = filepath.Join(dir, "slowneedle")
	if out, err := exec.Command("go", "build", "-o", trainer, "slowneedle/cmd/slowneedle").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "the trainer does not build: %v\n%s", err, out)
		return 1
	}
	shots, err = filepath.Abs("../../shots")
	if err == nil {
		err = os.MkdirAll(shots, 0o755)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return m.Run()
}

// patience is how long anything on the screen may take on a busy machine.
const patience = 60 * time.Second

// startDisplay starts a virtual display of its own and returns its name.
func startDisplay(t testing.TB, size string) string {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	// Without -noreset it starts again whenever its last client leaves, as after a
	// check that there is a display, and whoever comes then is refused. With -r a
	// key that is held until its effect is seen writes one letter.
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-noreset", "-r", "-screen", "0", size+"x24", "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{w}
	if err := cmd.Start(); err != nil {
		t.Fatalf("the virtual display does not start: %v", err)
	}
	w.Close()
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
		r.Close()
	})
	r.SetReadDeadline(time.Now().Add(patience))
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatalf("the virtual display does not say its number: %v", err)
	}
	return ":" + strings.TrimSpace(line)
}

// app is a running trainer.
type app struct {
	t       testing.TB
	display string
	cmd     *exec.Cmd
	log     string
	read    int64 // of the log, in bytes
	events  []event
	seen    int // events used up by next
	idle    int // events used up by letGo
	stages  int // events used up by listens
	stderr  *bytes.Buffer
	done    chan struct{}
	started time.Time
	shift   bool // held throughout
	home    string
}

// event is one line of what the trainer says it does.
type event map[string]any

func (e event) is(name string) bool    { return e["event"] == name }
func (e event) str(key string) string  { s, _ := e[key].(string); return s }
func (e event) num(key string) float64 { f, _ := e[key].(float64); return f }

// place returns the middle of a place on the screen.
func (e event) place(t testing.TB, id string) (x, y float64) {
	t.Helper()
	places, _ := e["places"].(map[string]any)
	p, ok := places[id].([]any)
	if !ok || len(p) != 4 {
		t.Fatalf("the screen %q has no place %q: %v", e.str("scene"), id, places)
	}
	n := func(i int) float64 { f, _ := p[i].(float64); return f }
	return n(0) + n(2)/2, n(1) + n(3)/2
}

// options of start.
type options struct {
	size     string
	args     []string
	settings string   // what the settings file holds; empty is a first run
	display  string   // of an own size; empty is one of the window's size
	home     string   // the home of another trainer; empty is an own one
	dpi      int      // of the display, as a desktop tells it; 0 says nothing
	env      []string // more of the environment
}

// start opens a trainer with an empty home of its own.
func start(t testing.TB, o options) *app {
	t.Helper()
	if o.size == "" {
		o.size = "1280x800"
	}
	if o.display == "" {
		o.display = o.size
	}
	home, log := t.TempDir(), "log"
	if o.home != "" {
		home, log = o.home, "log2"
	}
	if o.settings != "" {
		dir := filepath.Join(home, "config", "slowneedle")
		if err := os.MkdirAll(dir, 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, "settings.json"), []byte(o.settings), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	a := &app{t: t, home: home, display: startDisplay(t, o.display), log: filepath.Join(home, log), stderr: &bytes.Buffer{}, done: make(chan struct{})}
	if o.dpi > 0 {
		tellDPI(t, a.display, o.dpi)
	}
	a.cmd = exec.Command(trainer, append([]string{"--seed", "21", "--window", o.size}, o.args...)...)
	a.cmd.Env = append(append(os.Environ(), o.env...), "DISPLAY="+a.display, "WAYLAND_DISPLAY=", "SLOWNEEDLE_PROBE="+a.log,
		"XDG_CONFIG_HOME="+filepath.Join(home, "config"), "XDG_DATA_HOME="+filepath.Join(home, "data"), "XDG_STATE_HOME="+filepath.Join(home, "state"), "XDG_DOCUMENTS_DIR="+home)
	var mu sync.Mutex
	a.cmd.Stderr = writer(func(p []byte) (int, error) {
		mu.Lock()
		defer mu.Unlock()
		return a.stderr.Write(p)
	})
	a.started = time.Now()
	if err := a.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() {
		a.cmd.Wait()
		close(a.done)
	}()
	t.Cleanup(func() {
		a.cmd.Process.Kill()
		<-a.done
		mu.Lock()
		defer mu.Unlock()
		if s := a.stderr.String(); strings.Contains(s, "panic") || strings.Contains(s, "goroutine ") {
			t.Errorf("the trainer died:\n%s", s)
		}
	})
	return a
}

type writer func([]byte) (int, error)

func (w writer) Write(p []byte) (int, error) { return w(p) }

// poll reads what the trainer has said since.
func (a *app) poll() {
	f, err := os.Open(a.log)
	if err != nil {
		return
	}
	defer f.Close()
	f.Seek(a.read, io.SeekStart)
	data, _ := io.ReadAll(f)
	end := bytes.LastIndexByte(data, '\n') + 1
	a.read += int64(end)
	for _, line := range bytes.Split(data[:end], []byte("\n")) {
		e := event{}
		if json.Unmarshal(line, &e) == nil && len(e) > 0 {
			a.events = append(a.events, e)
		}
	}
}

// next waits for an event that ok accepts, among those not yet used up.
func (a *app) next(what string, ok func(event) bool) event {
	a.t.Helper()
	return a.from(&a.seen, what, ok)
}

// from waits for an event from an index on and moves the index past it.
func (a *app) from(at *int, what string, ok func(event) bool) event {
	a.t.Helper()
	deadline := time.Now().Add(patience)
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	for {
		a.poll()
		for *at < len(a.events) {
			e := a.events[*at]
			*at++
			if ok(e) {
				return e
			}
		}
		if time.Now().After(deadline) {
			a.t.Fatalf("no %s within %v; so far: %v", what, patience, a.summary())
		}
		select {
		case <-a.done:
			a.t.Fatalf("the trainer ended while the test waited for %s:\n%s", what, a.stderr)
		case <-tick.C:
		}
	}
}

// summary lists what has happened, for a test that failed.
func (a *app) summary() []string {
	var all []string
	for _, e := range a.events {
		if !e.is("pace") {
			all = append(all, fmt.Sprint(e["event"], " ", e["scene"], " ", e["ms"]))
		}
	}
	return all
}

// screen waits until a screen stands.
func (a *app) screen(name string) event {
	a.t.Helper()
	return a.next("screen "+name, func(e event) bool { return e.is("screen") && e.str("scene") == name })
}

// hands runs the injector.
func (a *app) hands(args ...string) {
	a.t.Helper()
	cmd := exec.Command("xdotool", args...)
	cmd.Env = append(os.Environ(), "DISPLAY="+a.display)
	if out, err := cmd.CombinedOutput(); err != nil {
		a.t.Fatalf("xdotool %v: %v %s", args, err, out)
	}
}

// press holds a key down until what it does has happened.
func (a *app) press(key string, until func() event) event {
	a.t.Helper()
	a.hands("keydown", key)
	e := until()
	a.hands("keyup", key)
	if !a.shift {
		a.letGo()
	}
	return e
}

// letGo waits until the trainer has seen that nothing is held any more: a
// press that follows within one of its frames would look like the same one.
func (a *app) letGo() {
	a.t.Helper()
	a.from(&a.idle, "rest of the hands", func(e event) bool { return e.is("idle") })
}

func (a *app) moveTo(x, y float64) {
	a.t.Helper()
	a.hands("mousemove", strconv.Itoa(int(x+0.5)), strconv.Itoa(int(y+0.5)))
}

// click presses the mouse at a place until what it does has happened.
func (a *app) click(x, y float64, until func() event) event {
	a.t.Helper()
	a.moveTo(x, y)
	a.hands("mousedown", "1")
	e := until()
	a.hands("mouseup", "1")
	a.letGo()
	return e
}

// leave quits from the first screen, which asks once.
func (a *app) leave() {
	a.t.Helper()
	a.press("Escape", func() event { return a.next("question", func(e event) bool { return e.is("notice") }) })
	a.hands("keydown", "Escape")
	a.ends()
}

// ends waits until the trainer has ended.
func (a *app) ends() {
	a.t.Helper()
	select {
	case <-a.done:
	case <-time.After(patience):
		a.t.Fatal("the trainer does not end")
	}
}

// shot writes what stands on the display to the folder of screenshots.
func (a *app) shot(name string) string {
	a.t.Helper()
	a.picture(name, "root")
	return shotPath(name)
}

// windowShot writes what stands in the trainer's window, without what is around
// it, and returns it.
func (a *app) windowShot(name string) image.Image {
	a.t.Helper()
	cmd := exec.Command("xdotool", "search", "--sync", "--name", "^slowneedle$")
	cmd.Env = append(os.Environ(), "DISPLAY="+a.display)
	id, err := cmd.Output()
	if err != nil {
		a.t.Fatalf("no window to take a picture of: %v", err)
	}
	return a.picture(name, strings.TrimSpace(string(id)))
}

func shotPath(name string) string { return filepath.Join(shots, name+".png") }

// leastColours is how many a picture of a screen has at the least: smoothed
// letters alone have more, an empty window has one.
const leastColours = 16

// picture takes a picture once something has been presented to the display.
func (a *app) picture(name, window string) image.Image {
	a.t.Helper()
	path := shotPath(name)
	for deadline := time.Now().Add(patience / 2); ; {
		cmd := exec.Command("import", "-window", window, path)
		cmd.Env = append(os.Environ(), "DISPLAY="+a.display)
		if out, err := cmd.CombinedOutput(); err != nil {
			a.t.Fatalf("no screenshot %s: %v %s", name, err, out)
		}
		img := readPicture(a.t, path)
		n := colours(img, leastColours)
		if n >= leastColours {
			return img
		}
		if time.Now().After(deadline) {
			a.t.Fatalf("the screenshot %s has only %d colours", path, n)
		}
	}
}

func readPicture(t testing.TB, path string) image.Image {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, _, err := image.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// colours counts the colours of a picture, up to enough of them.
func colours(img image.Image, enough int) int {
	seen := map[color.Color]bool{}
	b := img.Bounds()
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if seen[img.At(x, y)] = true; len(seen) >= enough {
				return len(seen)
			}
		}
	}
	return len(seen)
}

// calm is a settings file of someone who has been here before and wants to
// set takes.
const calm = `{"caution_seen": true, "drill": "take"}`
