package game

import (
	"net"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	"slowneedle/drills/testform"
	_ "slowneedle/game/display/checked" // says in one sentence that these tests need a display
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene/round"
	"slowneedle/game/scene/summary"
	testformscene "slowneedle/game/scene/testform"
	"slowneedle/game/sound"
	"slowneedle/game/store"
	"slowneedle/game/widget"
	"slowneedle/game/words"
)

// newNavigation is a navigation without a window, a journal or a device, which
// stands on the first screen.
func newNavigation(t testing.TB) *navigation {
	t.Helper()
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	screen := widget.NewScreen(w, func(string, map[string]any) {})
	prefs := store.NewKeeper(store.DefaultSettings(), screen.Redraw)
	records := practice.NewRecords(&progress.Book{}, w, practice.Reports{Tell: screen.Tell, Note: screen.Note, Changed: screen.Redraw})
	s := sound.OpenPlayer()
	t.Cleanup(func() { s.Close() })
	n := &navigation{screen: screen, session: practice.NewSession(21, "test", prefs, records), sound: s, quit: func() {}, shown: func() {}}
	n.Home()
	return n
}

// press does the action of a name on the screen that is shown.
func (n *navigation) press(t *testing.T, id string) {
	t.Helper()
	for _, a := range n.scene().Actions() {
		if a.ID == id {
			a.Do()
			n.settle(t)
			return
		}
	}
	t.Fatalf("the screen %q has no action %q", n.scene().Name(), id)
}

// settle waits until a round that was asked for is shown, and a take that was locked is kept.
func (n *navigation) settle(t *testing.T) {
	t.Helper()
	for end := time.Now().Add(time.Minute); n.making != nil || n.session.Busy(); n.update() {
		if time.Now().After(end) {
			t.Fatal("the round is not made, or its take not kept")
		}
	}
}

// A round that is played to a class stays one when it is shown how it is done:
// what follows is the next round for the class, and nothing of it is kept.
func TestRoundForAClassAfterShowMe(t *testing.T) {
	n := newNavigation(t)
	n.press(t, "demonstration")
	for _, id := range []string{"show", "enter"} { // show me, then try one
		n.press(t, id)
		if s, ok := n.scene().(*round.Scene); !ok || !s.LargeText() {
			t.Fatalf("after %q the round is no longer for a class: %s", id, n.scene().Name())
		}
	}
	if played := n.session.Records.Book.Len(); played != 0 {
		t.Errorf("%d takes of a class are in the learner's book", played)
	}
}

// The help of a round begins with what its drill is about.
func TestHelpOfEveryDrill(t *testing.T) {
	n := newNavigation(t)
	for _, d := range drills.Drills() {
		n.session.Prefs.Change(func(p *store.Settings) { p.Drill = d.ID })
		n.press(t, "enter")
		n.press(t, "help")
		var read strings.Builder
		for _, item := range draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, n.scene().Draw) {
			read.WriteString(item.Label + " ")
		}
		if want := n.screen.Explain(d.ID); !strings.Contains(read.String(), want) {
			t.Errorf("%s: the help is %q, want %q in it", d.ID, read.String(), want)
		}
		n.Home()
	}
}

// Screens that are laid over a round wait for each other, and the round is there
// again when they have gone.
func TestScreensAreLaidOver(t *testing.T) {
	n := newNavigation(t)
	n.press(t, "enter")
	for _, id := range []string{"help", "cautions", "help", "tour"} {
		n.press(t, id)
	}
	for _, name := range []string{"tour", "help", "cautions", "help", "round"} {
		if got := n.scene().Name(); got != name {
			t.Fatalf("%q is shown, want %q", got, name)
		}
		if name == "round" {
			break
		}
		if name == "cautions" {
			n.press(t, "enter")
			continue
		}
		n.press(t, "esc")
	}
	if n.press(t, "esc"); n.scene().Name() != "home" || len(n.stack) != 1 {
		t.Errorf("%q is shown over %d others, want the first screen", n.scene().Name(), len(n.stack)-1)
	}
}

// The key for the kind of source comes round to where it began, past the screen of a
// learner's recordings when there are none.
func TestEveryFamilyByItsKey(t *testing.T) {
	n := newNavigation(t)
	seen := map[source.Family]bool{}
	for range source.Generated() {
		n.press(t, "family")
		seen[n.session.Prefs.Family] = true
	}
	for _, f := range source.Generated() {
		if !seen[f] {
			t.Errorf("%q is not reached", f)
		}
	}
	if n.press(t, "family"); n.scene().Name() != "recordings" {
		t.Fatalf("%q is shown, want the recordings", n.scene().Name())
	}
	if n.press(t, "esc"); n.session.Prefs.Family != "" {
		t.Errorf("%q is chosen after the recordings, want all families", n.session.Prefs.Family)
	}
	if n.press(t, "family"); n.session.Prefs.Family != source.Generated()[0] {
		t.Errorf("the key goes on to %q, want %q", n.session.Prefs.Family, source.Generated()[0])
	}
}

// A practice is gone on with where it was left, its end leads to its summary, and
// that to the first screen, where the next is due.
func TestPracticeToItsSummary(t *testing.T) {
	n := newNavigation(t)
	r := n.session.Records
	n.session.Prefs.Change(func(p *store.Settings) { p.Length = store.LengthShort })
	n.press(t, "enter")
	for played := 1; n.scene().Name() == "round"; played++ {
		answer(t, n, r.Last().Ahead[0].Drill)
		if done := len(r.Last().Done); done != played {
			t.Fatalf("%d rounds of the practice are done after %d", done, played)
		}
		if played == 2 { // away and back
			began := r.Last().Began
			n.press(t, "esc")
			if n.press(t, "enter"); !r.Last().Began.Equal(began) {
				t.Fatal("another practice has begun")
			}
			continue
		}
		n.press(t, "enter")
	}
	s, ok := n.scene().(*summary.Scene)
	if !ok || r.Under() || len(s.Summary.Rounds) < plan.Short {
		t.Fatalf("%q is shown after %d rounds, more ahead: %v", n.scene().Name(), len(r.Last().Done), r.Under())
	}
	if n.press(t, "enter"); n.scene().Name() != "home" || len(r.Due().Done) > 0 {
		t.Errorf("%q is shown, %+v is due", n.scene().Name(), r.Due())
	}
}

// A practice that is ended early is summed up, and over.
func TestPracticeEndedEarly(t *testing.T) {
	for _, at := range []string{"verdict", "home"} {
		n := newNavigation(t)
		r := n.session.Records
		n.press(t, "enter")
		answer(t, n, r.Last().Ahead[0].Drill)
		if at == "home" {
			n.press(t, "esc")
		}
		r.Due() // as a screen that is drawn asks
		n.press(t, "end")
		if s, ok := n.scene().(*summary.Scene); !ok || r.Under() || len(s.Summary.Rounds) != 1 {
			t.Errorf("ended on the %s: %q is shown, more ahead: %v", at, n.scene().Name(), r.Under())
		}
		first := r.Last().Began
		if n.press(t, "again"); n.scene().Name() != "round" || r.Last().Began.Equal(first) || len(r.Last().Done) > 0 {
			t.Errorf("ended on the %s: %q is shown, of the practice %+v", at, n.scene().Name(), r.Last())
		}
	}
}

// A row of the grid of steps leads to the errors of its drill, and back.
func TestStepsLeadToErrors(t *testing.T) {
	n := newNavigation(t)
	n.session.Records.Book = practised()
	n.press(t, "progress")
	n.pressOn(t, "steps."+drills.SetTake)
	titles := func() (all []string) {
		for _, item := range draw.Items(n.screen.M, &draw.Slate, n.scene().Draw) {
			all = append(all, item.Label)
		}
		return all
	}
	if sub := n.screen.Say("progress.takes", 200, n.screen.DrillName(drills.SetTake), n.screen.Say("progress.all_rigs")) + " · no trend yet: error +0.02 dB in a hundred takes"; !begins(titles(), sub) {
		t.Errorf("%q is not on the screen: %q", sub, titles())
	}
	n.press(t, "view")
	if sub := n.screen.Say("progress.all_takes", 200) + " · at best 3 days of practice in a row"; !begins(titles(), sub) {
		t.Errorf("%q is not on the screen: %q", sub, titles())
	}
}

// begins reports whether one of some texts begins like another.
func begins(all []string, with string) bool {
	return slices.ContainsFunc(all, func(s string) bool { return strings.HasPrefix(s, with) })
}

// A drill that was chosen makes a practice of its own, with marks, an end and a
// summary. One of what is needed most, asked for on a verdict, is none of its rounds.
func TestChosenDrillIsAPractice(t *testing.T) {
	n := newNavigation(t)
	r := n.session.Records
	n.press(t, "enter")
	recommended := r.Last()
	n.press(t, "esc")
	n.session.Prefs.Change(func(p *store.Settings) { p.Drill = drills.LampCount })
	n.press(t, "enter")
	if r.Last().Began.Equal(recommended.Began) || len(r.Last().Ahead) != plan.Normal {
		t.Fatalf("the practice is %+v", r.Last())
	}
	for _, turn := range r.Last().Ahead {
		if turn.Drill != drills.LampCount {
			t.Errorf("a round of %s", turn.Drill)
		}
	}
	answer(t, n, drills.LampCount)
	if done := len(r.Last().Done); done != 1 || r.Book.Len() != 1 {
		t.Errorf("%d rounds of the practice are done, %d takes in the book; want 1 and 1", done, r.Book.Len())
	}
	needed, _ := r.Book.Next(everything(), time.Now())
	n.press(t, "need")
	answer(t, n, needed.Drill)
	if done := len(r.Last().Done); done != 1 || r.Book.Len() != 2 {
		t.Errorf("%d rounds of the practice are done, %d takes in the book; want 1 and 2", done, r.Book.Len())
	}
	n.press(t, "enter")
	answer(t, n, drills.LampCount)
	n.press(t, "end")
	if s, ok := n.scene().(*summary.Scene); !ok || len(s.Summary.Rounds) != 2 || s.Next.Drill != drills.LampCount {
		t.Errorf("%s: %+v", n.scene().Name(), n.scene())
	}
	if n.press(t, "again"); r.Last().Ahead[0].Drill != drills.LampCount || len(r.Last().Done) > 0 {
		t.Errorf("then comes %+v", r.Last())
	}
}

// Where it is asked how far off one is, that comes before the take is kept; the answer
// stands in the practice. Every third round has a verdict, the others none, and their
// marks tell nothing before the end.
func TestEstimateAndFewerVerdicts(t *testing.T) {
	n := newNavigation(t)
	r := n.session.Records
	n.session.Prefs.Change(func(p *store.Settings) {
		p.Drill, p.Family, p.Estimate, p.Feedback, p.Length = drills.SetTake, source.Steady, true, store.FeedbackThird, store.LengthShort
	})
	n.press(t, "enter")
	for i := range 5 {
		for _, id := range []string{"enter", "pageup", "enter"} {
			n.press(t, id)
		}
		if n.scene().Name() != "estimate" || len(r.Last().Done) != i {
			t.Fatalf("round %d: %s is shown, %d rounds are kept", i+1, n.scene().Name(), len(r.Last().Done))
		}
		n.press(t, "down")
		n.press(t, "down")
		if i == 4 { // left without an answer
			n.press(t, "esc")
		} else {
			n.press(t, "enter")
		}
		want := []string{"round", "round", "verdict", "round", "home"}[i]
		if n.scene().Name() != want {
			t.Fatalf("after round %d: %s, want %s", i+1, n.scene().Name(), want)
		}
		last := r.Last()
		done := last.Done[i]
		if (done.EstimateDB == nil) != (i == 4) || i < 4 && *done.EstimateDB != -1 || last.Told(i) != (i == 2) {
			t.Errorf("round %d: %+v, told %v", i+1, done, last.Told(i))
		}
		if i == 2 {
			n.press(t, "enter")
		}
	}
	n.EndPractice()
	if s := n.scene().(*summary.Scene); s.Summary.Estimates.Rounds != 4 || !s.Last.Told(0) {
		t.Errorf("%+v", s.Summary.Estimates)
	}
}

// A test form is played to its end without a word about any round, not even how to do
// it; then it is told that it is done and no more. Its rounds are of kinds that are
// reserved, and change neither steps nor advice. A form that was left is gone on with.
func TestFormWithoutFeedback(t *testing.T) {
	n := newNavigation(t)
	before, _ := n.session.Records.Advice()
	n.press(t, "test")
	n.press(t, "enter")
	for i := range testform.Rounds {
		s, ok := n.scene().(*round.Scene)
		if !ok {
			t.Fatalf("round %d: the screen is %s", i+1, n.scene().Name())
		}
		if slices.ContainsFunc(s.Actions(), func(a hand.Action) bool { return a.ID == "show" }) {
			t.Errorf("round %d shows how it is done", i+1)
		}
		if i == 7 { // and is gone on with
			n.press(t, "esc")
			n.press(t, "test")
			n.press(t, "enter")
		}
		for _, id := range []string{"enter", "pageup", "enter"} {
			n.press(t, id)
		}
	}
	end, ok := n.scene().(*testformscene.Scene)
	if !ok || !end.Ended || len(end.Forms.Taken) != 1 || end.Forms.Next.Form != testform.B {
		t.Fatalf("after the last round: %s, %+v", n.scene().Name(), end)
	}
	for _, item := range draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, n.scene().Draw) {
		if strings.Contains(item.Label, "dB") {
			t.Errorf("it is told how the form went: %q", item.Label)
		}
	}
	b := n.session.Records.Book
	if after, _ := n.session.Records.Advice(); b.Len() != 0 || after != before || len(b.Forms()) != 1 {
		t.Errorf("%d takes of practice, advice %+v, forms %+v", b.Len(), after, b.Forms())
	}
}

// The third form is proposed a week after the second, on the first screen; what
// changed is told only where it is asked for.
func TestThirdFormIsProposed(t *testing.T) {
	n := newNavigation(t)
	shows := func(text string) bool {
		return slices.ContainsFunc(draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, n.scene().Draw), func(i draw.Item) bool {
			return strings.Contains(i.Label, text)
		})
	}
	formsOf(n, 1)
	if n.Home(); shows("is due") {
		t.Error("the second form is proposed after a month")
	}
	n = newNavigation(t)
	formsOf(n, 1, 1)
	if n.Home(); !shows("Test form C is due") {
		t.Error("the third form is not proposed")
	}
	n.press(t, "test")
	if shows("nearer") {
		t.Error("what changed is told at once")
	}
	n.press(t, "change")
	if !shows("1.0 dB nearer") { // from 33 dB over twenty rounds to two fifths of that
		t.Error("what changed is not told")
	}
}

// Where the next round of an exam waits for a server that is away, that is told; whoever
// leaves the round is not told any more, and the first screen leads back to the exam,
// of which nothing has been locked yet.
func TestExamWithoutItsServer(t *testing.T) {
	n := newNavigation(t)
	away, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	away.Close()
	exam := sheet.New(4711)
	exam.Exam = true
	if n.session.Series, err = practice.NewSeries(exam, "Moonrake", "http://"+away.Addr().String(), "Evening class"); err != nil {
		t.Fatal(err)
	}
	n.Help()
	n.PlaySeries()
	for end := time.Now().Add(time.Minute); !strings.Contains(n.screen.Notice, "does not answer"); n.update() {
		if n.screen.Notice == "" || time.Now().After(end) {
			t.Fatalf("it is told: %q", n.screen.Notice)
		}
	}
	n.Home()
	n.screen.M = draw.Measure(1280, 800, 1, 1)
	n.screen.DrawStatic(&draw.Slate, n.scene().Draw)
	n.update()
	if n.screen.Notice != "" || n.screen.Picture.Drawn() {
		t.Errorf("left, it is told: %q, and stays drawn: %v", n.screen.Notice, n.screen.Picture.Drawn())
	}
	if !slices.ContainsFunc(draw.Items(n.screen.M, &draw.Slate, n.scene().Draw), func(i draw.Item) bool { return strings.Contains(i.Label, "as Moonrake you have") }) {
		t.Error("the first screen does not tell of the exam")
	}
}
