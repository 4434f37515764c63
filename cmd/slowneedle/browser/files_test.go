package browser

import (
	"context"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"slowneedle/drills/class/handin"
)

// download does what makes the page give a file away, and returns the file as
// the browser has put it on the disk.
func (p *tab) download(what func()) (path string) {
	p.t.Helper()
	dir := p.t.TempDir()
	ctx, late := context.WithTimeout(p.ctx, patience)
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
		p.t.Fatal(err)
	}
	what()
	for range 2 {
		select {
		case name := <-names:
			path = filepath.Join(dir, name)
		case <-over:
		case <-ctx.Done():
			p.t.Fatalf("nothing was downloaded within %v", patience)
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
	p.t.Helper()
	for _, kind := range []input.DispatchDragEventType{input.DispatchDragEventTypeDragEnter, input.DispatchDragEventTypeDragOver, input.DispatchDragEventTypeDrop} {
		p.do(call(input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: 640, Y: 400,
			Data: &input.DragData{Items: []*input.DragDataItem{}, Files: []string{path}, DragOperationsMask: 1}}))
	}
}

// notice waits for a sentence that contains something.
func (p *tab) notice(part string) {
	p.t.Helper()
	p.next("a sentence with "+part, func(e event) bool { return e.is("notice") && strings.Contains(e.str("text"), part) })
}

// Files that are dropped on the page and that it gives away: a recording, a
// letter, the journal out and in again.
func playFiles(t *testing.T, s served, browser context.Context) {
	dir := t.TempDir()
	wav := filepath.Join(dir, "evening class.wav")
	if out, err := exec.Command("sox", "-n", "-r", "44100", "-c", "2", "-b", "24", wav, "synth", "20", "pluck", "C3", "tremolo", "2", "gain", "-9").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	note := filepath.Join(dir, "letter.txt")
	if err := os.WriteFile(note, []byte("this is a letter, not a recording"), 0o644); err != nil {
		t.Fatal(err)
	}
	p := open(t, browser, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.drop(note)
	p.notice("letter.txt")
	p.drop(wav)
	if e := p.event("own"); e.str("name") != filepath.Base(wav) {
		t.Errorf("the recording is called %q", e.str("name"))
	}
	p.press(enter, func() event { return p.screen("round") })
	begin := p.press(enter, func() event { return p.event("begin") })
	if begin.str("family") != "own" {
		t.Errorf("a round of %q, want own", begin.str("family"))
	}
	p.press(pageUp, func() event { return p.event("fader") })
	p.press(enter, func() event { return p.screen("verdict") })
	p.press(escape, func() event { return p.screen("home") })

	// The journal.
	p.press(letter('p'), func() event { return p.screen("progress") })
	lines := p.download(func() { p.press(letter('e'), func() event { return p.event("notice") }) })
	if filepath.Ext(lines) != ".jsonl" {
		t.Errorf("the journal is called %s", filepath.Base(lines))
	}
	p.drop(lines)
	p.notice("0 takes were added to your history; 1 was there already")
	p.press(escape, func() event { return p.screen("home") })

	// A class's page makes no sheets: its learners join.
	e := p.press(letter('c'), func() event { return p.screen("join") })
	if e.says("sheet") {
		t.Errorf("the learners' page offers a sheet: %v", e["texts"])
	}
}

// saveHandIn downloads the hand-in from the screen at the end of a series and
// checks it as a teacher does.
func (p *tab) saveHandIn() {
	p.t.Helper()
	file := p.download(func() { p.press(letter('d'), func() event { return p.screen("handin") }) })
	data, err := os.ReadFile(file)
	if err != nil {
		p.t.Fatal(err)
	}
	h, err := handin.Read(data)
	if err != nil || len(h.Takes) != 2 || h.Who != "Moonrake" {
		p.t.Fatalf("%s: %v %v", filepath.Base(file), h, err)
	}
	out, err := exec.Command(markbook, "check", "--json", file).Output()
	if err != nil || !json.Valid(out) || !strings.Contains(string(out), `"ok"`) {
		p.t.Errorf("markbook check of the saved hand-in: %v %s", err, out)
	}
}
