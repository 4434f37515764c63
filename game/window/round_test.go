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
)

// isFader accepts the news that the fader was moved.
func isFader(e event) bool { return e.is("fader") }

// checkVerdict wants the verdict on the screen to be that of the pure function.
func checkVerdict(t *testing.T, e event) drills.Verdict {
	t.Helper()
	data, err := json.Marshal(e)
	if err != nil {
		t.Fatal(err)
	}
	var said struct {
		Drill    string          `json:"drill"`
		Seed     uint64          `json:"seed"`
		Index    int             `json:"index"`
		Level    int             `json:"level"`
		Settings drills.Settings `json:"settings"`
		Take     drills.Take     `json:"take"`
		Verdict  drills.Verdict  `json:"verdict"`
	}
	if err := json.Unmarshal(data, &said); err != nil {
		t.Fatal(err)
	}
	ex, err := drills.NewExercise(said.Drill, said.Seed, said.Index, said.Level, said.Settings)
	if err != nil {
		t.Fatal(err)
	}
	want, err := ex.Judge(said.Take)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, said.Verdict); diff != "" {
		t.Errorf("the window's verdict differs from the function's (-function +window):\n%s", diff)
	}
	return said.Verdict
}

// checkJournal wants the verdicts in the journal, in order, and worked out again
// from the takes that are kept with them.
func (a *app) checkJournal(want ...drills.Verdict) {
	a.t.Helper()
	j, err := journal.OpenReadOnly(filepath.Join(a.home, "data", "slowneedle", "journal.db"))
	if err != nil {
		a.t.Fatal(err)
	}
	defer j.Close()
	n := 0
	for e, err := range j.All() {
		if err != nil {
			a.t.Fatal(err)
		}
		if n < len(want) {
			if diff := cmp.Diff(want[n], e.Verdict); diff != "" {
				a.t.Errorf("take %d: the journal's verdict differs (-window +journal):\n%s", n, diff)
			}
		}
		again, err := judgeAgain(e)
		if err != nil {
			a.t.Errorf("take %d cannot be judged again: %v", n, err)
		} else if math.Abs(again.ErrorDB-e.Verdict.ErrorDB) > 0.01 || again.Points != e.Verdict.Points {
			a.t.Errorf("take %d judged again: %+v, kept %+v", n, again, e.Verdict)
		}
		n++
	}
	if n != len(want) {
		a.t.Errorf("the journal has %d takes, want %d", n, len(want))
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
	t.Parallel()
	a := start(t, options{settings: `{"drill": "take"}`})
	a.screen("cautions")
	a.shot("cautions-1280x800")
	a.press("Return", func() event { return a.screen("home") })
	a.shot("home-1280x800")
	a.press("Return", func() event { return a.screen("round") })
	a.shot("card-1280x800")
	begin := a.press("Return", func() event { return a.next("start of the sound", func(e event) bool { return e.is("begin") }) })
	aim := nearAim(begin.num("aim"))

	// As far as each size of step brings it nearer.
	at := desk.FaderMin
	move := func(size float64, keys ...string) {
		for math.Abs(aim-at) > size/2+1e-6 {
			key := keys[0]
			if aim < at {
				key = keys[1]
			}
			at = a.press(key, func() event { return a.next("fader move", isFader) }).num("db")
		}
	}
	move(3, "Prior", "Next")
	move(1, "Up", "Down")
	a.hands("keydown", "shift")
	a.shift = true
	move(0.1, "Up", "Down")
	a.shift = false
	a.hands("keyup", "shift")
	a.letGo()
	a.shot("round-1280x800")

	e := a.press("Return", func() event { return a.next("verdict", func(e event) bool { return e.is("verdict") }) })
	a.screen("verdict")
	a.shot("verdict-1280x800")
	v := checkVerdict(t, e)
	if !v.InWindow || v.Points != 100 || math.Abs(v.FaderDB-aim) > 0.051 {
		t.Errorf("the fader was set to the aim %.1f dB, the verdict is %+v", aim, v)
	}
	if v.MoveCount == 0 || v.Seconds <= 0 {
		t.Errorf("%d moves in %.1f s, want some", v.MoveCount, v.Seconds)
	}
	heard := a.press("a", func() event { return a.next("comparison", func(e event) bool { return e.is("compare") }) })
	if heard.num("heard") != 0 {
		t.Errorf("heard %v, want the aim", heard["heard"])
	}
	a.shot("verdict-hearing-1280x800")
	a.press("h", func() event { return a.screen("help") })
	a.shot("help-1280x800")
	a.press("Escape", func() event { return a.screen("verdict") })
	a.press("Return", func() event { return a.screen("round") })
	a.press("Escape", func() event { return a.screen("home") })
	a.leave()
	a.checkJournal(v)
	if code := a.cmd.ProcessState.ExitCode(); code != 0 {
		t.Errorf("left with code %d, want 0", code)
	}
}

func TestARoundByMouse(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	home := a.screen("home")
	x, y := home.place(t, "fold.family")
	home = a.click(x, y, func() event { return a.screen("home") })
	x, y = home.place(t, "family.voice")
	home = a.click(x, y, func() event { return a.screen("home") })
	x, y = home.place(t, "start")
	card := a.click(x, y, func() event { return a.screen("round") })
	x, y = card.place(t, "key.enter")
	begin := a.click(x, y, func() event { return a.next("start of the sound", func(e event) bool { return e.is("begin") }) })
	round := a.next("the fader", func(e event) bool {
		places, _ := e["places"].(map[string]any)
		_, ok := places["slider.0.track"]
		return e.is("screen") && ok
	})
	if got := begin.str("family"); got != "voice" {
		t.Errorf("a round of %q, want the voice that was clicked", got)
	}
	// Drag the knob to the aim.
	x, y = round.place(t, "slider.0.knob")
	track := round["places"].(map[string]any)["slider.0.track"].([]any)
	top, h := track[1].(float64), track[3].(float64)
	aim := nearAim(begin.num("aim"))
	to := top + h*(desk.FaderMax-aim)/(desk.FaderMax-desk.FaderMin)
	a.moveTo(x, y)
	a.hands("mousedown", "1")
	for i := 1; i <= 12; i++ {
		a.moveTo(x, y+(to-y)*float64(i)/12)
	}
	px := (desk.FaderMax - desk.FaderMin) / h // dB a pixel
	a.next(fmt.Sprintf("fader near %.1f dB", aim), func(e event) bool {
		return isFader(e) && math.Abs(e.num("db")-aim) <= px+0.05
	})
	a.hands("mouseup", "1")
	a.letGo()
	a.shot("round-mouse-1280x800")
	x, y = round.place(t, "key.enter")
	e := a.click(x, y, func() event { return a.next("verdict", func(e event) bool { return e.is("verdict") }) })
	a.screen("verdict")
	a.shot("verdict-mouse-1280x800")
	v := checkVerdict(t, e)
	if math.Abs(v.FaderDB-aim) > px+0.06 {
		t.Errorf("dragged to %.1f dB, the aim is at %.1f dB", v.FaderDB, aim)
	}
}

// The wheel moves the fader too.
func TestTheWheel(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	a.screen("home")
	a.press("Return", func() event { return a.screen("round") })
	a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	a.moveTo(400, 400)
	a.hands("click", "4")
	if e := a.next("fader move", isFader); e.num("db") <= desk.FaderMin {
		t.Errorf("the wheel moved the fader to %g dB", e.num("db"))
	}
}
