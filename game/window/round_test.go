package window

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/game/window/drive"
)

// faders waits for the screen of a round that plays.
func (a *app) faders() event {
	a.T.Helper()
	return a.Next("the fader", func(e event) bool {
		_, ok := e.Places()["slider.0.track"]
		return e.Is("screen") && ok
	})
}

// checkJournal wants the verdicts in the journal, in order, and worked out again
// from the takes that are kept with them.
func (a *app) checkJournal(want ...drills.Verdict) {
	a.T.Helper()
	j, err := journal.OpenReadOnly(filepath.Join(a.home, "data", "slowneedle", "journal.db"))
	if err != nil {
		a.T.Fatal(err)
	}
	defer j.Close()
	n := 0
	for e, err := range j.All() {
		if err != nil {
			a.T.Fatal(err)
		}
		if n < len(want) {
			if diff := cmp.Diff(want[n], e.Verdict); diff != "" {
				a.T.Errorf("take %d: the journal's verdict differs (-window +journal):\n%s", n, diff)
			}
		}
		again, err := judgeAgain(e)
		if err != nil {
			a.T.Errorf("take %d cannot be judged again: %v", n, err)
		} else if math.Abs(again.ErrorDB-e.Verdict.ErrorDB) > 0.01 || again.Points != e.Verdict.Points {
			a.T.Errorf("take %d judged again: %+v, kept %+v", n, again, e.Verdict)
		}
		n++
	}
	if n != len(want) {
		a.T.Errorf("the journal has %d takes, want %d", n, len(want))
	}
}

// judgeAgain makes the exercise of a take again and judges what was answered.
func judgeAgain(e journal.Entry) (drills.Verdict, error) {
	var s drills.Settings
	if err := json.Unmarshal(e.Settings, &s); err != nil {
		return drills.Verdict{}, err
	}
	ex, err := drills.NewExercise(e.Drill, e.Seed, e.Index, e.Level, s)
	if err != nil {
		return drills.Verdict{}, err
	}
	return ex.Judge(e.Take)
}

// nearAim is the fader setting a hand can reach that is nearest to an aim.
func nearAim(aim float64) float64 {
	return math.Max(desk.FaderMin, math.Min(desk.FaderMax, math.Round(aim*10)/10))
}

func TestARoundByKeyboard(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: `{"drill": "take"}`})
	a.Screen("cautions")
	a.Shot("cautions-1280x800")
	a.To("Return", "home")
	a.Shot("home-1280x800")
	a.To("Return", "round")
	a.Shot("card-1280x800")
	begin := a.For("Return", "begin")
	aim := nearAim(begin.Num("aim"))

	// As far as each size of step brings it nearer.
	at := desk.FaderMin
	move := func(size float64, keys ...string) {
		for math.Abs(aim-at) > size/2+1e-6 {
			key := keys[0]
			if aim < at {
				key = keys[1]
			}
			at = a.For(key, "fader").Num("db")
		}
	}
	move(3, "Prior", "Next")
	move(1, "Up", "Down")
	a.hands("keydown", "shift")
	a.Shift = true
	move(0.1, "Up", "Down")
	a.Shift = false
	a.hands("keyup", "shift")
	a.LetGo()
	a.Shot("round-1280x800")

	e, _ := a.Lock()
	a.Shot("verdict-1280x800")
	v := drive.CheckVerdict(t, e)
	if !v.InWindow || v.Points != 100 || math.Abs(v.FaderDB-aim) > 0.051 {
		t.Errorf("the fader was set to the aim %.1f dB, the verdict is %+v", aim, v)
	}
	if v.MoveCount == 0 || v.Seconds <= 0 {
		t.Errorf("%d moves in %.1f s, want some", v.MoveCount, v.Seconds)
	}
	heard := a.For("a", "compare")
	if heard.Num("heard") != 0 {
		t.Errorf("heard %v, want the aim", heard["heard"])
	}
	a.Shot("verdict-hearing-1280x800")
	a.To("h", "help")
	a.Shot("help-1280x800")
	a.To("Escape", "verdict")
	a.To("Return", "round")
	a.To("Escape", "home")
	a.leave()
	a.checkJournal(v)
	if code := a.cmd.ProcessState.ExitCode(); code != 0 {
		t.Errorf("left with code %d, want 0", code)
	}
}

// A round by mouse alone: by its wheel, and by dragging the knob.
func TestARoundByMouse(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: calm})
	home := a.ClickOn(a.Screen("home"), "fold.family", "home")
	home = a.ClickOn(home, "family.voice", "home")
	card := a.ClickOn(home, "start", "round")
	x, y := card.Place(t, "key.enter")
	begin := a.Click(x, y, func() event { return a.Event("begin") })
	round := a.faders()
	if got := begin.Str("family"); got != "voice" {
		t.Errorf("a round of %q, want the voice that was clicked", got)
	}
	// The wheel moves the fader, and is taken back.
	a.moveTo(400, 400)
	a.hands("click", "4")
	if e := a.Event("fader"); e.Num("db") <= desk.FaderMin {
		t.Errorf("the wheel moved the fader to %g dB", e.Num("db"))
	}
	a.hands("click", "5")
	a.Event("fader")

	// Drag the knob to the aim.
	x, y = round.Place(t, "slider.0.knob")
	track := round.Box(t, "slider.0.track")
	aim := nearAim(begin.Num("aim"))
	to := track.Y + track.H*(desk.FaderMax-aim)/(desk.FaderMax-desk.FaderMin)
	a.moveTo(x, y)
	a.hands("mousedown", "1")
	for i := 1; i <= 12; i++ {
		a.moveTo(x, y+(to-y)*float64(i)/12)
	}
	px := (desk.FaderMax - desk.FaderMin) / track.H // dB a pixel
	a.Next(fmt.Sprintf("fader near %.1f dB", aim), func(e event) bool {
		return e.Is("fader") && math.Abs(e.Num("db")-aim) <= px+0.05
	})
	a.hands("mouseup", "1")
	a.LetGo()
	a.Shot("round-mouse-1280x800")
	x, y = round.Place(t, "key.enter")
	e := a.Click(x, y, func() event { return a.Event("verdict") })
	a.Screen("verdict")
	a.Shot("verdict-mouse-1280x800")
	v := drive.CheckVerdict(t, e)
	if math.Abs(v.FaderDB-aim) > px+0.06 {
		t.Errorf("dragged to %.1f dB, the aim is at %.1f dB", v.FaderDB, aim)
	}
}
