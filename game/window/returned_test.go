package window

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/series"
	"slowneedle/drills/testfiles"
)

// returned writes a series of two rounds into a folder, and what comes back of it
// from a desk made of sox that brings the first up to its aim, and the second 4 dB
// higher. The answer sheet lies beside it under the same name.
func returned(t *testing.T, dir string) (wav, answers string) {
	t.Helper()
	const gap = 2.0
	sent := filepath.Join(dir, "series.wav")
	wav, answers = filepath.Join(dir, "Moonrake.wav"), filepath.Join(dir, "Moonrake.answers.json")
	a := testfiles.Series(t, series.Plan{Seed: 5, Count: 2, Family: source.Voice, Rig: drills.DigitalRig(), RoundSeconds: 7, GapSeconds: gap}, sent, answers)
	piece := func(from, to, db float64) []string {
		return []string{"-v", fmt.Sprintf("%.9f", audio.Gain(db)), fmt.Sprintf("|sox -V1 %s -e floating-point -b 32 -t wav - trim %.6f %.6f", sent, from, to-from)}
	}
	inputs := append([]string{"-R", "-V1"}, piece(0, a.LineUp.EndS+gap/2, 0)...)
	for i, r := range a.Rounds {
		inputs = append(inputs, piece(r.StartS-gap/2, r.EndS+gap/2, r.AimDB+4*float64(i))...)
	}
	if out, err := exec.Command("sox", append(inputs, "-r", "44100", "-b", "16", wav)...).CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	return wav, answers
}

// What came back of a series from a real desk is dropped: its rounds are judged one
// after the other, and kept apart from the rest of the history, once.
func TestReturnDropped(t *testing.T) {
	inTurn(t)
	wav, answers := returned(t, t.TempDir())
	a := start(t, options{settings: calm})
	a.Screen("home")
	from := dragFrom(a)
	from.drop(wav, answers)
	if e := a.Event("return"); e.Num("rounds") != 2 || e.Num("right") != 1 || e["kept"] != true {
		t.Errorf("the return: %v", e)
	}
	walk := func(shot string) {
		t.Helper()
		if e := a.Screen("verdict"); !e.Says("Real desk") || !e.Says("round 1 of 2 that came back") || !e.Says("Spot on") && !e.Says("In the window") {
			t.Errorf("the first verdict: %v", e["texts"])
		}
		a.Shot("return-right" + shot)
		e := a.To("Return", "verdict")
		if !e.Says("dB too hot") || !e.Says("round 2 of 2 that came back") {
			t.Errorf("the second verdict: %v", e["texts"])
		}
		a.Shot("return-hot" + shot)
		e = a.To("Return", "progress")
		if !e.Says("2 rounds at a real desk") {
			t.Errorf("progress: %v", e["texts"])
		}
		a.Shot("return-progress" + shot)
	}
	walk("")
	e := a.To("t", "progress")
	if e.Says("2 takes") {
		t.Error("the rounds count among the takes made here")
	}
	a.To("Escape", "home")

	// Its answer sheet is found beside it, and it is kept once.
	from.drop(wav)
	a.Notice("New in your history: 0 rounds")
	walk("-again")

	// The answer sheet alone asks for the rest.
	from.drop(answers)
	a.Notice("2 rounds. Now drop the recording that came back")
	a.To("Escape", "home")
	a.leave()
}
