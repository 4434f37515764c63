package window

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/ladder"
)

// What a hand-held screen must keep to, in points. WCAG 2.2 asks that what is
// touched be at least 24 high (SC 2.5.8), 44 at its strictest (SC 2.5.5); the
// size of letters is common practice.
const (
	leastFinger = 40.0
	leastText   = 10.9
)

// TestPhones goes through every screen at the sizes of phones: all in the window
// and apart, nothing too small for a finger or an eye. The smallest phone is
// tried always, both ways up, with half of the drills; with
// SLOWNEEDLE_EVERY_SCREEN=1 all drills at all sizes, a tablet's among them.
func TestPhones(t *testing.T) {
	sizes, first := []string{"360x740", "740x360"}, drills.WholeDesk
	if os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != "" {
		sizes, first = append(sizes, "390x844", "844x390", "768x1024"), drills.LineUp
	}
	for _, size := range sizes {
		t.Run(size, func(t *testing.T) {
			t.Parallel()
			a := start(t, options{size: size, settings: fmt.Sprintf(`{"drill":%q,"reduced_motion":true}`, first)})
			walk{app: a, size: size, pre: "phone-", end: size, fingers: true}.everywhere(first)
		})
	}
}

// TestPhoneHardest plays the hardest round of every drill in German on a small
// phone: more channels, two faders, needles to choose from, longer words.
func TestPhoneHardest(t *testing.T) {
	if os.Getenv("SLOWNEEDLE_EVERY_SCREEN") == "" {
		return
	}
	for _, size := range []string{"360x740", "740x360"} {
		for _, d := range drills.Drills() {
			t.Run(d.ID+"-"+size, func(t *testing.T) {
				t.Parallel()
				a := start(t, options{size: size, args: []string{"--code", hardest(t, d.ID)}, settings: `{"caution_seen":true,"language":"de","reduced_motion":true}`})
				p := walk{app: a, size: size, pre: "phone-german-", end: size, fingers: true}
				p.look("join-"+d.ID, p.screen("join"))
				p.named()
				p.look("card-"+d.ID, p.back("Return", "round"))
				p.play(d.ID)
				if d.ID != drills.Ride { // it runs its length
					p.lock(d.ID)
					p.to("Return", "verdict", "verdict-"+d.ID)
				}
			})
		}
	}
}

// hardest is the class code of a round of a drill with the most faders and
// needles of those with a few seeds.
func hardest(t *testing.T, drill string) (code string) {
	t.Helper()
	most := -1
	for seed := range uint32(12) {
		n := sheet.New(seed)
		n.Drill, n.Rounds, n.Level = drill, 1, ladder.Top
		e, err := n.Exercise(0)
		if err != nil {
			t.Fatal(err)
		}
		if has := len(e.Channels) + e.View.Needles; has > most {
			most = has
			if code, err = n.Code(); err != nil {
				t.Fatal(err)
			}
		}
	}
	return code
}

// checkHands wants what can be touched as high as a finger needs, and what is
// written large enough to be read.
func checkHands(t testing.TB, screen string, e event) {
	t.Helper()
	number := func(v any, i int) float64 {
		list, _ := v.([]any)
		f, _ := list[i].(float64)
		return f
	}
	places, _ := e["places"].(map[string]any)
	for id, v := range places {
		if high := number(v, 3); high < leastFinger && !strings.HasSuffix(id, ".knob") && !strings.HasSuffix(id, ".track") {
			t.Errorf("%s: %s is %.1f points high, too little for a finger", screen, id, high)
		}
	}
	texts, _ := e["texts"].([]any)
	for _, v := range texts {
		if size := number(v, 5); size < leastText {
			t.Errorf("%s: %q is written %.1f points high, too small to be read", screen, v.([]any)[0], size)
		}
	}
}
