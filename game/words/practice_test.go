package words_test

import (
	"testing"

	"slowneedle/audio/source"
	"slowneedle/drills/plan"
	"slowneedle/game/words"
)

func TestPracticeWords(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	rounds := make([]plan.Round, 12)
	voice := plan.Turn{Family: source.Voice}
	for _, tt := range []struct {
		s    plan.Summary
		want string
	}{
		{plan.Summary{Rounds: rounds, Right: 12}, "Practice over: 12 of 12 rounds right. Give your ears ten minutes before the next."},
		{plan.Summary{Rounds: rounds, Right: 9, Steps: []plan.Step{{From: 3, To: 5}, {From: 4, To: 3}}, Rest: plan.Tomorrow},
			"Practice over: 9 of 12 rounds right. 1 step gained. Enough for today."},
		{plan.Summary{Rounds: rounds, Right: 3, Steps: []plan.Step{{From: 3, To: 2}}, Habit: plan.Habit{Turn: voice, Times: 3, DB: 1.5}},
			"Practice over: 3 of 12 rounds right. On “voice” the last 3 were too hot: stop 1.5 dB earlier. Give your ears ten minutes before the next."},
		{plan.Summary{Rounds: rounds, Right: 3, Habit: plan.Habit{Turn: voice, Times: 4, DB: -2}},
			"Practice over: 3 of 12 rounds right. On “voice” the last 4 were too low: go 2.0 dB further. Give your ears ten minutes before the next."},
	} {
		if got := w.PracticeWords(tt.s); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}
