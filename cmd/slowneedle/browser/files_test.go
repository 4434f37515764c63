package browser

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/tracing"
	"github.com/chromedp/chromedp"

	"slowneedle/drills/class/handin"
	"slowneedle/game/window/drive"
)

// download does what makes the page give a file away, and returns the file as
// the browser has put it on the disk.
func (p *tab) download(what func()) (path string) {
	p.T.Helper()
	dir := p.T.TempDir()
	ctx, late := context.WithTimeout(p.ctx, drive.Patience)
	defer late()
	names, over := make(chan string, 1), make(chan struct{}, 1)
	err := chromedp.ListenBrowser(ctx, func(ev any) {
		switch ev := ev.(type) {
		case *browser.EventDownloadWillBegin:
			offer(names, ev.SuggestedFilename)
		case *browser.EventDownloadProgress:
			if ev.State == browser.DownloadProgressStateCompleted {
				offer(over, struct{}{})
			}
		}
	})
	if err == nil {
		yes := true
		_, err = chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
			Behavior: browser.SetDownloadBehaviorBehaviorAllow, DownloadPath: dir, EventsEnabled: &yes,
			BrowserContextID: chromedp.FromContext(p.ctx).BrowserContextID,
		})
	}
	if err != nil {
		p.T.Fatal(err)
	}
	what()
	for range 2 {
		select {
		case name := <-names:
			path = filepath.Join(dir, name)
		case <-over:
		case <-ctx.Done():
			p.T.Fatalf("nothing was downloaded within %v", drive.Patience)
		}
	}
	return path
}

// offer sends where there is room: the browser waits for nobody.
func offer[T any](to chan T, v T) {
	select {
	case to <- v:
	default:
	}
}

// drop drags a file from the disk to the middle of the page and lets it go
// there.
func (p *tab) drop(path string) {
	p.T.Helper()
	for _, kind := range []input.DispatchDragEventType{input.DispatchDragEventTypeDragEnter, input.DispatchDragEventTypeDragOver, input.DispatchDragEventTypeDrop} {
		p.do(call(input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: 640, Y: 400,
			Data: &input.DragData{Items: []*input.DragDataItem{}, Files: []string{path}, DragOperationsMask: 1}}))
	}
}

// longestTask does something and returns the processor time in milliseconds of the longest
// task of the page meanwhile; what others on the machine take is not in it.
func (p *tab) longestTask(do func()) (ms float64) {
	p.T.Helper()
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
		p.T.Fatal(err)
	}
	kinds := []string{"devtools.timeline", "disabled-by-default-devtools.timeline"}
	p.do(call(tracing.Start, tracing.StartParams{TraceConfig: &tracing.TraceConfig{IncludedCategories: kinds, ExcludedCategories: []string{"*"}}}))
	do()
	p.do(call(tracing.End, cdp.Empty{}))
	select {
	case <-over:
	case <-time.After(drive.Patience):
		p.T.Fatal("the trace does not end")
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
		p.T.Error("no task of the page was traced")
	}
	return ms
}

// Files: recordings of the learner's own, chosen by the browser's file chooser, WAV and FLAC,
// of which a round of the whole desk is made; what is dropped on the page and what it gives
// away: a recording, a letter, the journal out and in again; and what came back of a series
// after its answer sheet, here the series itself, which nobody brought up.
func playFiles(t *testing.T, s served) {
	dir := t.TempDir()
	sox := func(name string, effects ...string) string {
		t.Helper()
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", append([]string{"-R", "-n", "-r", "44100", "-c", "2", "-b", "24", path, "synth"}, effects...)...).CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		return path
	}
	p := first(t, s.Learners[0])
	for range 5 { // through the families
		p.To("f", "home")
	}
	p.To("f", "recordings")
	p.Shot("browser-recordings-none")
	p.axe("no recordings")
	chosen := make(chan *page.EventFileChooserOpened, 1)
	if err := chromedp.Listen(p.ctx, func(ev any) {
		if e, ok := ev.(*page.EventFileChooserOpened); ok {
			offer(chosen, e)
		}
	}); err != nil {
		t.Fatal(err)
	}
	p.do(call(page.SetInterceptFileChooserDialog, page.SetInterceptFileChooserDialogParams{Enabled: true}))
	files := []string{sox("choir.wav", "40", "pinknoise", "tremolo", "3", "80"), sox("drums.flac", "40", "pinknoise", "tremolo", "3", "80")}
	p.run(`(make => document.createElement = kind => globalThis.made = make(kind))(document.createElement.bind(document))`)
	p.Press("a", func() event {
		e := <-chosen
		accepted := strings.Split(get(p, chromedp.Evaluate[string]("made.accept")), ",")
		for _, kind := range []string{".wav", ".flac", ".jsonl", ".csv", ".json"} { // all that can be dropped
			if !slices.Contains(accepted, kind) {
				t.Errorf("files to choose from: %q without %s", accepted, kind)
			}
		}
		p.do(call(dom.SetFileInputFiles, dom.SetFileInputFilesParams{Files: files, BackendNodeID: e.BackendNodeID}))
		return p.Next("the recordings", func(e event) bool { return e.Is("own") && e.Str("name") == "drums.flac" })
	})
	p.Shot("browser-recordings")
	p.axe("recordings")
	p.To("Escape", "home")
	for range 7 { // through the drills
		p.To("d", "home")
	}
	t.Logf("while the help is opened the page's longest task takes %.0f ms of processor time", p.longestTask(func() { p.To("h", "help") }))
	p.To("Escape", "home")
	t.Logf("while a round of the whole desk is made, %.0f ms", p.longestTask(func() { p.To("Return", "round") }))
	if e, _ := p.Begin(); e.Str("family") != "own" || e.Str("drill") != "desk" {
		t.Errorf("a round of %s on %s, want desk on own", e.Str("drill"), e.Str("family"))
	}
	p.Louder(1)
	t.Logf("while it is judged, %.0f ms", p.longestTask(func() { p.Lock() }))
	t.Logf("while its two loops are made, %.0f ms", p.longestTask(func() { p.For("t", "compare") }))
	p.To("Escape", "home")

	// Dropped on the page.
	note := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(note, []byte("this is a letter, not a recording"), 0o644); err != nil {
		t.Fatal(err)
	}
	p.drop(note)
	p.Notice("letter.txt")
	wav := sox("evening class.wav", "20", "pluck", "C3", "tremolo", "2", "gain", "-9")
	p.drop(wav)
	if e := p.Event("own"); e.Str("name") != filepath.Base(wav) {
		t.Errorf("the recording is called %q", e.Str("name"))
	}
	if e, _ := p.InRound(); e.Str("family") != "own" {
		t.Errorf("a round of %q, want own", e.Str("family"))
	}
	p.Louder(1)
	p.Lock()
	p.To("Escape", "home")

	// The journal.
	p.To("p", "progress")
	lines := p.download(func() { p.For("e", "notice") })
	if filepath.Ext(lines) != ".jsonl" {
		t.Errorf("the journal is called %s", filepath.Base(lines))
	}
	p.drop(lines)
	p.Notice("0 takes were added to your history; 2 were there already")
	p.To("Escape", "home")

	// A class's page makes no sheets: its learners join.
	e := p.To("c", "join")
	if !e.Says("Evening class") { // it has asked the class server meanwhile
		e = p.Next("the class's title", func(e event) bool { return e.On("join") && e.Says("Evening class") })
	}
	if e.Says("sheet") {
		t.Errorf("the learners' page offers a sheet: %v", e.Texts())
	}
	p.To("Escape", "home")

	series := filepath.Join(dir, "series.wav")
	if out, err := exec.Command(markbook, "render", "--seed", "5", "--rounds", "2", "--seconds", "6", "--gap", "2", "--family", "voice", "-o", series).CombinedOutput(); err != nil {
		t.Fatalf("markbook: %v %s", err, out)
	}
	p.drop(strings.TrimSuffix(series, ".wav") + ".answers.json")
	p.Notice("Now drop the recording that came back")
	p.drop(series)
	if e := p.Event("return"); e["rounds"] != 2.0 || e["kept"] != true {
		t.Errorf("the return: %v", e)
	}
	if e := p.Screen("verdict"); !e.Says("Real desk") || !e.Says("round 1 of 2 that came back") {
		t.Errorf("the first verdict: %v", e["texts"])
	}
	p.To("Return", "verdict")
	p.To("Return", "progress")
	p.Shot("web-return-progress")
	p.axe("progress at a real desk")
}

// saveHandIn downloads the hand-in from the screen at the end of a series and
// checks it as a teacher does.
func (p *tab) saveHandIn() {
	p.T.Helper()
	file := p.download(func() { p.To("d", "handin") })
	data, err := os.ReadFile(file)
	if err != nil {
		p.T.Fatal(err)
	}
	h, err := handin.Read(data)
	if err != nil || len(h.Takes) != 2 || h.Who != "Moonrake" {
		p.T.Fatalf("%s: %v %v", filepath.Base(file), h, err)
	}
	out, err := exec.Command(markbook, "check", "--json", file).Output()
	if err != nil || !json.Valid(out) || !strings.Contains(string(out), `"ok"`) {
		p.T.Errorf("markbook check of the saved hand-in: %v %s", err, out)
	}
}
