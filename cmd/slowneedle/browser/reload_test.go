package browser

import (
	"context"
	"testing"

	"github.com/chromedp/chromedp"

	"slowneedle/game/window/drive"
)

// The keys of the browser itself, pressed on a keyboard before a browser with a window: Ctrl
// and plus make the page larger, Ctrl and 0 as large as it was, F5 loads it again. The round
// that was played is kept, the practice goes on.
func TestBrowserKeys(t *testing.T) {
	t.Parallel()
	display := drive.Display(t, "1024x768")
	ctx, stop, err := browse(chromedp.Flag("headless", false), chromedp.Env("DISPLAY="+display), chromedp.WindowSize(1024, 768))
	t.Cleanup(stop)
	if err != nil {
		t.Fatal(err)
	}
	p := tabIn(t, ctx, 0, 0)
	p.do(chromedp.Navigate(serve(t).Learners[0] + "?probe=1&seed=21"))
	keyboard := drive.NewXdotool(t, display)
	press := func(k string) { keyboard.Do("key", k) }
	p.Screen("cautions")
	p.To("Return", "home")
	p.InRound()
	p.Louder(1)
	p.Lock()

	dots := func(want string) {
		t.Helper()
		get(p, chromedp.Poll[bool]("devicePixelRatio "+want))
	}
	press("ctrl+plus")
	dots("> 1")
	press("ctrl+0")
	dots("=== 1")
	p.Poll()
	p.run("globalThis.before = true")
	press("F5")
	late, end := context.WithTimeout(p.ctx, drive.Patience)
	defer end()
	for fresh := false; !fresh; { // while it is loaded there is no page to be asked
		if late.Err() != nil {
			t.Fatal("F5 does not load the page again")
		}
		fresh, _ = chromedp.Run(late, chromedp.Evaluate[bool]("globalThis.before === undefined && (globalThis.slowneedleEvents?.length ?? 0) > 0"))
	}
	p.again()
	if e := p.Screen("home"); !e.Says("This practice so far: 0 of 1 rounds right.") {
		t.Errorf("after F5 the practice does not go on: %v", e.Texts())
	}
	p.Shot("web-after-f5")
	if e := p.To("Return", "round"); !e.Says("round 2 of 12") {
		t.Errorf("after F5 the next round is not the second: %v", e.Texts())
	}
}
