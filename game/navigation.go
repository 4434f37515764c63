package game

// navigation goes from one screen to another; nothing else makes screens. The
// last of its stack is shown; those below it come back when it goes.
type navigation struct {
	screen  *screen
	session *session
	sound   *player
	opt     Options
	quit    func()
	shown   func() // another screen is shown
	stack   []scene
	draft   *draft // the sheet that is being made; nil: none
}

// scene is the screen that is shown.
func (n *navigation) scene() scene { return n.stack[len(n.stack)-1] }

// show goes to a screen and leaves the others for good.
func (n *navigation) show(s scene) {
	for _, old := range n.stack {
		if l, ok := old.(leaver); ok {
			l.Leave()
		}
	}
	n.stack = []scene{s}
	n.shown()
}

// lay lays a screen over the one that is shown, which waits.
func (n *navigation) lay(s scene) {
	if w, ok := n.scene().(suspender); ok && len(n.stack) > 0 {
		w.Suspend()
	}
	n.stack = append(n.stack, s)
	n.shown()
}

// Back goes back to the screen that the shown one was laid over.
func (n *navigation) Back() {
	n.stack = n.stack[:len(n.stack)-1]
	if w, ok := n.scene().(suspender); ok {
		w.Resume()
	}
	n.shown()
}

// begin shows the first screen of a start.
func (n *navigation) begin() {
	n.stack = []scene{n.home()}
	n.session.openSeries()
	switch {
	case !n.session.prefs.CautionSeen:
		n.show(&cautionScene{base: n.base(), to: n, first: true})
	case n.opt.Code != "":
		n.first()
	}
}

// first goes to the screen that a start leads to: with a class code to joining.
func (n *navigation) first() {
	switch s := n.session.series; {
	case n.opt.Code == "":
		n.Home()
	case s != nil && s.hand.Code == groups(n.opt.Code):
		n.Class()
	default:
		n.Join("", "")
	}
}

// Understood goes on from the cautions of the first start.
func (n *navigation) Understood() {
	n.session.prefs.change(func(p *settings) { p.CautionSeen = true })
	n.first()
}

// update takes in what has happened since the last tick.
func (n *navigation) update() {
	if n.session.update() && n.scene().Name() != (&handInScene{}).Name() {
		n.screen.tell(n.screen.Say("class.in_now"))
	}
}

func (n *navigation) base() base { return base{n.screen} }

func (n *navigation) home() scene {
	return &homeScene{base: n.base(), to: n, session: n.session, prefs: n.session.prefs, silent: n.sound.quiet}
}

// Quit ends the trainer.
func (n *navigation) Quit() { n.quit() }

// Home goes to the first screen.
func (n *navigation) Home() { n.show(n.home()) }

// Progress goes to what the history tells.
func (n *navigation) Progress() {
	n.show(&progressScene{base: n.base(), to: n, records: n.session.records, prefs: n.session.prefs})
}

// Settings goes to what can be set.
func (n *navigation) Settings() {
	n.show(&settingsScene{base: n.base(), to: n, prefs: n.session.prefs})
}

// Help lays the help about the shown screen over it.
func (n *navigation) Help() {
	n.lay(&helpScene{base: n.base(), to: n, of: n.scene().Name(), version: n.opt.Version, sound: n.sound})
}

// Cautions lays the cautions over the shown screen.
func (n *navigation) Cautions() { n.lay(&cautionScene{base: n.base(), to: n}) }

// Tour lays the tour over the shown screen.
func (n *navigation) Tour() { n.lay(&tourScene{base: n.base(), to: n}) }

// Start goes to what the first screen asks for.
func (n *navigation) Start() { n.open(n.session.start()) }

// Needed goes to an exercise of what is needed most.
func (n *navigation) Needed() { n.open(n.session.needed()) }

// ForClass goes to a round that is played to a class.
func (n *navigation) ForClass() { n.open(n.session.forClass()) }

// Next goes to what follows an assignment.
func (n *navigation) Next(a *assignment) { n.open(n.session.next(a)) }

// PlaySeries goes to the class's next round, or to its hand-in.
func (n *navigation) PlaySeries() { n.open(n.session.series.next()) }

// open goes to an assignment, or to the hand-in where there is none left.
func (n *navigation) open(a *assignment, err error) {
	var s *playScene
	if err == nil && a == nil {
		n.handIn()
		return
	}
	if err == nil {
		s, err = newPlayScene(n.base(), n, n.session, n.sound, a)
	}
	if err != nil {
		n.screen.tell(n.screen.Say("round.failed", n.screen.Fault(err)))
		return
	}
	n.show(s)
}

// Judged goes to the verdict, or asks a class for theirs first.
func (n *navigation) Judged(r *result) {
	if r.a.classroom {
		n.show(&roomScene{base: n.base(), to: n, result: r})
		return
	}
	a := r.a
	n.screen.note("verdict", map[string]any{"drill": a.Drill.ID, "seed": a.Seed, "index": a.Index, "level": a.Level, "settings": a.settings, "take": r.take, "verdict": r.verdict})
	n.Verdict(r)
}

// Verdict goes to the verdict.
func (n *navigation) Verdict(r *result) {
	n.show(newVerdictScene(n.base(), n, n.session.prefs, n.sound, r))
}

// Class goes on with the class's rounds, hands them in, or asks for a code.
func (n *navigation) Class() {
	s := n.session.series
	switch {
	case s == nil:
		n.Join("", "")
	case !s.hand.Complete():
		n.Join(s.hand.Code, s.hand.Who)
	case !s.safe():
		n.handIn()
	default:
		n.Join("", "")
	}
}

// Join asks for a code and a name, with what is known already.
func (n *navigation) Join(code, who string) {
	form := newJoin(n.session, code, who, n.opt.Code, n.opt.Server)
	n.show(&joinScene{base: n.base(), to: n, form: form, finger: n.screen.touched})
}

// Sheet goes to the sheet that is being made.
func (n *navigation) Sheet() {
	if n.draft == nil {
		n.draft = newDraft()
	}
	n.show(&sheetScene{base: n.base(), to: n, draft: n.draft, prefs: n.session.prefs})
}

func (n *navigation) handIn() {
	n.show(&handInScene{base: n.base(), to: n, series: n.session.series, records: n.session.records})
	n.screen.notice = "" // it says what the screen says
}
