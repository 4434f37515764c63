package window

import (
	"encoding/json"
	"slices"
	"strconv"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// walk goes through the screens of a trainer and looks at each.
type walk struct {
	*app
	size     string // of the window
	pre, end string // of the screenshots' names
	fingers  bool   // touched by fingers, and small
	short    bool   // what runs its length is left early
}

func (p walk) look(screen string, e event) event {
	p.t.Helper()
	checkPlaces(p.t, screen, e, p.size)
	checkWriting(p.t, screen, e, p.size)
	if p.fingers {
		checkHands(p.t, screen, e)
	}
	checkEdges(p.t, p.shot(p.pre+screen+"-"+p.end))
	return e
}

// to presses a key and looks at the screen it leads to.
func (p walk) to(key, scene, name string) event {
	p.t.Helper()
	return p.look(name, p.back(key, scene))
}

// back presses a key that leads to a screen.
func (p walk) back(key, scene string) event {
	p.t.Helper()
	return p.press(key, func() event { return p.screen(scene) })
}

// around goes through the screens that are no exercise.
func (p walk) around() {
	p.look("cautions", p.screen("cautions"))
	p.to("t", "tour", "tour-1")
	p.to("Return", "tour", "tour-2")
	p.to("Return", "tour", "tour-3")
	p.back("Return", "cautions")
	p.to("Return", "home", "home")
	p.to("Escape", "home", "home-notice")
	p.to("c", "join", "join")
	p.to("F2", "sheet", "sheet")
	for range 5 {
		p.press("Down", func() event { return p.next("a row", func(e event) bool { return e.is("sheet") }) })
	}
	p.look("sheet-2", p.screen("sheet"))
	p.back("Escape", "join")
	p.back("Escape", "home")
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

// everywhere goes through all screens, and through all drills from one on.
func (p walk) everywhere(first string) {
	p.around()
	begun := false
	for _, d := range drills.Drills() {
		if begun = begun || d.ID == first; begun {
			p.drill(d.ID)
			p.back("d", "home")
		}
	}
	p.demonstration()
	p.class()
	p.to("p", "progress", "progress")
}

// oneRound is the class code of a single round.
func oneRound(t testing.TB) string {
	t.Helper()
	n := sheet.New(4711)
	n.Rounds, n.Time = 1, sheet.NoLimit
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	return code
}

// drill plays one of a drill from its card to its verdict.
func (p walk) drill(id string) {
	p.to("Return", "round", "card-"+id)
	p.play(id)
	switch {
	case id == drills.Ride && p.short:
	case id == drills.Ride:
		p.look("verdict-"+id, p.screen("verdict"))
	default:
		p.lock(id)
		p.to("Return", "verdict", "verdict-"+id)
	}
	p.back("Escape", "home")
}

// play begins an exercise and answers it.
func (p walk) play(id string) {
	var begun event
	p.look("round-"+id, p.press("Return", func() event {
		begun = p.next("sound", func(e event) bool { return e.is("begin") })
		return p.screen("round")
	}))
	if id == drills.TrustIt || id == drills.OddOne {
		p.press("2", func() event { return p.next("choice", func(e event) bool { return e.is("choice") }) })
		return
	}
	roomy := func(c drills.Control) bool { return !c.Fixed && c.Start+4*3 <= c.Max } // a pad has no room for four large steps
	if i := slices.IndexFunc(p.controls(begun), roomy); i > 0 {
		p.back(strconv.Itoa(i+1), "round")
	}
	for range 4 {
		p.press("Prior", func() event { return p.next("fader move", isFader) })
	}
	p.shot(p.pre + "round-" + id + "-" + p.end)
}

// controls are those of an exercise that has begun.
func (a *app) controls(begun event) (all []drills.Control) {
	a.t.Helper()
	data, err := json.Marshal(begun["controls"])
	if err == nil {
		err = json.Unmarshal(data, &all)
	}
	if err != nil {
		a.t.Fatal(err)
	}
	return all
}

// lock locks a round after which a take is played, and looks at that; in other drills
// the verdict follows at once.
func (p walk) lock(id string) {
	if id == drills.Soundcheck {
		p.look("take-"+id, p.press("Return", func() event {
			p.next("the take", func(e event) bool { return e.is("take") })
			return p.screen("round")
		}))
	}
}

// demonstration plays a round to a class.
func (p walk) demonstration() {
	p.back("o", "round")
	p.play("demonstration")
	p.to("Return", "classroom", "classroom")
	p.to("Return", "verdict", "verdict-room")
	p.back("Escape", "home")
}

// named types a name into the field that waits for it.
func (p walk) named() {
	p.t.Helper()
	p.hands("type", "Moonrake")
	p.next("the name", func(e event) bool { return e.is("typed") && e.str("text") == "Moonrake" })
	p.letGo()
}

// coded types the code of one round and goes on to the name.
func (p walk) coded() {
	p.t.Helper()
	p.hands("type", oneRound(p.t))
	p.next("the code", func(e event) bool { return e.is("typed") && e["right"] == true })
	p.letGo()
	p.press("Down", func() event {
		p.next("the name's field", func(e event) bool { return e.is("typed") && e.num("field") == 1 })
		return p.look("join-code", p.screen("join"))
	})
}

// class joins a class, plays its round, and hands in.
func (p walk) class() {
	p.back("c", "join")
	p.coded()
	p.named()
	p.back("Return", "round")
	p.play("class")
	p.back("Return", "verdict")
	p.to("Return", "handin", "handin")
	p.back("Return", "home")
}
