package browser

import (
	"fmt"
	"math"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
)

// listens waits until the screen that listens has come to a stage.
func (p *tab) listens(stage string) event {
	p.t.Helper()
	return p.from(&p.stages, "listening: "+stage, func(e event) bool { return e.is("listen") && e.str("stage") == stage })
}

// says reports whether a text that contains a part stands on a screen.
func (e event) says(part string) bool {
	list, _ := e["texts"].([]any)
	for _, item := range list {
		if row, _ := item.([]any); len(row) > 0 && strings.Contains(fmt.Sprint(row[0]), part) {
			return true
		}
	}
	return false
}

// chooseInput chooses the line input in the settings.
func (p *tab) chooseInput(shot string) {
	p.t.Helper()
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	x, y := p.press(letter('s'), func() event { return p.screen("settings") }).place(p.t, "set.input.more")
	e := p.tap(x, y, func() event { return p.screen("settings") })
	if !e.says("as the browser asks") {
		p.t.Fatalf("no input is chosen: %v", e["texts"])
	}
	p.shot(shot)
	p.press(escape, func() event { return p.screen("home") })
}

// What came back of a series is dropped on the page after its answer sheet: here the
// series itself, which nobody brought up.
func TestReturnOnThePage(t *testing.T) {
	wav := filepath.Join(t.TempDir(), "series.wav")
	if out, err := exec.Command(markbook, "render", "--seed", "5", "--rounds", "2", "--seconds", "6", "--gap", "2", "--family", "voice", "-o", wav).CombinedOutput(); err != nil {
		t.Fatalf("markbook: %v %s", err, out)
	}
	p := open(t, headless(t), serve(t).Learners[0]+"?probe=1&seed=21", 1280, 800)
	p.screen("cautions")
	p.press(enter, func() event { return p.screen("home") })
	p.drop(strings.TrimSuffix(wav, ".wav") + ".answers.json")
	p.notice("Now drop the recording that came back")
	p.drop(wav)
	if e := p.event("return"); e["rounds"] != 2.0 || e["kept"] != true {
		t.Errorf("the return: %v", e)
	}
	if e := p.screen("verdict"); !e.says("Real desk") || !e.says("round 1 of 2 that came back") {
		t.Errorf("the first verdict: %v", e["texts"])
	}
	p.press(enter, func() event { return p.screen("verdict") })
	p.press(enter, func() event { return p.screen("progress") })
	p.shot("web-return-progress")
}

// The page listens at the browser's device, which a file feeds: a tone at -12 dBFS is
// 6 dB too hot where 0 VU is at -18. Where listening is refused, a sentence tells so.
func TestListen(t *testing.T) {
	wav := filepath.Join(t.TempDir(), "tone.wav")
	if out, err := exec.Command("sox", "-n", "-r", "48000", "-c", "2", "-b", "16", wav, "synth", "60", "sine", "440", "vol", "0.251189").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	s := serve(t)
	b := headless(t, chromedp.Flag("use-fake-device-for-media-stream", true), chromedp.Flag("use-file-for-fake-audio-capture", wav))
	permit := func(p *tab, setting browser.PermissionSetting) {
		t.Helper()
		_, err := chromedp.CallBrowser(p.ctx, browser.SetPermission, browser.SetPermissionParams{
			Permission: &browser.PermissionDescriptor{Name: "microphone"}, Setting: setting,
			BrowserContextID: chromedp.FromContext(p.ctx).BrowserContextID,
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	p := open(t, b, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	permit(p, browser.PermissionSettingGranted)
	p.chooseInput("web-listen-settings")
	p.press(letter('l'), func() event { return p.screen("listen") })
	p.listens("own")
	for range 14 { // seconds
		p.event("pace")
	}
	p.shot("web-listen")
	e := p.press(enter, func() event {
		return p.next("verdict", func(e event) bool { return e.is("verdict") || e.is("notice") })
	})
	v, ok := e["verdict"].(map[string]any)
	if !ok {
		t.Fatalf("no verdict but %v", e)
	}
	if off := v["error_db"].(float64); math.Abs(off-6) > 0.15 {
		t.Errorf("a tone at -12 dBFS is %+.1f dB off, want +6: %v", off, v["headline"])
	}
	p.screen("verdict")
	p.shot("web-listen-verdict")
	file := p.download(func() {
		p.press(letter('s'), func() event { return p.event("notice") })
	})
	if filepath.Ext(file) != ".wav" {
		t.Errorf("the sound was saved as %s", filepath.Base(file))
	}
	if out, err := exec.Command("sox", file, "-n", "stats").CombinedOutput(); err != nil || !strings.Contains(string(out), "Pk lev dB") {
		t.Errorf("what was saved: %v %s", err, out)
	}

	q := open(t, b, s.Learners[0]+"?probe=1&seed=21", 1280, 800)
	permit(q, browser.PermissionSettingDenied)
	q.chooseInput("web-listen-settings-2")
	reason := func(e event) bool { return e.is("screen") && e.says("it was refused") }
	e = q.press(letter('l'), func() event { return q.screen("listen") })
	q.listens("broken")
	if !reason(e) { // the browser asked before it refused
		q.next("the reason on the screen", reason)
	}
	q.shot("web-listen-refused")
}
