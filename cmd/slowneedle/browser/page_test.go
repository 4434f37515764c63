package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"slowneedle/game/window/drive"
)

// shared is the browser of all tests: each page has a profile of its own, as on another
// machine. A file feeds its line input, and it knows the class server under a name of the
// network as well.
var shared struct {
	sync.Once
	ctx  context.Context
	stop func()
	err  error
}

// inputTone is what the file holds that feeds the line input.
const inputTone = "a tone at -12 dBFS"

// chromium returns the shared browser, started when it is first asked for.
func chromium(t testing.TB) context.Context {
	t.Helper()
	shared.Do(func() {
		wav := filepath.Join(scratch, inputTone+".wav")
		if out, err := exec.Command("sox", "-n", "-r", "48000", "-c", "2", "-b", "16", wav, "synth", "60", "sine", "440", "vol", "0.251189").CombinedOutput(); err != nil {
			shared.err = fmt.Errorf("sox: %v %s", err, out)
			return
		}
		shared.ctx, shared.stop, shared.err = browse(
			chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-file-for-fake-audio-capture", wav),
			chromedp.Flag("host-resolver-rules", "MAP "+insecure+" 127.0.0.1"))
	})
	if shared.err != nil {
		t.Fatal(shared.err)
	}
	return shared.ctx
}

// browse starts a browser.
func browse(more ...chromedp.ExecAllocatorOption) (context.Context, func(), error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox,
		chromedp.Flag("use-gl", "angle"), chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true),
		chromedp.Flag("mute-audio", true))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), append(options, more...)...)
	ctx, end := chromedp.NewContext(alloc)
	return ctx, func() { end(); stop() }, chromedp.Do(ctx, chromedp.Navigate("about:blank")) // which starts it
}

type event = drive.Event

// tab is a page with the trainer in it.
type tab struct {
	*drive.Trainer
	ctx     context.Context
	read    int         // of the page's own list
	fingers bool        // it is touched
	refused atomic.Bool // what it asks of the class server may be refused
}

// open loads an address in a page of its own of w by h points, in a profile of
// its own, as another machine's. Errors that the page puts on its console fail
// the test.
func open(t testing.TB, address string, w, h int64, more ...chromedp.EmulateViewportOption) *tab {
	t.Helper()
	p := blank(t, w, h, more...)
	p.do(chromedp.Navigate(address))
	return p
}

// blank opens an empty page.
func blank(t testing.TB, w, h int64, more ...chromedp.EmulateViewportOption) *tab {
	t.Helper()
	return tabIn(t, chromium(t), w, h, more...)
}

func tabIn(t testing.TB, browser context.Context, w, h int64, more ...chromedp.EmulateViewportOption) *tab {
	t.Helper()
	ctx, end := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	p := &tab{ctx: ctx}
	p.Trainer = &drive.Trainer{T: t, Hands: p}
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil { // the page lives as long as this context
		t.Fatal(err)
	}
	if w > 0 {
		p.do(chromedp.EmulateViewport(w, h, more...))
	}
	go func() {
		for m, err := range chromedp.Console(ctx) {
			if err != nil {
				return
			}
			if p.refused.Load() && strings.Contains(m.Text, "status of 403") {
				continue
			}
			if m.IsException() || m.Type == "error" || m.Type == "assert" || strings.HasPrefix(m.Text, "panic") {
				t.Errorf("the page's console: %v: %s", m.Type, m.Text)
			}
		}
	}()
	return p
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.T.Helper()
	ctx, late := context.WithTimeout(p.ctx, drive.Patience)
	defer late()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.T.Fatal(err)
	}
}

func get[V any](p *tab, a chromedp.Action[V]) V {
	p.T.Helper()
	ctx, late := context.WithTimeout(p.ctx, drive.Patience)
	defer late()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		p.T.Fatal(err)
	}
	return v
}

// run runs a script in the page.
func (p *tab) run(script string) {
	p.T.Helper()
	get(p, chromedp.Evaluate[int](script+";0"))
}

// waits is a script that waits until the trainer has said more than so many events, half a
// second at most.
const waits = `new Promise(done => {
	const till = performance.now() + 500
	const look = () => {
		const all = globalThis.slowneedleEvents ?? []
		if (all.length > %[1]d || performance.now() > till) done(JSON.stringify(all.slice(%[1]d)))
		else setTimeout(look, 10)
	}
	look()
})`

// Events reads what the trainer has said since.
func (p *tab) Events() (fresh []event) {
	p.T.Helper()
	text := get(p, chromedp.Evaluate[string](fmt.Sprintf(waits, p.read), chromedp.EvalAwaitPromise))
	if err := json.Unmarshal([]byte(text), &fresh); err != nil {
		p.T.Fatal(err)
	}
	p.read += len(fresh)
	if len(fresh) == 0 {
		if trouble := get(p, chromedp.Evaluate[string](`document.getElementById("trouble")?.textContent ?? ""`)); trouble != "" {
			p.T.Fatal(trouble)
		}
	}
	return fresh
}

// reload loads the page again, as one that was closed and opened again.
func (p *tab) reload() {
	p.T.Helper()
	p.Poll()
	p.do(chromedp.Reload())
	p.again()
}

// again takes note that the page was loaded again.
func (p *tab) again() {
	p.read = 0
	p.Restarted()
}

// key is a key of the keyboard: its place, what it writes, and its number.
type key struct {
	code, key string
	number    int64
}

// named are the keys that write nothing, by their names in the X Window System.
var named = map[string]key{
	"Return": {"Enter", "Enter", 13}, "Escape": {"Escape", "Escape", 27}, "Tab": {"Tab", "Tab", 9}, "BackSpace": {"Backspace", "Backspace", 8},
	"Prior": {"PageUp", "PageUp", 33}, "Up": {"ArrowUp", "ArrowUp", 38}, "Down": {"ArrowDown", "ArrowDown", 40},
	"F1": {"F1", "F1", 112}, "F2": {"F2", "F2", 113}, "F6": {"F6", "F6", 117},
}

// keyOf is the key of a name, or the one that writes a letter, a figure or a space.
func keyOf(name string) key {
	if k, ok := named[name]; ok {
		return k
	}
	up := strings.ToUpper(name)
	switch {
	case name == " ":
		return key{"Space", " ", 32}
	case name >= "0" && name <= "9":
		return key{"Digit" + name, name, int64(name[0])}
	}
	return key{"Key" + up, name, int64(up[0])}
}

// The keys held beside another, as the browser's protocol has them.
const ctrl, command = 2, 4

func (p *tab) keyEvent(kind input.DispatchKeyEventType, name string, modifiers int64) {
	p.T.Helper()
	k := keyOf(name)
	params := input.DispatchKeyEventParams{Type: kind, Code: k.code, Key: k.key, WindowsVirtualKeyCode: k.number, Modifiers: modifiers}
	if kind == input.DispatchKeyEventTypeKeyDown && len([]rune(k.key)) == 1 && modifiers == 0 {
		params.Text = k.key // what it writes
	}
	p.do(call(input.DispatchKeyEvent, params))
}

func (p *tab) Down(name string) {
	p.T.Helper()
	p.keyEvent(input.DispatchKeyEventTypeKeyDown, name, 0)
}

func (p *tab) Up(name string) {
	p.T.Helper()
	p.keyEvent(input.DispatchKeyEventTypeKeyUp, name, 0)
}

// stroke presses and releases a key with others held.
func (p *tab) stroke(name string, modifiers int64) {
	p.T.Helper()
	p.keyEvent(input.DispatchKeyEventTypeKeyDown, name, modifiers)
	p.keyEvent(input.DispatchKeyEventTypeKeyUp, name, modifiers)
}

// Write types text into the field that has the keyboard.
func (p *tab) Write(text string) {
	p.T.Helper()
	for _, r := range text {
		p.stroke(string(r), 0)
	}
}

// typeIn types text and waits until it stands in the field as want.
func (p *tab) typeIn(text, want string) event {
	p.T.Helper()
	p.Write(text)
	return p.Next("text "+want, func(e event) bool { return e.Is("typed") && e.Str("text") == want })
}

// call makes a step of a command of the browser's protocol.
func call[P, R any](cmd cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, t, cmd, params)
		return v, err
	}
}

// Click presses a place, with the mouse or a finger, until what it does has happened.
func (p *tab) Click(x, y float64, until func() event) event {
	p.T.Helper()
	p.pointer(true, x, y)
	e := until()
	p.Rest(func() { p.pointer(false, x, y) })
	return e
}

// pointer presses or releases the mouse at a place, or a finger.
func (p *tab) pointer(down bool, x, y float64) {
	p.T.Helper()
	mouse, finger := input.DispatchMouseEventTypeMouseReleased, input.DispatchTouchEventTypeTouchEnd
	points := []*input.TouchPoint{}
	if down {
		mouse, finger = input.DispatchMouseEventTypeMousePressed, input.DispatchTouchEventTypeTouchStart
		points = append(points, &input.TouchPoint{X: x, Y: y})
	}
	if p.fingers {
		p.do(call(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: finger, TouchPoints: points}))
	} else {
		p.do(call(input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: mouse, X: x, Y: y, Button: input.MouseButtonLeft, ClickCount: 1}))
	}
}

// setFader puts the fader of a round that is being played at a share of its
// throw from the top.
func (p *tab) setFader(round event, share float64) {
	p.T.Helper()
	b := round.Box(p.T, "slider.0.track")
	p.Click(b.X+b.W/2, b.Y+b.H*share, func() event { return p.Event("fader") })
}

// Shot leaves a picture of the page to be looked at.
func (p *tab) Shot(name string) { p.T.Helper(); p.picture(name) }

// picture is Shot, and returns the picture as PNG.
func (p *tab) picture(name string) []byte {
	p.T.Helper()
	png := get(p, func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{})
		return []byte(r.Data), err
	})
	dir := filepath.Join("..", "..", "..", "shots")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.T.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		p.T.Fatal(err)
	}
	return png
}
