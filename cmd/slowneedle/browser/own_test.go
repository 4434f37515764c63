package browser

import (
	"context"
	"encoding/json"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"
)

// longestTask does something and returns the processor time in milliseconds of the longest
// task of the page meanwhile; what others on the machine take is not in it.
func (p *tab) longestTask(do func()) (ms float64) {
	p.t.Helper()
	type span struct {
		Name     string  `json:"name"`
		Process  int     `json:"pid"`
		Thread   int     `json:"tid"`
		Duration float64 `json:"tdur"` // microseconds of processor time
	}
	spans, over := make(chan span, 1<<20), make(chan bool, 1)
	if err := chromedp.Listen(p.ctx, func(ev any) {
		switch e := ev.(type) {
		case *tracing.EventDataCollected:
			for _, v := range e.Value {
				var s span
				if json.Unmarshal(v, &s) == nil {
					offer(spans, s)
				}
			}
		case *tracing.EventTracingComplete:
			offer(over, true)
		}
	}); err != nil {
		p.t.Fatal(err)
	}
	kinds := []string{"devtools.timeline", "disabled-by-default-devtools.timeline"}
	p.do(call(tracing.Start, tracing.StartParams{TraceConfig: &tracing.TraceConfig{IncludedCategories: kinds, ExcludedCategories: []string{"*"}}}))
	do()
	p.do(call(tracing.End, cdp.Empty{}))
	select {
	case <-over:
	case <-time.After(patience):
		p.t.Fatal("the trace does not end")
	}
	type thread struct{ process, thread int }
	longest, frames := map[thread]float64{}, map[thread]int{}
	for len(spans) > 0 {
		s := <-spans
		at := thread{s.Process, s.Thread}
		switch s.Name {
		case "RunTask":
			longest[at] = max(longest[at], s.Duration/1000)
		case "FireAnimationFrame": // the thread of the page
			frames[at]++
		}
	}
	for at := range frames {
		ms = max(ms, longest[at])
	}
	if ms == 0 {
		p.t.Error("no task of the page was traced")
	}
	return ms
}

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
	t.Logf("while the help is opened the page's longest task takes %.0f ms of processor time", p.longestTask(func() { p.press(letter('h'), func() event { return p.screen("help") }) }))
	p.press(escape, func() event { return p.screen("home") })
	t.Logf("while a round of the whole desk is made, %.0f ms", p.longestTask(func() {
		p.press(enter, func() event { return p.screen("round") })
	}))
	e := p.press(enter, func() event { return p.event("begin") })
	if e.str("family") != "own" || e.str("drill") != "desk" {
		t.Errorf("a round of %s on %s, want desk on own", e.str("drill"), e.str("family"))
	}
	p.press(pageUp, func() event { return p.event("fader") })
	t.Logf("while it is judged, %.0f ms", p.longestTask(func() { p.press(enter, func() event { return p.screen("verdict") }) }))
	t.Logf("while its two loops are made, %.0f ms", p.longestTask(func() { p.press(letter('t'), func() event { return p.event("compare") }) }))
	p.press(escape, func() event { return p.screen("home") })
}
