package game

import (
	"strings"
	"testing"

	"slowneedle/game/draw"
	"slowneedle/game/page"
)

// Whoever hears a screen hears one heading, every control by a name of its own, what
// is written beside them, and the verdict as it comes.
func TestEveryScreenCanBeHeard(t *testing.T) {
	for _, p := range poses() {
		n := newNavigation(t)
		p.take(t, n)
		n.lookAt(t, window{1280, 800, 1, "en", 1})
		items := draw.Items(n.screen.M, &draw.Slate, n.scene().Draw)
		all := mirrored(items, n.screen.M)
		headings, controls, live := 0, map[string]string{}, ""
		for _, i := range all {
			switch {
			case i.Role == "heading":
				headings++
			case i.Role != "text":
				if i.Label == "" || len([]rune(i.Label)) == 1 && !strings.HasPrefix(i.Name, "letter.") && !strings.HasPrefix(i.Name, "channel.") && !strings.HasPrefix(i.Name, "choice.") && !strings.HasPrefix(i.Name, "slider.") {
					t.Errorf("%s: %s is called %q", p.name, i.Name, i.Label)
				}
				if other, ok := controls[i.Label]; ok && i.Role == "button" && other != i.Name && strings.HasSuffix(i.Name, ".less") {
					t.Errorf("%s: %s and %s are both called %q", p.name, other, i.Name, i.Label)
				}
				controls[i.Label] = i.Name
			}
			if i.Live {
				live += i.Label
			}
			if i.W <= 0 || i.H <= 0 || i.X < 0 || i.Y < 0 || i.X+i.W > 1.01 || i.Y+i.H > 1.01 {
				t.Errorf("%s: %q has no place on the page: %+v", p.name, i.Label, i)
			}
		}
		if headings != 1 {
			t.Errorf("%s has %d headings", p.name, headings)
		}
		if strings.Contains(p.name, "the verdict") && !strings.Contains(live, ".") {
			t.Errorf("%s: the verdict is not said: %q", p.name, live)
		}
		n.sound.Stop()
	}
}

// Lines of one paragraph are one text; what is written on a button is its label.
func TestMirrored(t *testing.T) {
	m := draw.Measure(1280, 800, 1, 1)
	all := mirrored(draw.Items(m, &draw.Slate, func(c *draw.Canvas) {
		c.List(draw.Item{Name: "key.enter", Role: draw.RoleButton, Label: "next", Place: draw.R(40, 700, 200, 40)})
		c.Text(60, 725, "next", draw.Style{Size: 15})
		c.Para(40, 100, 200, "a text that is so long that it does not stand in one line", draw.Style{Size: 20, Said: draw.Live})
		c.Text(40, 40, "Title", draw.Style{Size: 30, Said: draw.Heading})
	}), m)
	want := []page.Item{{Role: "heading", Label: "Title"}, {Role: "text", Label: "a text that is so long that it does not stand in one line", Live: true}, {Role: "button", Name: "key.enter", Label: "next"}}
	if len(all) != len(want) {
		t.Fatalf("%+v", all)
	}
	for i, w := range want {
		if g := all[i]; g.Role != w.Role || g.Label != w.Label || g.Name != w.Name || g.Live != w.Live {
			t.Errorf("%d is %+v, want %+v", i, g, w)
		}
	}
}
