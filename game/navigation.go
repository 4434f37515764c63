package game

import (
	"slices"
	"time"

	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/scene/class"
	"slowneedle/game/scene/help"
	"slowneedle/game/scene/home"
	"slowneedle/game/scene/progress"
	"slowneedle/game/scene/realdesk"
	"slowneedle/game/scene/recordings"
	"slowneedle/game/scene/round"
	"slowneedle/game/scene/settings"
	"slowneedle/game/scene/summary"
	"slowneedle/game/scene/testform"
	"slowneedle/game/sound"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// navigation goes from one screen to another; nothing else makes screens. The
// last of its stack is shown; those below it come back when it goes.
type navigation struct {
	screen  *widget.Screen
	session *practice.Session
	sound   *sound.Player
	opt     Options
	quit    func()
	shown   func() // another screen is shown
	stack   []scene.Scene
	draft   *practice.Draft  // the sheet that is being made; nil: none
	waiting scene.Scene      // from which the class waits for its next round; nil: it does not
	waits   string           // the sentence that tells for what
	making  *practice.Making // the round that is being made; nil: none
	from    scene.Scene      // the screen from which it was asked for
	told    bool             // that it is being made
}

// scene is the screen that is shown.
func (n *navigation) scene() scene.Scene { return n.stack[len(n.stack)-1] }

// show goes to a screen and leaves the others for good.
func (n *navigation) show(s scene.Scene) {
	for _, old := range n.stack {
		if l, ok := old.(scene.Leaver); ok {
			l.Leave()
		}
	}
	n.stack = []scene.Scene{s}
	n.shown()
}

// lay lays a screen over the one that is shown, which waits.
func (n *navigation) lay(s scene.Scene) {
	if w, ok := n.scene().(scene.Suspender); ok && len(n.stack) > 0 {
		w.Suspend()
	}
	n.stack = append(n.stack, s)
	n.shown()
}

// Back goes back to the screen that the shown one was laid over.
func (n *navigation) Back() {
	n.stack = n.stack[:len(n.stack)-1]
	if w, ok := n.scene().(scene.Suspender); ok {
		w.Resume()
	}
	n.shown()
}

// begin shows the first screen of a start.
func (n *navigation) begin() {
	n.stack = []scene.Scene{n.home()}
	n.session.OpenSeries()
	switch {
	case !n.session.Prefs.CautionSeen:
		n.show(&help.Cautions{Base: n.base(), First: true})
	case n.opt.Join:
		n.first()
	}
}

// first goes to the screen that a start leads to: with a class code, or at a class's
// address, to joining.
func (n *navigation) first() {
	switch s := n.session.Series; {
	case !n.opt.Join:
		n.Home()
	case s != nil && (s.Hand.Code == practice.Groups(n.opt.Code) || n.opt.Code == "" && !s.Over()):
		n.Class()
	default:
		n.Join("", "")
	}
}

// Understood goes on from the cautions of the first start.
func (n *navigation) Understood() {
	n.session.Prefs.Change(func(p *store.Settings) { p.CautionSeen = true })
	n.first()
}

// update handles what has happened since the last tick.
func (n *navigation) update() {
	if n.waiting != nil && (n.waiting != n.scene() || !n.session.Series.Held()) {
		released := n.waiting == n.scene()
		n.waiting, n.screen.Notice = nil, "" // which told of it
		n.screen.Redraw()
		if released {
			n.PlaySeries()
		}
	}
	if r := n.session.Return(); r != nil && slices.Contains([]string{"home", "progress", "settings", "help"}, n.scene().Name()) {
		n.returned(n.session.TakeReturn(), 0)
	}
	if n.waiting != nil {
		n.tellHeld()
	}
	n.takeMade()
	if code := n.session.Offered(); code != "" {
		n.Join(code, "")
	}
	if n.session.Update() && n.scene().Name() != (&class.HandIn{}).Name() {
		n.screen.Tell(n.screen.Say("class.in_now"))
	}
}

func (n *navigation) base() scene.Base { return scene.Base{Screen: n.screen, To: n} }

func (n *navigation) home() scene.Scene {
	return &home.Scene{Base: n.base(), Session: n.session, Prefs: n.session.Prefs, Silent: n.sound.None}
}

// Quit ends the trainer.
func (n *navigation) Quit() { n.quit() }

// Home goes to the first screen.
func (n *navigation) Home() { n.show(n.home()) }

// Progress goes to what the history tells.
func (n *navigation) Progress() { n.show(n.progress()) }

func (n *navigation) progress() *progress.Scene {
	return &progress.Scene{Base: n.base(), Records: n.session.Records, Prefs: n.session.Prefs}
}

// returned goes to the verdict on round i of a return, or after the last to what
// the history tells of real desks.
func (n *navigation) returned(r *practice.Return, i int) {
	if i == r.Rounds() {
		s := n.progress()
		s.ShowDesk()
		n.show(s)
		return
	}
	a, err := r.Assignment(i)
	if err != nil {
		n.screen.Tell(n.screen.Say("round.failed", n.screen.Fault(err)))
		return
	}
	n.Verdict(round.Came(a))
}

// Settings goes to what can be set.
func (n *navigation) Settings() {
	n.show(&settings.Scene{Base: n.base(), Prefs: n.session.Prefs})
}

// Recordings goes to the learner's own recordings.
func (n *navigation) Recordings() {
	n.show(&recordings.Scene{Base: n.base(), Session: n.session})
}

// Help lays the help about the shown screen over it.
func (n *navigation) Help() {
	s := &help.Scene{Base: n.base(), Of: n.scene().Name(), Version: n.opt.Version, Sound: n.sound}
	if r, ok := n.scene().(*round.Scene); ok {
		s.Drill = r.Drill()
	}
	n.lay(s)
}

// Cautions lays the cautions over the shown screen.
func (n *navigation) Cautions() { n.lay(&help.Cautions{Base: n.base()}) }

// Tour lays the tour over the shown screen.
func (n *navigation) Tour() { n.lay(&help.Tour{Base: n.base()}) }

// Start goes to what the first screen asks for.
func (n *navigation) Start() { n.make(n.session.Start) }

// Needed goes to an exercise of what is needed most.
func (n *navigation) Needed() { n.make(n.session.Needed) }

// ForClass goes to a round that is played to a class.
func (n *navigation) ForClass() { n.make(n.session.ForClass) }

// Next goes to what follows an assignment.
func (n *navigation) Next(a *practice.Assignment) {
	if a.Heard != nil || a.Return != nil && a.Return.Live && !a.Return.Over() {
		n.Back()
	} else if a.Return != nil {
		if a.Return.Live {
			n.screen.Tell(a.Return.Summary(n.screen.Speech))
		}
		n.returned(a.Return, a.Number())
	} else if a.Practised() && !n.session.Records.Under() {
		n.Summary()
	} else if a.Form != "" && n.session.TestForms().Done == 0 {
		n.testForm(true)
	} else if a.Series == nil || !n.held() {
		n.make(func() *practice.Making { return n.session.Next(a) })
	}
}

// TestForm goes to the test forms.
func (n *navigation) TestForm() { n.testForm(false) }

// PlayForm goes to the next round of a test form.
func (n *navigation) PlayForm() { n.make(n.session.Form) }

// testForm goes to the test forms; ended is set after the last round of one.
func (n *navigation) testForm(ended bool) {
	n.show(&testform.Scene{Base: n.base(), Forms: n.session.TestForms(), Ended: ended})
}

// Again goes to another round in place of one that was only shown.
func (n *navigation) Again(a *practice.Assignment) {
	n.make(func() *practice.Making { return n.session.Again(a) })
}

// EndPractice ends the practice under way and sums it up.
func (n *navigation) EndPractice() {
	n.session.Records.End()
	n.Summary()
}

// Summary goes to the summary of the last practice.
func (n *navigation) Summary() {
	r := n.session.Records
	next, _ := r.Advice()
	n.show(&summary.Scene{Base: n.base(), Summary: r.Summary(), Last: r.Last(), Next: next})
}

// PlaySeries goes to the class's next round, or to its hand-in.
func (n *navigation) PlaySeries() {
	if !n.held() {
		n.make(n.session.Series.Next)
	}
}

// held reports whether the class waits for the teacher; the round then opens
// when it is released, unless the learner goes elsewhere.
func (n *navigation) held() bool {
	if !n.session.Series.Held() {
		return false
	}
	n.waiting, n.screen.Notice = n.scene(), ""
	n.tellHeld()
	return true
}

// tellHeld tells what the class's next round waits for, unless something else is told.
func (n *navigation) tellHeld() {
	s, key := n.session.Series, "class.exam_waits"
	if s.Unanswered() {
		key = "class.unanswered"
	} else if s.Together() {
		key = "class.held"
	}
	says, told := n.screen.Say(key), n.screen.Notice
	if told == "" || told == n.waits && told != says {
		n.waits = says
		n.screen.Tell(says)
	}
}

// make begins to make an assignment, or goes to the hand-in where there is none left.
// The screen stays until it is made; one who leaves it does not want it any more.
func (n *navigation) make(begin func() *practice.Making) {
	if n.making != nil && n.from == n.scene() { // it was asked for twice
		return
	}
	if n.making, n.from, n.told = begin(), n.scene(), false; n.making == nil {
		n.handIn()
	}
}

// makingShown is after how long it is told that a round is being made.
const makingShown = 300 * time.Millisecond

// takeMade goes to an assignment once it is made.
func (n *navigation) takeMade() {
	m := n.making
	switch {
	case m == nil:
		return
	case n.from != n.scene():
		n.making = nil
		return
	}
	a, err, ok := m.Ready()
	if !ok {
		if !n.told && time.Since(m.Began) > makingShown {
			n.told = true
			n.screen.Tell(n.screen.Say("round.making"))
		}
		return
	}
	n.making = nil
	var s *round.Scene
	if err == nil {
		s, err = round.New(n.base(), n, n.session, n.sound, a)
	}
	if err != nil {
		n.screen.Tell(n.screen.Say("round.failed", n.screen.Fault(err)))
		return
	}
	if n.told {
		n.screen.Notice = ""
	}
	n.show(s)
}

// Judged goes to the verdict, or asks a class for theirs first; where no verdict is
// shown it goes to the next round.
func (n *navigation) Judged(r *round.Result) {
	if r.A.NoVerdict {
		n.Next(r.A)
		return
	}
	if r.A.Classroom {
		n.show(&round.Classroom{Base: n.base(), Result: r, Show: func() { n.Verdict(r) }})
		return
	}
	a := r.A
	n.screen.Note("verdict", map[string]any{"drill": a.Drill.ID, "seed": a.Seed, "index": a.Index, "level": a.Level, "settings": a.Settings, "take": r.Take, "verdict": r.Verdict})
	n.Verdict(r)
}

// Estimate asks how far off the learner thinks to be.
func (n *navigation) Estimate(r *round.Result, keep func(r *round.Result, goOn bool)) {
	n.show(&round.Estimate{Base: n.base(), Result: r, Keep: keep})
}

// Verdict goes to the verdict.
func (n *navigation) Verdict(r *round.Result) {
	n.show(round.NewVerdict(n.base(), n, n.session.Prefs, n.sound, r))
}

// Listen goes to the line input.
func (n *navigation) Listen() { n.show(realdesk.New(n.base(), n.Set, n.session, n.sound)) }

// Set lays the verdict on what was set at the line input over the screen that
// listens, once it is kept.
func (n *navigation) Set(a *practice.Assignment, past sound.History) {
	var r *round.Result
	if a.Came != nil {
		r = round.Came(a)
	} else {
		var err error
		if r, err = round.Heard(a, past); err != nil {
			n.screen.Tell(n.screen.Fault(err))
			return
		}
	}
	n.session.Record(a, r.Take, r.Verdict, nil, func() {
		n.screen.Note("verdict", map[string]any{"settings": a.Settings, "take": r.Take, "verdict": r.Verdict})
		n.lay(round.NewVerdict(n.base(), n, n.session.Prefs, n.sound, r))
	})
}

// Class goes on with the class's rounds, hands them in, or asks for a code.
func (n *navigation) Class() {
	s := n.session.Series
	switch {
	case s == nil:
		n.Join("", "")
	case !s.Over():
		n.Join(s.Hand.Code, s.Hand.Who)
	case !s.Safe() || s.Exam():
		n.handIn()
	default:
		n.Join("", "")
	}
}

// Join asks for a code and a name, with what is known already.
func (n *navigation) Join(code, who string) {
	form := practice.NewJoin(n.session, code, who, n.opt.Code, n.opt.Server)
	n.show(&class.Join{Base: n.base(), Form: form, Start: n.opt.Join, Finger: n.screen.Touched})
}

// Sheet goes to the sheet that is being made.
func (n *navigation) Sheet() {
	if n.draft == nil {
		n.draft = practice.NewDraft()
	}
	n.show(&class.Sheet{Base: n.base(), Draft: n.draft, Prefs: n.session.Prefs})
}

func (n *navigation) handIn() {
	n.show(&class.HandIn{Base: n.base(), Series: n.session.Series, Records: n.session.Records})
	n.screen.Notice = "" // the screen says the same
}
