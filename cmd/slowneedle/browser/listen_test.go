package browser

import (
	"math"
	"net/url"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/chromedp"
)

// insecure is a name under which the browser finds this machine, and does not trust it as
// it trusts localhost.
const insecure = "class.lan"

// chooseInput chooses the line input in the settings, from the first screen.
func (p *tab) chooseInput() {
	p.T.Helper()
	x, y := p.To("s", "settings").Place(p.T, "set.input.more")
	p.Click(x, y, func() event {
		return p.Next("the browser's input", func(e event) bool { return e.Is("screen") && e.Says("chosen in the browser") })
	})
	p.Shot("web-listen-settings")
	p.To("Escape", "home")
}

// brokenBy waits until the screen that listens tells that it cannot, and why.
func (p *tab) brokenBy(reason string) {
	p.T.Helper()
	e := p.To("l", "listen")
	p.Listens("broken")
	if !e.Says(reason) { // the browser asked before it refused
		p.Next("the reason on the screen", func(e event) bool { return e.On("listen") && e.Says(reason) })
	}
}

// Where listening is refused, a sentence tells so. Then it is allowed, and the page listens
// at the browser's device, which a file feeds: a tone at -12 dBFS is 6 dB too hot where 0 VU
// is at -18.
func playListen(t *testing.T, s served) {
	p := first(t, s.Learners[0])
	permit := func(setting browser.PermissionSetting) {
		t.Helper()
		_, err := chromedp.CallBrowser(p.ctx, browser.SetPermission, browser.SetPermissionParams{
			Permission: &browser.PermissionDescriptor{Name: "microphone"}, Setting: setting,
			BrowserContextID: chromedp.FromContext(p.ctx).BrowserContextID,
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	permit(browser.PermissionSettingDenied)
	p.chooseInput()
	p.brokenBy("it was refused")
	p.Shot("web-listen-refused")
	p.axe("listening refused")
	permit(browser.PermissionSettingGranted)
	p.Press("Return", func() event { return p.Listens("own") })
	p.GoOn(14)
	p.Shot("web-listen")
	p.axe("own source")
	e := p.Press("Return", func() event {
		return p.Next("verdict", func(e event) bool { return e.Is("verdict") || e.Is("notice") })
	})
	v, ok := e["verdict"].(map[string]any)
	if !ok {
		t.Fatalf("no verdict but %v", e)
	}
	if off := v["error_db"].(float64); math.Abs(off-6) > 0.15 {
		t.Errorf("%s is %+.1f dB off, want +6: %v", inputTone, off, v["headline"])
	}
	p.Screen("verdict")
	p.Shot("web-listen-verdict")
	p.axe("verdict on an own source")
	file := p.download(func() { p.For("s", "notice") })
	if filepath.Ext(file) != ".wav" {
		t.Errorf("the sound was saved as %s", filepath.Base(file))
	}
	if out, err := exec.Command("sox", file, "-n", "stats").CombinedOutput(); err != nil || !strings.Contains(string(out), "Pk lev dB") {
		t.Errorf("what was saved: %v %s", err, out)
	}
}

// Over plain http, from another machine than this one, a browser lets no page listen (W3C,
// Secure Contexts): a sentence tells where it does. Everything else works. The browser has no
// room left for what the page stores either, neither settings nor takes: sentences tell that.
func playInsecure(t *testing.T, s served) {
	u, err := url.Parse(s.Learners[0])
	if err != nil {
		t.Fatal(err)
	}
	p := first(t, "http://"+insecure+":"+u.Port()+"/")
	if get(p, chromedp.Evaluate[bool]("isSecureContext")) {
		t.Fatalf("the browser trusts %s", insecure)
	}
	p.chooseInput()
	p.brokenBy("begins with https")
	p.Shot("web-listen-insecure")
	p.To("Escape", "home")
	p.run(`for (let n = 1 << 22, i = 0; n > 0;) try { localStorage.setItem("full" + i++, "x".repeat(n)) } catch { n >>= 1 }`)
	p.InRound()
	p.Louder(1)
	p.Lock()
	p.Notice("export your history, then delete it")
	p.Notice("settings cannot be saved")
}
