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

// The teacher's board in a browser: who is where, aliases only when asked for,
// the mark book behind it. Pictures at the size of a projector and of a phone.
func TestBoardInABrowser(t *testing.T) {
	s, web := open(t, Options{Title: demo.Title})
	class := demo.Class(7, 18)
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
			ask(t, "POST", web.URL+"/api/handin", string(data)).want(t, "hand-in", 201, "")
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
		ask(t, "POST", web.URL+"/api/progress", progressJSON(s.Code(), h.ID, who, i%4+1, strings.Join(takes, ","))).want(t, "progress", 204, "")
	}
	ctx := browser(t)
	run(t, ctx, scheme("dark"))
	run(t, ctx, chromedp.EmulateViewport(1280, 800))
	run(t, ctx, chromedp.Navigate(web.URL+"/teacher?key="+s.Key()))
	run(t, ctx, chromedp.WaitVisible(chromedp.CSS("#learners li:nth-child(18)")))
	lead := run(t, ctx, chromedp.Text(chromedp.CSS("#lead")))
	before := run(t, ctx, chromedp.Text(chromedp.CSS("#learners")))
	shot(t, ctx, "board-projector.png")
	run(t, ctx, chromedp.Click(chromedp.CSS("#names")))
	run(t, ctx, chromedp.Poll[bool](`document.querySelector("#learners").textContent.includes("onerror")`))
	after := run(t, ctx, chromedp.Text(chromedp.CSS("#learners")))
	images := run(t, ctx, chromedp.Evaluate[int](`document.images.length`))
	run(t, ctx, scheme("light"))
	shot(t, ctx, "board-aliases.png")
	run(t, ctx, chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile))
	shot(t, ctx, "board-phone.png")
	run(t, ctx, chromedp.EmulateViewport(1280, 800))
	run(t, ctx, chromedp.Navigate(web.URL+"/teacher/report"))
	run(t, ctx, chromedp.WaitVisible(chromedp.CSS("h1")))
	reportTitle := run(t, ctx, chromedp.Title())
	slips := run(t, ctx, chromedp.Evaluate[int](`document.querySelectorAll(".slip").length`))
	shot(t, ctx, "mark-book.png")
	if !strings.Contains(lead, "18 learners: 12 playing, 6 handed in") {
		t.Errorf("lead %q", lead)
	}
	if strings.Contains(before, class[0].Who) || !strings.Contains(before, "Learner 18") {
		t.Errorf("before aliases were asked for: %q", before)
	}
	if !strings.Contains(after, class[0].Who) || !strings.Contains(after, "<img src=x onerror=alert(1)>") || images != 0 {
		t.Errorf("with aliases: %q, %d images", after, images)
	}
	if reportTitle != demo.Title || slips != 6 {
		t.Errorf("mark book %q with %d slips", reportTitle, slips)
	}
}
