package practice

import (
	"runtime"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/listen"
	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/drills/series"
	"slowneedle/game/given"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// played is an assignment of a drill that is being played.
func played(t *testing.T, drill string, level int) *Play {
	t.Helper()
	ex, err := drills.NewExercise(drill, 21, 0, level, drills.Settings{})
	if err != nil {
		t.Fatal(err)
	}
	p, err := NewPlay(&Assignment{Exercise: ex}, store.DefaultSettings())
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// hearFor plays some seconds.
func (p *Play) hearFor(seconds float64) { p.Desk.Pull(make([]float32, 2*int(seconds*audio.Rate))) }

// The answer is where the hand left the fader, even where the sound has not come that far
// yet, and no move is later than the lock. The rule finds it there.
func TestTakeIsWhereTheHandLeftIt(t *testing.T) {
	p := played(t, drills.SetTake, 3)
	if key := p.Missing(p.Take(), 0); key != "round.move_first" {
		t.Errorf("untouched it lacks %q", key)
	}
	p.Set(0, -20)
	p.hearFor(1)
	p.Set(0, -12.5)
	take := p.Take()
	if len(take.Moves) != 2 || take.Moves[1].To != -12.5 || take.LockAt < take.Moves[1].At || take.LockAt < p.Desk.Position() {
		t.Errorf("%+v at %d", take, p.Desk.Position())
	}
	if v, err := p.A.Judge(take); err != nil || v.FaderDB != -12.5 || v.MoveCount != 2 {
		t.Errorf("judged: the fader at %v after %d moves, %v", v.FaderDB, v.MoveCount, err)
	}
	p.hearFor(1)
	if again := p.Take(); len(again.Moves) != 2 || again.LockAt != p.Desk.Position() || p.Missing(again, 0) != "" {
		t.Errorf("a second later %+v at %d", again, p.Desk.Position())
	}
	p.ShowMe()
	if p.Set(0, -30) {
		t.Error("a hand moves the fader in a demonstration")
	}
}

// While the sound card is being filled, moves count that are later than the last frame it was
// handed: the lock is no earlier than any of them, or the rule would refuse the answer.
func TestTakeWhileTheSoundGoesOn(t *testing.T) {
	p := played(t, drills.SetTake, 3)
	stop, ended := make(chan bool), make(chan bool)
	go func() {
		defer close(ended)
		for {
			select {
			case <-stop:
				return
			default:
				p.hearFor(1)
				runtime.Gosched()
			}
		}
	}()
	for i := range 300 {
		asked := len(p.Desk.Moves())
		p.Set(0, -20+float64(i%2))
		for len(p.Desk.Moves()) == asked {
			runtime.Gosched()
		}
		take := p.Take()
		if last := take.Moves[len(take.Moves)-1]; take.LockAt < last.At {
			t.Errorf("locked at %d, after a move at %d", take.LockAt, last.At)
			break
		}
		if _, err := p.A.Judge(take); err != nil {
			t.Errorf("refused: %v", err)
			break
		}
	}
	close(stop)
	<-ended
}

// Once the time is over an answer is locked as it stands.
func TestLateIsLocked(t *testing.T) {
	desk := played(t, drills.WholeDesk, 3)
	end := int64(desk.A.Seconds * audio.Rate)
	if end <= 0 || desk.Late(end-1) || !desk.Late(end) {
		t.Errorf("%v s: late at %d", desk.A.Seconds, end)
	}
	if before, after := desk.Missing(desk.Take(), end-1), desk.Missing(desk.Take(), end); before == "" || after != "" {
		t.Errorf("before the end it lacks %q, after it %q", before, after)
	}
	p := played(t, drills.TrustIt, 3)
	if key := p.Missing(p.Take(), 0); key != "round.choose_first" {
		t.Errorf("it lacks %q", key)
	}
	p.Choose(-1) // before the first comes the last
	if take := p.Take(); take.Choice == nil || *take.Choice != len(p.A.Ask.Choices)-1 {
		t.Errorf("%+v", take)
	}
}

// newSession is a session without a journal.
func newSession(t *testing.T, told *[]string) *Session {
	t.Helper()
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	return NewSession(1, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(&progress.Book{}, w, silentReports(told)))
}

// What comes in at the line input is judged from three seconds on.
func TestHearNeedsThreeSeconds(t *testing.T) {
	var told []string
	p, ear := newSession(t, &told), listen.New(EarSeconds, -6, 0.15)
	noise := make([]float32, 2*audio.Rate)
	for i := range noise {
		noise[i] = float32(i%97)/400 - 0.12
	}
	ear.Take([2][]float32{noise, noise})
	if _, err := p.Hear(ear, 0)(); err == nil || !strings.Contains(err.Error(), "at least 3 seconds") {
		t.Errorf("after 2 seconds: %v", err)
	}
	ear.Take([2][]float32{noise, noise})
	if a, err := p.Hear(ear, 0)(); err != nil || a.Number() != 1 || a.HeardTake().LockAt != 4*audio.Rate {
		t.Errorf("after 4 seconds: %v", err)
	}
}

// The newest recordings are kept, each once, and their paths in the settings.
func TestRecordingsAreBounded(t *testing.T) {
	var told []string
	p := newSession(t, &told)
	for i := range MaxRecordings + 6 {
		p.add(given.At("/music/"+strconv.Itoa(i)+".wav"), said.Sentence{})
	}
	p.add(given.At("/music/9.wav"), said.Sentence{}) // again
	if n := len(p.Own.List); n != MaxRecordings || p.Own.List[0].Name != "6.wav" || p.Own.List[n-1].Name != "9.wav" || len(p.Prefs.Recordings) != n {
		t.Errorf("%d recordings, the first %s, the last %s, %d in the settings", n, p.Own.List[0].Name, p.Own.List[n-1].Name, len(p.Prefs.Recordings))
	}
	if p.ForgetRecordings(); len(p.Own.List)+len(p.Prefs.Recordings) > 0 || p.Prefs.Family != "" {
		t.Errorf("emptied: %v, %v, family %q", p.Own.List, p.Prefs.Recordings, p.Prefs.Family)
	}
}

// What came back from a real desk has its place in its series, and is no round of a
// practice, which would count it.
func TestReturnIsNoPractice(t *testing.T) {
	p := played(t, drills.SetTake, 1)
	back := &Return{Judged: &series.Judged{Rounds: make([]series.JudgedRound, 2)}, of: 3,
		exercise: func(int) (*drills.Exercise, error) { return p.A.Exercise, nil }}
	a, err := back.Assignment(1)
	if err != nil || a.Practised() || a.Number() != 2 || back.Over() || back.Rounds() != 3 {
		t.Errorf("%+v, %v", a, err)
	}
}
