package drive

import (
	"slices"
	"strconv"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// Walk goes through the screens of a trainer and looks at each.
type Walk struct {
	*Trainer
	Look  func(name string, e Event) // at a screen that stands
	Judge func(verdict Event)        // at what is said of a round; nil: nothing
	Short bool                       // what runs its length is left early
	Page  bool                       // it is a class's page, which is left by the browser and on which no sheets are made
}

// See presses a key and looks at the screen it leads to.
func (w Walk) See(key, screen, name string) Event {
	w.T.Helper()
	e := w.To(key, screen)
	w.Look(name, e)
	return e
}

// Tour goes from the cautions of the first start through the tour and back.
func (w Walk) Tour() {
	w.T.Helper()
	w.Look("cautions", w.Screen("cautions"))
	w.See("t", "tour", "tour-1")
	w.See("Return", "tour", "tour-2")
	w.See("Return", "tour", "tour-3")
	w.To("Return", "cautions")
}

// Around goes from the cautions to the first screen and through those that are no exercise.
func (w Walk) Around() {
	w.T.Helper()
	w.Look("home", w.To("Return", "home"))
	if !w.Page {
		w.See("Escape", "home", "home-notice")
	}
	w.See("c", "join", "join")
	if !w.Page {
		w.Sheet()
		w.To("Escape", "join")
	}
	w.To("Escape", "home")
	w.See("h", "help", "help-home")
	w.See("t", "tour", "tour")
	w.To("Escape", "help")
	w.To("Escape", "home")
	w.See("s", "settings", "settings")
	for range 6 {
		w.To("Down", "settings")
	}
	w.See("Down", "settings", "settings-2")
	w.See("h", "help", "help-settings")
	w.To("Escape", "settings")
	w.To("Escape", "home")
	w.See("p", "progress", "progress-empty")
	w.To("Escape", "home")
}

// Sheet makes another sheet of the one that is offered: another drill, families, each
// row down to the cover.
func (w Walk) Sheet() {
	w.T.Helper()
	w.See("F2", "sheet", "sheet")
	for range 3 {
		w.For("Right", "sheet")
	}
	w.For("1", "screen") // the only family cannot be taken away
	w.For("3", "sheet")
	for range 6 {
		w.For("Down", "sheet")
	}
	if e := w.For("Right", "sheet"); e["failed"] != false {
		w.T.Errorf("no sheet: %v", e)
	}
	w.Look("sheet-2", w.Screen("sheet"))
}

// Drills goes through all drills from one on, which is chosen, each from its card to its verdict.
func (w Walk) Drills(first string) {
	w.T.Helper()
	begun := false
	for _, d := range drills.Drills() {
		if begun = begun || d.ID == first; begun {
			w.Drill(d.ID)
			w.To("d", "home")
		}
	}
}

// Everywhere goes through all screens, and through all drills from one on.
func (w Walk) Everywhere(first string) {
	w.T.Helper()
	w.Tour()
	w.Around()
	w.Drills(first)
	w.Demonstration()
	w.To("c", "join")
	w.Coded()
	w.Named("Moonrake")
	w.Class()
	w.See("p", "progress", "progress")
}

// Drill plays one of a drill from its card to its verdict, and goes back to the first screen.
func (w Walk) Drill(id string) {
	w.T.Helper()
	w.See("Return", "round", "card-"+id)
	w.Play(id)
	if id != drills.Ride || !w.Short {
		w.Finish(id)
	}
	w.To("Escape", "home")
}

// Play begins an exercise and answers it.
func (w Walk) Play(id string) {
	w.T.Helper()
	begun, e := w.Begin()
	if id == drills.TrustIt || id == drills.OddOne {
		w.For("2", "choice")
	} else {
		const times = 2
		roomy := func(c drills.Control) bool { return !c.Fixed && c.Start+3*times <= c.Max } // a pad may be at its stop
		if i := slices.IndexFunc(w.Controls(begun), roomy); i > 0 {
			w.To(strconv.Itoa(i+1), "round")
		}
		w.Louder(times)
	}
	w.Look("round-"+id, e)
}

// Finish waits for the end of what runs its length, and locks what does not, after a take
// if one follows.
func (w Walk) Finish(id string) {
	w.T.Helper()
	var verdict, e Event
	switch id {
	case drills.Ride:
		verdict = w.Event("verdict")
		e = w.Screen("verdict")
	case drills.Soundcheck:
		w.Look("take-"+id, w.Press("Return", func() Event { w.Event("take"); return w.Screen("round") }))
		fallthrough
	default:
		verdict, e = w.Lock()
	}
	if w.Judge != nil {
		w.Judge(verdict)
	}
	w.Look("verdict-"+id, e)
}

// Demonstration plays a round to a class.
func (w Walk) Demonstration() {
	w.T.Helper()
	w.To("o", "round")
	w.Play("demonstration")
	w.See("Return", "classroom", "classroom")
	w.See("Return", "verdict", "verdict-room")
	w.To("Escape", "home")
}

// OneRound is the class code of a single round.
func OneRound(t testing.TB) string {
	t.Helper()
	n := sheet.New(4711)
	n.Rounds, n.Time = 1, sheet.NoLimit
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	return code
}

// Coded types the code of one round and goes on to the name.
func (w Walk) Coded() {
	w.T.Helper()
	w.Write(OneRound(w.T))
	w.Next("the code", func(e Event) bool { return e.Is("typed") && e["right"] == true })
	w.LetGo()
	w.Press("Down", func() Event {
		w.Next("the name's field", func(e Event) bool { return e.Is("typed") && e.Num("field") == 1 })
		e := w.Screen("join")
		w.Look("join-code", e)
		return e
	})
}

// Class plays the round of a class that is joined, hands in, and goes back to the first screen.
func (w Walk) Class() {
	w.T.Helper()
	w.To("Return", "round")
	w.Play("class")
	w.Lock()
	w.See("Return", "handin", "handin")
	w.To("Return", "home")
}

// Practice practises from the first screen to the summary, and returns how many rounds it had.
func (w Walk) Practice() (rounds int) {
	w.T.Helper()
	w.See("Return", "round", "card")
	for {
		w.Begin()
		w.Louder(1)
		w.Lock()
		rounds++
		if e := w.GoesOn(); e.On("summary") {
			w.Look("summary", e)
			return rounds
		}
	}
}
