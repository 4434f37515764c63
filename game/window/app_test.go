package window

import (
	"bytes"
	"encoding/json"
	"flag"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jezek/xgb"
	"github.com/jezek/xgb/xproto"

	"slowneedle/game/window/drive"
)

// turns are what tests take that run side by side.
var turns = make(chan struct{}, 4)

// inTurn lets a test run beside others when its turn comes. Those in which the trainer waits
// most of the time, for half a minute and more, need no turn: they call t.Parallel, and all
// begin at once.
func inTurn(t *testing.T) {
	t.Helper()
	t.Parallel()
	turns <- struct{}{}
	t.Cleanup(func() { <-turns })
}

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
	xgb.Logger.SetOutput(io.Discard) // the virtual display wants no authority
	flag.Parse()
	if err := flag.Set("test.parallel", "100"); err != nil { // inTurn lets in a few
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return m.Run()
}

type event = drive.Event

// connect connects to a display until the test ends.
func connect(t testing.TB, display string) *xgb.Conn {
	t.Helper()
	conn, err := xgb.NewConnDisplay(display)
	if err != nil {
		t.Fatalf("the display %s: %v", display, err)
	}
	t.Cleanup(conn.Close)
	return conn
}

// app is a running trainer on a display of its own.
type app struct {
	*drive.Trainer
	display string
	conn    *xgb.Conn
	cmd     *exec.Cmd
	log     string
	read    int64 // of the log, in bytes
	stderr  *drive.Output
	done    chan struct{}
	started time.Time
	home    string
	xdotool *drive.Xdotool
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
	a := &app{home: home, display: drive.Display(t, o.display), log: filepath.Join(home, log), stderr: &drive.Output{}, done: make(chan struct{})}
	a.Trainer = &drive.Trainer{T: t, Hands: a}
	a.conn, a.xdotool = connect(t, a.display), drive.NewXdotool(t, a.display)
	if o.dpi > 0 {
		tellDPI(t, a.conn, o.dpi)
	}
	a.cmd = exec.Command(trainer, append([]string{"--seed", "21", "--window", o.size}, o.args...)...)
	a.cmd.Env = append(append(os.Environ(), o.env...), "DISPLAY="+a.display, "WAYLAND_DISPLAY=", "SLOWNEEDLE_PROBE="+a.log,
		"XDG_CONFIG_HOME="+filepath.Join(home, "config"), "XDG_DATA_HOME="+filepath.Join(home, "data"), "XDG_STATE_HOME="+filepath.Join(home, "state"), "XDG_DOCUMENTS_DIR="+home)
	a.cmd.Stderr = a.stderr
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
		if s := a.stderr.String(); strings.Contains(s, "panic") || strings.Contains(s, "goroutine ") {
			t.Errorf("the trainer died:\n%s", s)
		}
	})
	return a
}

// Events reads what the trainer has said since.
func (a *app) Events() (fresh []event) {
	a.T.Helper()
	if f, err := os.Open(a.log); err == nil {
		defer f.Close()
		f.Seek(a.read, io.SeekStart)
		data, _ := io.ReadAll(f)
		end := bytes.LastIndexByte(data, '\n') + 1
		a.read += int64(end)
		for line := range bytes.Lines(data[:end]) {
			e := event{}
			if json.Unmarshal(line, &e) == nil && len(e) > 0 {
				fresh = append(fresh, e)
			}
		}
	}
	if len(fresh) > 0 {
		return fresh
	}
	select {
	case <-a.done:
		a.T.Fatalf("the trainer ended while the test waited:\n%s", a.stderr)
	case <-time.After(5 * time.Millisecond):
	}
	return nil
}

// hands tells the injector what to do.
func (a *app) hands(args ...string) { a.T.Helper(); a.xdotool.Do(args...) }

func (a *app) Down(key string)   { a.T.Helper(); a.hands("keydown", key) }
func (a *app) Up(key string)     { a.T.Helper(); a.hands("keyup", key) }
func (a *app) Write(text string) { a.T.Helper(); a.hands("type", text) }

// resize makes the window another size. A small one costs little while a test waits.
func (a *app) resize(w, h int) {
	a.T.Helper()
	a.hands("search", "--sync", "--name", window, "windowsize", strconv.Itoa(w), strconv.Itoa(h))
}

// window is what the trainer's window is called.
const window = "^slowneedle$"

func (a *app) moveTo(x, y float64) {
	a.T.Helper()
	a.hands("mousemove", strconv.Itoa(int(x+0.5)), strconv.Itoa(int(y+0.5)))
}

// Click presses the mouse at a place until what it does has happened.
func (a *app) Click(x, y float64, until func() event) event {
	a.T.Helper()
	a.moveTo(x, y)
	a.hands("mousedown", "1")
	e := until()
	a.Rest(func() { a.hands("mouseup", "1") })
	return e
}

// leave quits from the first screen, which asks once.
func (a *app) leave() {
	a.T.Helper()
	a.For("Escape", "notice")
	a.hands("keydown", "Escape")
	a.ends()
}

// ends waits until the trainer has ended.
func (a *app) ends() {
	a.T.Helper()
	select {
	case <-a.done:
	case <-time.After(drive.Patience):
		a.T.Fatal("the trainer does not end")
	}
}

// Shot writes what stands on the display to the folder of screenshots.
func (a *app) Shot(name string) {
	a.T.Helper()
	a.picture(name, a.root())
}

// root is the window of the whole display.
func (a *app) root() xproto.Window { return xproto.Setup(a.conn).DefaultScreen(a.conn).Root }

func shotPath(name string) string { return filepath.Join(shots, name+".png") }

// leastColours is how many a picture of a screen has at the least: smoothed
// letters alone have more, an empty window has one.
const leastColours = 16

// picture takes a picture of a window once something has been presented to it.
func (a *app) picture(name string, window xproto.Window) image.Image {
	a.T.Helper()
	for deadline := time.Now().Add(drive.Patience / 2); ; {
		img := a.pixels(window)
		n := colours(img, leastColours)
		if n >= leastColours {
			a.writePicture(name, img)
			return img
		}
		if time.Now().After(deadline) {
			a.writePicture(name, img)
			a.T.Fatalf("the screenshot %s has only %d colours", shotPath(name), n)
		}
	}
}

// pixels is what a window shows.
func (a *app) pixels(window xproto.Window) *image.RGBA {
	a.T.Helper()
	size, err := xproto.GetGeometry(a.conn, xproto.Drawable(window)).Reply()
	if err != nil {
		a.T.Fatalf("no picture: %v", err)
	}
	got, err := xproto.GetImage(a.conn, xproto.ImageFormatZPixmap, xproto.Drawable(window), 0, 0, size.Width, size.Height, math.MaxUint32).Reply()
	if err != nil {
		a.T.Fatalf("no picture: %v", err)
	}
	img := image.NewRGBA(image.Rect(0, 0, int(size.Width), int(size.Height)))
	for i := 0; i+3 < len(got.Data); i += 4 { // blue, green, red and nothing
		img.Pix[i], img.Pix[i+1], img.Pix[i+2], img.Pix[i+3] = got.Data[i+2], got.Data[i+1], got.Data[i], 255
	}
	return img
}

func (a *app) writePicture(name string, img image.Image) {
	a.T.Helper()
	var data bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&data, img)
	if err == nil {
		err = os.WriteFile(shotPath(name), data.Bytes(), 0o644)
	}
	if err != nil {
		a.T.Fatal(err)
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
