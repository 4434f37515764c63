//go:build !js

package server

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"slowneedle/drills/class/demo"
)

// browser starts a headless browser that ends with the test.
func browser(t *testing.T) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.DisableGPU)
	alloc, stop := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, end := chromedp.NewContext(alloc)
	t.Cleanup(func() { end(); stop() })
	// The first action starts the browser, which then lives as long as ctx.
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil {
		t.Fatal(err)
	}
	ctx, late := context.WithTimeout(ctx, 60*time.Second)
	t.Cleanup(late)
	return ctx
}

// shot leaves a picture to be looked at.
func shot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	png := run(t, ctx, chromedp.FullScreenshot(100))
	dir := filepath.Join("..", "..", "..", "shots")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name), png, 0o644); err != nil {
		t.Fatal(err)
	}
}

func run[T any](t *testing.T, ctx context.Context, a chromedp.Action[T]) T {
	t.Helper()
	v, err := chromedp.Run(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func scheme(name string) chromedp.Action[chromedp.Void] {
	return func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
		_, err = cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}}})
		return v, err
	}
}

// axe checks the page that is shown for what keeps people out (WCAG 2.2, levels A
// and AA, and good practice, as axe-core has them).
func axe(t *testing.T, ctx context.Context, page string) {
	t.Helper()
	script, err := os.ReadFile(filepath.Join("..", "..", "..", "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatalf("%v; go run ./cmd/start test installs it", err)
	}
	run(t, ctx, chromedp.Evaluate[any](string(script)+";0"))
	found := run(t, ctx, chromedp.Evaluate[string](`axe.run().then(r => r.violations.map(v => v.id + ": " + v.help + "\n  " +
		v.nodes.slice(0, 3).map(n => n.html.slice(0, 160) + " " + (n.any[0] ? n.any[0].message : "")).join("\n  ")).join("\n"))`, awaited))
	if found != "" {
		t.Errorf("%s:\n%s", page, found)
	}
}

// awaited waits for the promise that an expression gives.
func awaited(p *runtime.EvaluateParams) { p.AwaitPromise = new(true) }

// fits reports whether nothing is wider than the window.
func fits(t *testing.T, ctx context.Context, page string) {
	t.Helper()
	if wide := run(t, ctx, chromedp.Evaluate[string](`[...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > innerWidth + 1 &&
		!e.closest(".scroll, .panel, #rounds, svg, .unseen")).slice(0, 3).map(e => e.outerHTML.slice(0, 120)).join("\n")`)); wide != "" {
		t.Errorf("%s: wider than the window:\n%s", page, wide)
	}
	if over := run(t, ctx, chromedp.Evaluate[int](`document.documentElement.scrollWidth - innerWidth`)); over > 0 {
		t.Errorf("%s: %d pixels wider than the window", page, over)
	}
}

// printed reports letters that are smaller than 7 points on a sheet of A4.
func printed(t *testing.T, ctx context.Context, page string) {
	t.Helper()
	media := func(name string) chromedp.Action[chromedp.Void] {
		return func(ctx context.Context, t *chromedp.Target) (v chromedp.Void, err error) {
			_, err = cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: name})
			return v, err
		}
	}
	run(t, ctx, chromedp.EmulateViewport(695, 1000)) // 184 mm, the width between the margins
	run(t, ctx, media("print"))
	if small := run(t, ctx, chromedp.Evaluate[string](`[...document.querySelectorAll("main *")].filter(e => {
		if (![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim()) || e.closest(".unseen, style")) return false;
		const svg = e.closest("svg"), scale = svg ? svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : 1;
		return parseFloat(getComputedStyle(e).fontSize) * scale * 0.75 < 6.99;
	}).slice(0, 5).map(e => e.outerHTML.slice(0, 120)).join("\n")`)); small != "" {
		t.Errorf("%s: smaller than 7 points in print:\n%s", page, small)
	}
	shot(t, ctx, page+"-print.png")
	run(t, ctx, media(""))
}

// The teacher's board in a browser, before anybody has joined and with a class
// at work, at the sizes of projectors and of a phone: what must be readable is,
// names are shown only when asked for, and it comes back after the server does.
func TestBoardInABrowser(t *testing.T) {
	s, web := open(t, Options{Title: demo.Title, Reach: "192.168.1.20:8410"})
	ctx := browser(t)
	number := func(js string) float64 { t.Helper(); return run(t, ctx, chromedp.Evaluate[float64](js)) }
	size := func(w, h int64) { run(t, ctx, chromedp.EmulateViewport(w, h)) }
	run(t, ctx, scheme("dark"))
	size(1280, 720)
	run(t, ctx, chromedp.Navigate(web.URL+"/teacher?key="+s.Key()))
	run(t, ctx, chromedp.WaitVisible(chromedp.CSS("#ready")))
	shot(t, ctx, "board-joining.png")
	for _, look := range []struct {
		w, h       int64
		code, seen float64 // height of the letters, width of the QR code
	}{{1280, 720, 50, 380}, {1920, 1080, 75, 590}, {390, 844, 18, 250}} {
		size(look.w, look.h)
		if px := number(`parseFloat(getComputedStyle(document.querySelector("#join .code")).fontSize)`); px < look.code {
			t.Errorf("%dx%d: the code is %.0f pixels high", look.w, look.h, px)
		}
		if px := number(`document.querySelector("#join svg").getBoundingClientRect().width`); px < look.seen {
			t.Errorf("%dx%d: the QR code is %.0f pixels wide", look.w, look.h, px)
		}
		if below := number(`document.querySelector("#join svg").getBoundingClientRect().bottom - innerHeight`); below > 0 && look.w > 1000 {
			t.Errorf("%dx%d: the QR code goes %.0f pixels below the window", look.w, look.h, below)
		}
		fits(t, ctx, "joining")
		shot(t, ctx, fmt.Sprintf("board-joining-%d.png", look.w))
	}
	axe(t, ctx, "joining")

	class := demo.Class(7, 24)
	for i, l := range class {
		h, err := seat().HandIn(l, 7, 0, "slowneedle test", evening)
		if err != nil {
			t.Fatal(err)
		}
		data, err := h.File()
		if err != nil {
			t.Fatal(err)
		}
		if i%3 == 0 {
			send(t, s, web.URL+"/api/handin", string(data)).want(t, "hand-in", 201, "")
			continue
		}
		var takes []string
		for _, take := range h.Takes[:i%4] {
			v := take.Verdict
			takes = append(takes, fmt.Sprintf(`{"error_db":%v,"in_window":%v,"points":%d}`, v.ErrorDB, v.InWindow, v.Points))
		}
		who := l.Who
		if i == 1 {
			who = "<img src=x onerror=alert(1)>"
		}
		send(t, s, web.URL+"/api/progress", progressJSON(s.Code(), h.ID, who, i%4+1, strings.Join(takes, ","))).want(t, "progress", 200, "")
	}
	size(1280, 720)
	run(t, ctx, chromedp.WaitVisible(chromedp.CSS("#learners li:nth-child(24)")))
	lead := run(t, ctx, chromedp.Text(chromedp.CSS("#lead")))
	before := run(t, ctx, chromedp.Text(chromedp.CSS("#learners")))
	if below := number(`document.querySelector("#learners li:last-child").getBoundingClientRect().bottom - innerHeight`); below > 0 {
		t.Errorf("24 learners go %.0f pixels below a window of 1280x720", below)
	}
	shot(t, ctx, "board-projector.png")
	axe(t, ctx, "board")
	size(1920, 1080)
	if px := number(`parseFloat(getComputedStyle(document.querySelector(".small .code")).fontSize)`); px < 28 {
		t.Errorf("at 1920x1080 the code above the class is %.0f pixels high", px)
	}
	run(t, ctx, chromedp.Click(chromedp.CSS("#names")))
	run(t, ctx, chromedp.Poll[bool](`document.querySelector("#learners").textContent.includes("onerror")`))
	after := run(t, ctx, chromedp.Text(chromedp.CSS("#learners")))
	images := run(t, ctx, chromedp.Evaluate[int](`document.images.length`))
	run(t, ctx, chromedp.Evaluate[any](`document.querySelector("details").open = true; document.querySelector("#managing").click(); 0`))
	run(t, ctx, chromedp.WaitVisible(chromedp.CSS("#learners select")))
	run(t, ctx, chromedp.Evaluate[any](`{ const pick = document.querySelector("#learners select"); pick.selectedIndex = 3; pick.onchange(); } 0`))
	run(t, ctx, chromedp.Poll[bool](`document.querySelector("#learners").textContent.includes("= ")`))
	fits(t, ctx, "board with two spellings merged")
	shot(t, ctx, "board-merge.png")
	axe(t, ctx, "board with two spellings merged")
	run(t, ctx, chromedp.Evaluate[any](`document.querySelector("#managing").click(); 0`))
	run(t, ctx, scheme("light"))
	do(t, s, web.URL, `{"do":"together","code":"`+s.Code()+`","on":true}`)
	run(t, ctx, chromedp.WaitVisible(chromedp.CSS("#release")))
	run(t, ctx, chromedp.Evaluate[any](`document.querySelector("details").open = true; 0`))
	shot(t, ctx, "board-together.png")
	axe(t, ctx, "board in light, together, with its tools")
	run(t, ctx, chromedp.Click(chromedp.CSS("#release")))
	run(t, ctx, chromedp.Poll[bool](`document.querySelector("#release").textContent.includes("3")`))
	size(390, 844)
	fits(t, ctx, "board on a phone")
	shot(t, ctx, "board-phone.png")
	axe(t, ctx, "board on a phone")

	if !strings.Contains(lead, "24 learners: 16 playing, 8 handed in") {
		t.Errorf("lead %q", lead)
	}
	if strings.Contains(before, class[0].Who) || !strings.Contains(before, "Learner 24") {
		t.Errorf("before names were asked for: %q", before)
	}
	if !strings.Contains(after, class[0].Who) || !strings.Contains(after, "<img src=x onerror=alert(1)>") || images != 0 {
		t.Errorf("with names: %q, %d images", after, images)
	}

	// What the server says in place of the board is shown, and the board comes
	// back with the server's answers.
	key := s.Key()
	setKey(t, s, "another")
	run(t, ctx, chromedp.Poll[bool](`document.querySelector("#link").textContent.includes("need the key")`))
	setKey(t, s, key)
	run(t, ctx, chromedp.Poll[bool](`document.querySelector("#link").textContent === "live"`))
}

// The mark book, a learner's result and the page that asks for the key, in both
// languages: nothing keeps people out, and nothing is wider than a phone.
func TestPagesInABrowser(t *testing.T) {
	s, web := open(t, Options{Title: demo.Title, Reach: "192.168.1.20:8410"})
	id := ""
	for i := range 8 {
		var data []byte
		data, id = file(t, i)
		send(t, s, web.URL+"/api/handin", string(data)).want(t, "hand-in", 201, "")
	}
	ctx := browser(t)
	run(t, ctx, chromedp.Navigate(web.URL+"/teacher"))
	axe(t, ctx, "key")
	run(t, ctx, chromedp.Navigate(web.URL+"/"))
	axe(t, ctx, "no app")
	run(t, ctx, chromedp.Navigate(web.URL+"/teacher?key="+s.Key()))
	for _, p := range []struct{ path, name string }{{"/teacher/report", "mark-book"}, {"/r/" + id[:12], "result"}, {"/teacher", "board"}} {
		for _, dark := range []string{"dark", "light"} {
			run(t, ctx, scheme(dark))
			run(t, ctx, chromedp.EmulateViewport(1280, 720))
			run(t, ctx, chromedp.Navigate(web.URL+p.path))
			run(t, ctx, chromedp.WaitVisible(chromedp.CSS("main")))
			shot(t, ctx, p.name+"-"+dark+".png")
			axe(t, ctx, p.name+" "+dark)
		}
		if p.name != "board" {
			printed(t, ctx, p.name)
		}
		run(t, ctx, chromedp.EmulateViewport(390, 844))
		fits(t, ctx, p.name+" on a phone")
		shot(t, ctx, p.name+"-phone.png")
		axe(t, ctx, p.name+" on a phone")
	}
}
