package words_test

import (
	"testing"

	"slowneedle/audio/source"
	"slowneedle/drills/plan"
	"slowneedle/game/words"
)

func TestHabit(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	voice := plan.Turn{Family: source.Voice}
	for _, tt := range []struct {
		h    plan.Habit
		want string
	}{
		{plan.Habit{}, "No habit stands out."},
		{plan.Habit{Turn: voice, Times: 3, DB: 1.5}, "On “voice” the last 3 were too hot: stop 1.5 dB earlier."},
		{plan.Habit{Turn: voice, Times: 4, DB: -2}, "On “voice” the last 4 were too low: go 2.0 dB further."},
	} {
		if got := w.Habit(tt.h); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}
