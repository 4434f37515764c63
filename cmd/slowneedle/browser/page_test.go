package browser

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// patience is how long anything may take on a busy machine.
const patience = 60 * time.Second

// headless starts a browser that ends with the test.
func headless(t testing.TB, more ...chromedp.ExecAllocatorOption) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox,
		chromedp.Flag("use-gl", "angle"), chromedp.Flag("use-angle", "swiftshader"), chromedp.Flag("enable-unsafe-swiftshader", true),
		chromedp.Flag("mute-audio", true))
	options = append(options, more...)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(func() { end(); stop() })
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil { // starts it
		t.Fatal(err)
	}
	return ctx
}

// tab is a page with the trainer in it.
type tab struct {
	t   testing.TB
	ctx context.Context

	events []event
	read   int // of the page's own list
	seen   int // events used up by next
	idle   int // events used up by letGo
	stages int // events used up by listens
}

// open loads an address in a page of its own of w by h points, in a profile of
// its own, as another machine's. Errors that the page puts on its console fail
// the test.
func open(t testing.TB, browser context.Context, address string, w, h int64, more ...chromedp.EmulateViewportOption) *tab {
	t.Helper()
	ctx, end := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(end)
	p := &tab{t: t, ctx: ctx}
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil { // the page lives as long as this context
		t.Fatal(err)
	}
	p.do(chromedp.EmulateViewport(w, h, more...))
	go func() {
		for m, err := range chromedp.Console(ctx) {
			if err != nil {
				return
			}
			if m.IsException() || m.Type == "error" || m.Type == "assert" || strings.HasPrefix(m.Text, "panic") {
				t.Errorf("the page's console: %v: %s", m.Type, m.Text)
			}
		}
	}()
	p.do(chromedp.Navigate(address))
	return p
}

func (p *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, late := context.WithTimeout(p.ctx, patience)
	defer late()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.t.Fatal(err)
	}
}

func get[T any](p *tab, a chromedp.Action[T]) T {
	p.t.Helper()
	ctx, late := context.WithTimeout(p.ctx, patience)
	defer late()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		p.t.Fatal(err)
	}
	return v
}

// event is one line of what the trainer says it does.
type event map[string]any

func (e event) is(name string) bool   { return e["event"] == name }
func (e event) str(key string) string { s, _ := e[key].(string); return s }

// place returns the middle of a place on the screen.
func (e event) place(t testing.TB, id string) (x, y float64) {
	t.Helper()
	places, _ := e["places"].(map[string]any)
	r, ok := places[id].([]any)
	if !ok || len(r) != 4 {
		t.Fatalf("the screen %q has no place %q: %v", e.str("scene"), id, places)
	}
	n := func(i int) float64 { f, _ := r[i].(float64); return f }
	return n(0) + n(2)/2, n(1) + n(3)/2
}

// track returns where a slider runs.
func (e event) track(t testing.TB, id string) (x, top, bottom float64) {
	t.Helper()
	x, mid := e.place(t, id)
	r := e["places"].(map[string]any)[id].([]any)
	h, _ := r[3].(float64)
	return x, mid - h/2, mid + h/2
}

// next waits for an event that ok accepts, among those not yet used up.
func (p *tab) next(what string, ok func(event) bool) event {
	p.t.Helper()
	return p.from(&p.seen, what, ok)
}

// from waits for an event from an index on and moves the index past it.
func (p *tab) from(at *int, what string, ok func(event) bool) event {
	p.t.Helper()
	for deadline := time.Now().Add(patience); time.Now().Before(deadline); {
		p.poll()
		for *at < len(p.events) {
			e := p.events[*at]
			*at++
			if ok(e) {
				return e
			}
		}
		// A frame or so of the page, so that a busy machine draws meanwhile.
		get(p, chromedp.Evaluate[bool](`new Promise(done => setTimeout(() => done(true), 20))`, chromedp.EvalAwaitPromise))
	}
	p.shot("trouble")
	var all []string
	for _, e := range p.events {
		if !e.is("pace") {
			all = append(all, fmt.Sprint(e["event"], " ", e["scene"]))
		}
	}
	trouble := get(p, chromedp.Evaluate[string](`document.body.innerText`))
	p.t.Fatalf("no %s within %v; the page says %q; so far: %v", what, patience, trouble, all)
	return nil
}

// poll reads what the trainer has said since.
func (p *tab) poll() {
	p.t.Helper()
	text := get(p, chromedp.Evaluate[string](fmt.Sprintf(`JSON.stringify((globalThis.slowneedleEvents ?? []).slice(%d))`, p.read)))
	var fresh []event
	if err := json.Unmarshal([]byte(text), &fresh); err != nil {
		p.t.Fatal(err)
	}
	p.read += len(fresh)
	p.events = append(p.events, fresh...)
}

// reload loads the page again, as one that was closed and opened again.
func (p *tab) reload() {
	p.t.Helper()
	p.poll()
	p.do(chromedp.Reload())
	p.read, p.seen, p.idle = 0, len(p.events), len(p.events)
}

func (p *tab) event(name string) event {
	p.t.Helper()
	return p.next(name, func(e event) bool { return e.is(name) })
}

// screen waits until a screen stands.
func (p *tab) screen(name string) event {
	p.t.Helper()
	return p.next("screen "+name, func(e event) bool { return e.is("screen") && e.str("scene") == name })
}

// key is a key of the keyboard: its place, and what it writes.
type key struct {
	code, key string
	number    int64
}

var (
	enter  = key{"Enter", "Enter", 13}
	escape = key{"Escape", "Escape", 27}
	down   = key{"ArrowDown", "ArrowDown", 40}
	rubOut = key{"Backspace", "Backspace", 8}
	pageUp = key{"PageUp", "PageUp", 33}
)

// letter is the key that writes a letter, a figure or a space.
func letter(r rune) key {
	up := strings.ToUpper(string(r))
	switch {
	case r >= '0' && r <= '9':
		return key{"Digit" + up, string(r), int64(up[0])}
	case r == ' ':
		return key{"Space", " ", 32}
	}
	return key{"Key" + up, string(r), int64(up[0])}
}

// press holds a key down until what it does has happened.
func (p *tab) press(k key, until func() event) event {
	p.t.Helper()
	p.keyEvent(input.DispatchKeyEventTypeKeyDown, k)
	e := until()
	p.idle = p.seen
	p.keyEvent(input.DispatchKeyEventTypeKeyUp, k)
	p.letGo()
	return e
}

// letGo waits until the trainer has seen that nothing is held any more: a press
// that follows within one of its frames would look like the same one.
func (p *tab) letGo() {
	p.t.Helper()
	p.from(&p.idle, "rest of the hands", func(e event) bool { return e.is("idle") })
}

func (p *tab) keyEvent(kind input.DispatchKeyEventType, k key) {
	p.t.Helper()
	params := input.DispatchKeyEventParams{Type: kind, Code: k.code, Key: k.key, WindowsVirtualKeyCode: k.number}
	if kind == input.DispatchKeyEventTypeKeyDown && len([]rune(k.key)) == 1 {
		params.Text = k.key // what it writes
	}
	p.do(call(input.DispatchKeyEvent, params))
}

// typeIn types text into the field that has the keyboard and waits until it
// stands there as want.
func (p *tab) typeIn(text, want string) event {
	p.t.Helper()
	for _, r := range text {
		p.keyEvent(input.DispatchKeyEventTypeKeyDown, letter(r))
		p.keyEvent(input.DispatchKeyEventTypeKeyUp, letter(r))
	}
	return p.next("text "+want, func(e event) bool { return e.is("typed") && e.str("text") == want })
}

// call makes a step of a command of the browser's protocol.
func call[P, R any](cmd cdp.Command[P, R], params P) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, t, cmd, params)
		return v, err
	}
}

// tap touches a place with a finger until what it does has happened.
func (p *tab) tap(x, y float64, until func() event) event {
	p.t.Helper()
	p.do(call(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchStart,
		TouchPoints: []*input.TouchPoint{{X: x, Y: y}}}))
	e := until()
	p.idle = p.seen
	p.do(call(input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: input.DispatchTouchEventTypeTouchEnd, TouchPoints: []*input.TouchPoint{}}))
	p.letGo()
	return e
}

// setFader puts the fader of a round that is being played at a share of its
// throw from the top, with the mouse.
func (p *tab) setFader(round event, share float64) {
	p.t.Helper()
	x, top, bottom := round.track(p.t, "slider.0.track")
	y := top + (bottom-top)*share
	mouse := func(kind input.DispatchMouseEventType) {
		p.do(call(input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, ClickCount: 1}))
	}
	mouse(input.DispatchMouseEventTypeMousePressed)
	p.event("fader")
	p.idle = p.seen
	mouse(input.DispatchMouseEventTypeMouseReleased)
	p.letGo()
}

// touch taps a place of a screen.
func (p *tab) touch(screen event, id string, until func() event) event {
	p.t.Helper()
	x, y := screen.place(p.t, id)
	return p.tap(x, y, until)
}

// shot leaves a picture of the page to be looked at.
func (p *tab) shot(name string) {
	p.t.Helper()
	png := get(p, func(ctx context.Context, t *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, t, page.CaptureScreenshot, page.CaptureScreenshotParams{})
		return []byte(r.Data), err
	})
	dir := filepath.Join("..", "..", "..", "shots")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		p.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		p.t.Fatal(err)
	}
}
