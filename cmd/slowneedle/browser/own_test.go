package browser

import (
	"context"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// longest has the page note its longest task, in milliseconds.
const longest = `(() => {
	globalThis.longest = 0
	new PerformanceObserver(list => { for (const e of list.getEntries()) longest = Math.max(longest, e.duration) })
		.observe({entryTypes: ["longtask"]})
	return 0
})()`

// A learner chooses recordings of their own, WAV and FLAC, by the browser's file chooser;
// a round of the whole desk is made of them, and nothing is sent anywhere.
func playOwn(t *testing.T, s served, browser context.Context) {
	dir := t.TempDir()
	var files []string
	for _, name := range []string{"choir.wav", "drums.flac"} {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", "-R", "-n", "-r", "44100", "-c", "2", "-b", "24", path, "synth", "40", "pinknoise", "tremolo", "3", "80").CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		files = append(files, path)
	}
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	for range 5 { // through the families
		p.press(letter('f'), func() event { return p.screen("home") })
	}
	p.press(letter('f'), func() event { return p.screen("recordings") })
	p.shot("browser-recordings-none")

	chosen := make(chan *page.EventFileChooserOpened, 1)
	if err := chromedp.Listen(p.ctx, func(ev any) {
		if e, ok := ev.(*page.EventFileChooserOpened); ok {
			offer(chosen, e)
		}
	}); err != nil {
		t.Fatal(err)
	}
	p.do(call(page.SetInterceptFileChooserDialog, page.SetInterceptFileChooserDialogParams{Enabled: true}))
	p.press(letter('a'), func() event {
		e := <-chosen
		p.do(call(dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: files, BackendNodeID: e.BackendNodeID}))
		return p.next("the recordings", func(e event) bool { return e.is("own") && e.str("name") == "drums.flac" })
	})
	p.shot("browser-recordings")
	p.press(escape, func() event { return p.screen("home") })
	for range 7 { // through the drills
		p.press(letter('d'), func() event { return p.screen("home") })
	}
	get(p, chromedp.Evaluate[int](longest))
	p.press(enter, func() event { return p.screen("round") })
	t.Logf("while a round of the whole desk was made the page's longest task took %.0f ms", get(p, chromedp.Evaluate[float64]("longest")))
	e := p.press(enter, func() event { return p.event("begin") })
	if e.str("family") != "own" || e.str("drill") != "desk" {
		t.Errorf("a round of %s on %s, want desk on own", e.str("drill"), e.str("family"))
	}
	p.press(escape, func() event { return p.screen("home") })
}
