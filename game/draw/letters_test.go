package draw

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/image/font"
)

// The font has every letter of the words of the interface, and those of Latin names;
// for what it has not a box stands, and Has tells.
func TestLettersOfTheFont(t *testing.T) {
	files, err := filepath.Glob("../../assets/words/*.json")
	if err != nil || len(files) < 2 {
		t.Fatalf("%v %v", files, err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range string(data) {
			if r >= ' ' && !Has(string(r)) {
				t.Errorf("%s: the font lacks %q", filepath.Base(f), r)
			}
		}
	}
	for text, want := range map[string]bool{"Zoë-Ünal O’Neill": true, "Żółć": true, "Ελένη": true, "Ольга": true, "桜": false, "سارة": false} {
		if Has(text) != want {
			t.Errorf("%q can be drawn: %v, want %v", text, !want, want)
		}
	}
}

// A text is as wide as the font library of the Go project measures it, kerning
// included.
func TestWidthOfText(t *testing.T) {
	c := &Canvas{M: Measure(1280, 800, 1, 1)}
	for _, text := range []string{"Set the take", "AVAT To. WAY", "−12.5 dB", "Übersteuerungsreserve", strings.Repeat("fi", 40)} {
		f := c.face(Style{Size: 20})
		want := float64(font.MeasureString(f.Face, text)) / 64
		if got := c.Width(text, Style{Size: 20}); got < want-0.01 || got > want+0.01 {
			t.Errorf("%q is %.2f pixels wide, want %.2f", text, got, want)
		}
	}
}

// Two texts beside each other get what they need; where that is too much, both shrink
// alike and neither reaches into the other.
func TestShare(t *testing.T) {
	c := &Canvas{M: Measure(1280, 800, 1, 1)}
	st := Style{Size: 15}
	const short, long = "round 1", "percussion, as it comes from the microphone"
	wantL, wantR := c.Width(short, st), c.Width(long, st)
	if l, r := c.Share(wantL+wantR+1, short, st, long, st); l != wantL || r != wantR {
		t.Errorf("with room for both: %v and %v, want %v and %v", l, r, wantL, wantR)
	}
	w := (wantL + wantR) / 2
	if l, r := c.Share(w, short, st, long, st); math.Abs(l+r-w) > 1e-9 || math.Abs(l/wantL-0.5) > 1e-9 || math.Abs(r/wantR-0.5) > 1e-9 {
		t.Errorf("in half of it: %v and %v, want halves of %v and %v", l, r, wantL, wantR)
	}
}
