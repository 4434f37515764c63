package window

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/sheet"
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
	n := sheet.New(4711)
	n.Rounds, n.Time = 1, sheet.NoLimit
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	for _, size := range sizes {
		t.Run(size, func(t *testing.T) {
			t.Parallel()
			a := start(t, options{size: size, args: []string{"--code", code}, settings: fmt.Sprintf(`{"drill":%q,"less_motion":true}`, first)})
			p := phone{a, size, ""}
			p.around()
			begun := false
			for _, d := range drills.Drills() {
				if begun = begun || d.ID == first; begun {
					p.drill(d.ID)
					p.back("d", "home")
				}
			}
			p.room()
			p.class()
			p.to("p", "progress", "progress")
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
				a := start(t, options{size: size, args: []string{"--code", hardest(t, d.ID)}, settings: `{"caution_seen":true,"language":"de","less_motion":true}`})
				p := phone{a, size, "german-"}
				p.look("join-"+d.ID, p.screen("join"))
				p.named()
				p.look("card-"+d.ID, p.back("Return", "round"))
				p.play(d.ID)
				if d.ID != drills.Ride { // it runs its length
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
		if has := len(e.Strips) + e.View.Needles; has > most {
			most = has
			if code, err = n.Code(); err != nil {
				t.Fatal(err)
			}
		}
	}
	return code
}

// phone is a trainer in a window of a phone's size.
type phone struct {
	*app
	size, kind string
}

func (p phone) look(screen string, e event) event {
	p.t.Helper()
	checkPlaces(p.t, screen, e, p.size)
	checkWriting(p.t, screen, e, p.size)
	checkHands(p.t, screen, e)
	checkEdges(p.t, p.shot("phone-"+p.kind+screen+"-"+p.size))
	return e
}

// to presses a key and looks at the screen it leads to.
func (p phone) to(key, scene, name string) event {
	p.t.Helper()
	return p.look(name, p.back(key, scene))
}

// back presses a key that leads to a screen.
func (p phone) back(key, scene string) event {
	p.t.Helper()
	return p.press(key, func() event { return p.screen(scene) })
}

// around goes through the screens that are no exercise.
func (p phone) around() {
	p.look("cautions", p.screen("cautions"))
	p.to("t", "tour", "tour-1")
	p.to("Return", "tour", "tour-2")
	p.to("Return", "tour", "tour-3")
	p.back("Return", "cautions")
	p.to("Return", "join", "join-code")
	p.to("F2", "sheet", "sheet")
	for range 5 {
		p.press("Down", func() event { return p.next("a row", func(e event) bool { return e.is("sheet") }) })
	}
	p.look("sheet-2", p.screen("sheet"))
	p.back("Escape", "join")
	p.to("Escape", "home", "home")
	p.to("Escape", "home", "home-notice")
	p.to("h", "help", "help-home")
	p.back("Escape", "home")
	p.to("s", "settings", "settings")
	for range 6 {
		p.back("Down", "settings")
	}
	p.to("Down", "settings", "settings-2")
	p.back("Escape", "home")
	p.to("p", "progress", "progress-empty")
	p.back("Escape", "home")
}

// drill plays one of a drill from its card to its verdict.
func (p phone) drill(id string) {
	p.to("Return", "round", "card-"+id)
	p.play(id)
	if id == drills.Ride {
		p.look("verdict-"+id, p.screen("verdict"))
	} else {
		p.to("Return", "verdict", "verdict-"+id)
	}
	p.back("Escape", "home")
}

// play begins an exercise and answers it.
func (p phone) play(id string) {
	p.look("round-"+id, p.press("Return", func() event {
		p.next("sound", func(e event) bool { return e.is("begin") })
		return p.screen("round")
	}))
	if id == drills.TrustIt {
		p.press("2", func() event { return p.next("choice", func(e event) bool { return e.is("choice") }) })
		return
	}
	for range 4 {
		p.press("Prior", func() event { return p.next("fader move", isFader) })
	}
	p.shot("phone-" + p.kind + "round-" + id + "-" + p.size)
}

// room plays a round to the room.
func (p phone) room() {
	p.back("o", "round")
	p.play("room")
	p.to("Return", "room", "room")
	p.to("Return", "verdict", "verdict-room")
	p.back("Escape", "home")
}

// named types a name into the field that waits for it.
func (p phone) named() {
	p.t.Helper()
	p.hands("type", "Moonrake")
	p.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Moonrake" })
	p.letGo()
}

// class joins a class, plays its round, and hands in.
func (p phone) class() {
	p.back("c", "join")
	p.named()
	p.back("Return", "round")
	p.play("class")
	p.back("Return", "verdict")
	p.to("Return", "handin", "handin")
	p.back("Return", "home")
}

// checkHands wants what can be touched as high as a finger needs, and what is
// written large enough to be read.
func checkHands(t *testing.T, screen string, e event) {
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
