package draw

import (
	"fmt"
	"strings"
	"testing"
)

// A figure and its unit do not part at the end of a line.
func TestFields(t *testing.T) {
	for text, want := range map[string]string{
		"unter −4 dBFS: Ihre":                "unter|−4 dBFS:|Ihre",
		"300 ms to rise, 1 to 1.5 % beyond,": "300 ms|to|rise,|1|to|1.5 %|beyond,",
		"of 8 hours (−26,0 VU), s":           "of|8|hours|(−26,0 VU),|s",
		"dB":                                 "dB",
	} {
		if got := strings.Join(fields(text), "|"); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// Lines are no wider than they may be; a dot that parts two things in a line does not end
// one; a last word has company where the lines above can spare it; and what has no room is
// cut off, down to nothing.
func TestLines(t *testing.T) {
	c, st := &Canvas{M: Measure(1280, 800, 1, 1)}, Style{Size: 20}
	const text = "Set the take · percussion, as it comes from the microphone, and a word"
	for w := 60.0; w < 800; w += 20 {
		b := c.Block(text, w, st)
		for _, l := range b.Lines {
			if got := c.Width(l, st); got > w {
				t.Errorf("in %.0f: %q is %.1f wide", w, l, got)
			}
			if strings.HasSuffix(l, "·") {
				t.Errorf("in %.0f a line ends in a dot: %q", w, b.Lines)
			}
		}
		if plain := c.Wrap(text, w, st); len(b.Lines) != len(plain) {
			t.Errorf("in %.0f: %d lines, %d would do", w, len(b.Lines), len(plain))
		}
		if cut := c.Clip(w, text, st); c.Width(cut, st) > w || w < c.Width(text, st) && !strings.HasSuffix(cut, "…") {
			t.Errorf("in %.0f: cut to %q", w, cut)
		}
	}
	w := c.Width("one two three four five six", st) - 1
	if got := c.Block("one two three four five six", w, st).Lines; len(got) != 2 || !strings.Contains(got[1], " ") {
		t.Errorf("a word stands alone: %q", got)
	}
	if got := c.Clip(5, text, st); got != "" {
		t.Errorf("in no room: %q", got)
	}
	if got := c.Clip(800, text, st); got != text {
		t.Errorf("with room: %q", got)
	}
}

// Of parts that have no room those go first that are to, the others stand in their order
// from the top, and what is to spare goes where it may, up to a limit.
func TestStack(t *testing.T) {
	stand := func(h, most float64) string {
		var all []string
		part := func(name string, high, above float64, loose bool, drop int) Part {
			return Part{high, above, loose, drop, func(r Rect) { all = append(all, fmt.Sprintf("%s %g+%g", name, r.Y, r.H)) }}
		}
		Stack(R(0, 100, 50, h), most, []Part{
			part("title", 40, 0, false, 1), part("about", 30, 5, false, 3), part("button", 20, 10, true, 0), part("last", 50, 15, true, 2),
		})
		return strings.Join(all, ", ")
	}
	for _, c := range []struct {
		h, most float64
		want    string
	}{
		{170, 99, "title 100+40, about 145+30, button 185+20, last 220+50"},
		{190, 99, "title 100+40, about 145+30, button 195+20, last 240+50"},
		{300, 30, "title 100+40, about 145+30, button 215+20, last 280+50"},
		{169, 0, "title 100+40, button 150+20, last 185+50"},
		{100, 0, "title 100+40, button 150+20"},
		{30, 0, "button 110+20"},
		{10, 0, "button 110+20"},
	} {
		if got := stand(c.h, c.most); got != c.want {
			t.Errorf("in %g with up to %g to spare: %s, want %s", c.h, c.most, got, c.want)
		}
	}
}
