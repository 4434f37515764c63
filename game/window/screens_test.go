package window

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"slowneedle/drills"
)

// TestScreens goes through the main screens in the smallest and the usual
// window, in both themes, with large text and in German: all buttons and words
// inside the window, no two over each other, and nothing drawn in the outermost
// pixels. With SLOWNEEDLE_EVERY_SCREEN=1 it goes through every screen and every
// drill at every size. It leaves a screenshot of each.
func TestScreens(t *testing.T) {
	looks := []look{
		{"960x600", "slate", 150, "en"}, {"1280x800", "paper", 100, "en"},
		{"960x600", "paper", 150, "de"}, {"1280x800", "slate", 100, "de"},
	}
	all := os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != ""
	if all {
		for _, size := range []string{"960x600", "1280x800", "1024x768", "1920x1080", "3840x2160"} {
			for _, theme := range []string{"slate", "paper"} {
				for _, text := range []int{100, 150} {
					if l := (look{size, theme, text, "en"}); !slices.Contains(looks, l) {
						looks = append(looks, l)
					}
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
			p := walk{size: l.size, end: name, short: l.size != "1280x800"}
			settings := fmt.Sprintf(`{"drill":%%q,"theme":%q,"text_percent":%d,"language":%q,"reduced_motion":true}`, l.theme, l.text, l.lang)
			if all {
				p.app = start(t, options{size: l.size, settings: fmt.Sprintf(settings, drills.LineUp)})
				p.everywhere(drills.LineUp)
			} else {
				p.app = start(t, options{size: l.size, settings: fmt.Sprintf(settings, drills.SetTake)})
				p.main()
			}
		})
	}
}

// look is one way a screen can look.
type look struct {
	size, theme string
	text        int
	lang        string
}

// main goes through the screens that everybody meets.
func (p walk) main() {
	p.look("cautions", p.screen("cautions"))
	p.to("Return", "home", "home")
	p.to("s", "settings", "settings")
	p.to("h", "help", "help")
	p.back("Escape", "settings")
	p.back("Escape", "home")
	p.to("p", "progress", "progress-empty")
	p.back("Escape", "home")
	p.drill(drills.SetTake)
	p.to("h", "help", "help-home")
}

// checkPlaces wants all buttons inside the window and apart from each other.
func checkPlaces(t testing.TB, screen string, e event, size string) {
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
func checkEdges(t testing.TB, path string) {
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
