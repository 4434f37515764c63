package window

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// TestScreens goes through every screen at every size, in both themes and with
// large text, writes a screenshot of each, and wants every button inside the
// window, no two over each other, and nothing drawn in the outermost pixels.
// A few ways are tried always, all of them with SLOWNEEDLE_EVERY_SCREEN=1.
func TestScreens(t *testing.T) {
	looks := []look{
		{"960x600", "slate", 150, "en"}, {"1280x800", "paper", 100, "en"},
		{"960x600", "paper", 150, "de"}, {"1280x800", "slate", 100, "de"},
	}
	if os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != "" {
		looks = nil
		for _, size := range []string{"960x600", "1280x800", "1024x768", "1920x1080", "3840x2160"} {
			for _, theme := range []string{"slate", "paper"} {
				for _, lang := range []string{"en", "de"} {
					looks = append(looks, look{size, theme, 100, lang}, look{size, theme, 150, lang})
				}
			}
		}
	}
	for _, l := range looks {
		name := fmt.Sprintf("%s-%s-%d", l.size, l.theme, l.text)
		if l.lang != "en" {
			name += "-" + l.lang
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			settings := fmt.Sprintf(`{"drill":"take","theme":%q,"text_percent":%d,"language":%q}`, l.theme, l.text, l.lang)
			everyScreen(t, start(t, options{size: l.size, settings: settings}), name)
		})
	}
}

// look is one way a screen can look.
type look struct {
	size, theme string
	text        int
	lang        string
}

func everyScreen(t *testing.T, a *app, name string) {
	look := func(screen string, e event) {
		t.Helper()
		checkPlaces(t, screen, e, name)
		checkWriting(t, screen, e, name)
		checkEdges(t, a.shot(screen+"-"+name))
	}
	look("cautions", a.screen("cautions"))
	look("home", a.press("Return", func() event { return a.screen("home") }))
	look("settings", a.press("s", func() event { return a.screen("settings") }))
	look("help", a.press("h", func() event { return a.screen("help") }))
	a.press("Escape", func() event { return a.screen("settings") })
	a.press("Escape", func() event { return a.screen("home") })
	look("progress", a.press("p", func() event { return a.screen("progress") }))
	a.press("Escape", func() event { return a.screen("home") })
	look("card", a.press("Return", func() event { return a.screen("round") }))
	round := a.press("Return", func() event {
		a.next("sound", func(e event) bool { return e.is("begin") })
		return a.screen("round")
	})
	for range 10 {
		a.press("Prior", func() event { return a.next("fader move", isFader) })
	}
	look("round", round)
	look("verdict", a.press("Return", func() event { return a.screen("verdict") }))
	look("help-verdict", a.press("h", func() event { return a.screen("help") }))
}

// checkPlaces wants all buttons inside the window and apart from each other.
func checkPlaces(t *testing.T, screen string, e event, size string) {
	t.Helper()
	var w, h int
	if _, err := fmt.Sscanf(size, "%dx%d", &w, &h); err != nil {
		t.Fatal(err)
	}
	places, _ := e["places"].(map[string]any)
	type box struct {
		id         string
		x, y, r, b float64
	}
	var all []box
	for id, v := range places {
		p, _ := v.([]any)
		n := func(i int) float64 { f, _ := p[i].(float64); return f }
		if strings.HasSuffix(id, ".track") || strings.HasSuffix(id, ".knob") {
			continue
		}
		b := box{id, n(0), n(1), n(0) + n(2), n(1) + n(3)}
		if b.x < 0 || b.y < 0 || b.r > float64(w)+0.5 || b.b > float64(h)+0.5 {
			t.Errorf("%s: %s reaches out of the window: %+v", screen, id, b)
		}
		for _, o := range all {
			if over := math.Min(b.r, o.r) - math.Max(b.x, o.x); over > 1 {
				if down := math.Min(b.b, o.b) - math.Max(b.y, o.y); down > 1 {
					t.Errorf("%s: %s and %s lie over each other by %.0f by %.0f", screen, b.id, o.id, over, down)
				}
			}
		}
		all = append(all, b)
	}
}

// checkEdges wants the outermost pixels of a screenshot to be bare ground.
func checkEdges(t *testing.T, path string) {
	t.Helper()
	img := readPicture(t, path)
	b := img.Bounds()
	want := img.At(0, 0)
	for x := range b.Dx() {
		if img.At(x, 0) != want || img.At(x, b.Dy()-1) != want {
			t.Errorf("%s: something is drawn at the upper or lower edge, column %d", path, x)
			return
		}
	}
	for y := range b.Dy() {
		if img.At(0, y) != want || img.At(b.Dx()-1, y) != want {
			t.Errorf("%s: something is drawn at the left or right edge, line %d", path, y)
			return
		}
	}
}
