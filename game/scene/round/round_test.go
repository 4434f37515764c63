package round

import (
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/output"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
	"slowneedle/game/words"
)

// device is a sound device that plays nothing and tells what was asked of it.
type device struct {
	playing output.Puller
	paused  bool
	heard   int64 // frames
}

func (d *device) Play(s output.Puller) { d.playing, d.paused = s, false }
func (d *device) Pause(hold bool)      { d.paused = hold }
func (d *device) Stop()                { d.playing = nil }
func (d *device) Heard() int64         { return d.heard }
func (d *device) Quiet() bool          { return false }

// at is a round of Set the take, on its card.
func at(t *testing.T, d *device) *Scene { return of(t, d, drills.SetTake) }

// of is a round of a drill, on its card.
func of(t *testing.T, d *device, drill string) *Scene {
	t.Helper()
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	screen := widget.NewScreen(w, func(string, map[string]any) {})
	prefs := store.NewKeeper(store.DefaultSettings(), screen.Redraw)
	records := practice.NewRecords(&progress.Book{}, w, practice.Reports{Tell: screen.Tell, Note: screen.Note, Changed: screen.Redraw})
	session := practice.NewSession(21, "test", prefs, records)
	prefs.Drill = drill
	a, err := session.Start().Wait()
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(scene.Base{Screen: screen, To: nowhere{}}, nowhere{}, session, d, a)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// nowhere leads to no other screen.
type nowhere struct{ scene.Guide }

func (nowhere) Home()                                 {}
func (nowhere) Next(*practice.Assignment)             {}
func (nowhere) Again(*practice.Assignment)            {}
func (nowhere) Judged(*Result)                        {}
func (nowhere) Estimate(*Result, func(*Result, bool)) {}

func action(t *testing.T, all []hand.Action, id string) hand.Action {
	t.Helper()
	i := slices.IndexFunc(all, func(a hand.Action) bool { return a.ID == id })
	if i < 0 {
		t.Fatalf("there is no action %q", id)
	}
	return all[i]
}

// With fine steps the arrows move the fader by a tenth of a decibel and say so.
func TestFineStepsAreNamed(t *testing.T) {
	s := at(t, &device{})
	action(t, s.Actions(), "enter").Do()
	for _, c := range []struct {
		label string
		by    float64
	}{{"1 dB", 1}, {"0.1 dB", 0.1}, {"1 dB", 1}} {
		down := action(t, s.Actions(), "down")
		before := s.p.Value(0)
		action(t, s.Actions(), "up").Do()
		if moved := s.p.Value(0) - before; down.Label != c.label || moved < c.by-1e-9 || moved > c.by+1e-9 {
			t.Errorf("the arrows say %q and move %.2f dB, want %q", down.Label, moved, c.label)
		}
		action(t, s.Actions(), "fine").Do()
	}
}

// Help that is laid over a round or its verdict lets the sound wait, and it goes
// on afterwards, unless it was paused before.
func TestHelpLetsTheSoundWait(t *testing.T) {
	d := &device{}
	s := at(t, d)
	action(t, s.Actions(), "enter").Do()
	for _, paused := range []bool{false, true} {
		s.Suspend()
		if !d.paused {
			t.Error("the round goes on under the help")
		}
		if s.Resume(); d.paused != paused {
			t.Errorf("after the help the round is paused: %v, want %v", d.paused, paused)
		}
		action(t, s.Actions(), "space").Do()
	}
	take := s.p.A.ShowMe()
	take.LockAt = max(take.LockAt, audio.Rate)
	v, err := s.p.A.Judge(take)
	if err != nil {
		t.Fatal(err)
	}
	verdict := NewVerdict(s.Base, nowhere{}, s.session.Prefs, d, &Result{A: s.p.A, Take: take, Verdict: v})
	action(t, verdict.Actions(), "aim").Do()
	for end := time.Now().Add(time.Minute); d.playing == nil || verdict.compare == nil; verdict.Update(nil) {
		if time.Now().After(end) {
			t.Fatal("the comparison does not begin")
		}
	}
	if verdict.Suspend(); !d.paused {
		t.Error("the comparison goes on under the help")
	}
	if verdict.Resume(); d.paused || d.playing == nil {
		t.Error("after the help the comparison does not go on")
	}
}

// While the programme meter is shown the task, and afterwards the verdict, is told in
// its marks: 0 VU reads 5 there.
func TestProgrammeMeterTalk(t *testing.T) {
	s := at(t, &device{})
	ex, err := drills.NewExercise(drills.LineUp, 1, 0, 1, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	s.p.A = &practice.Assignment{Exercise: ex}
	vu := s.footText()
	s.meters.programme = true
	if marks := s.footText(); !strings.Contains(vu, " VU") || !strings.Contains(marks, "mark 5 ") || strings.Contains(marks, "VU") {
		t.Errorf("on the needle %q, on the programme meter %q", vu, marks)
	}
	take := ex.ShowMe()
	v, err := ex.Judge(take)
	if err != nil {
		t.Fatal(err)
	}
	for _, programme := range []bool{false, true} {
		shown := NewVerdict(s.Base, nil, s.session.Prefs, s.sound, &Result{A: s.p.A, Take: take, Verdict: v, Programme: programme})
		_, reason := shown.Verdict.Sentences(s.VerdictWords())
		for _, text := range []string{reason, s.Put(shown.solution)} {
			if strings.Contains(text, "5") != programme {
				t.Errorf("programme meter %v: %q", programme, text)
			}
		}
	}
}

// The verdict of Match by ear compares the first source with the one that it is about.
func TestMatchComparesWithA(t *testing.T) {
	s := at(t, &device{})
	ex, err := drills.NewExercise(drills.MatchEar, 1, 0, 8, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	s.p.A = &practice.Assignment{Exercise: ex}
	if got := s.compared(); got != 3 {
		t.Errorf("the needles of %d channels are kept, want 3", got)
	}
	take := ex.ShowMe()
	take.Moves = append(take.Moves, drills.Move{At: take.LockAt, Control: 2, To: -36})
	v, err := ex.Judge(take)
	if err != nil {
		t.Fatal(err)
	}
	shown := NewVerdict(s.Base, nil, s.session.Prefs, s.sound, &Result{A: s.p.A, Take: take, Verdict: v})
	if got := shown.compared(); !slices.Equal(got, []int{0, 2}) {
		t.Errorf("with C far too quiet the strip shows %v, want A and C", got)
	}
}

// Whoever goes from fader to fader by the page's own controls, by the tab key or a screen
// reader, moves with the arrows the one that has the focus.
func TestFocusChoosesTheFader(t *testing.T) {
	s := of(t, &device{}, drills.WholeDesk)
	action(t, s.Actions(), "enter").Do()
	in := &hand.State{}
	in.Control = page.Event{Kind: page.Focus, Name: "slider.2.knob"}
	s.Update(in)
	before := make([]float64, len(s.p.Controls))
	for i := range before {
		before[i] = s.p.Value(i)
	}
	action(t, s.Actions(), "up").Do()
	for i, was := range before {
		if moved := s.p.Value(i) != was; moved != (i == 2) {
			t.Errorf("with the focus on the third fader, up moves fader %d from %g to %g dB", i+1, was, s.p.Value(i))
		}
	}
}
