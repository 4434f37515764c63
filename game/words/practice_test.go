package words_test

import (
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
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

// What is told of errors counts the takes that have one: "trust the meter?" asks which needle
// is right, and is no decibels off.
func TestNumbersOfErrors(t *testing.T) {
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		level, choice int
		want          string
	}{
		{13, 2, "13 takes · +2.0 dB · spread 0.0 dB"},
		{9, 2, "9 takes, 10 needed"},
		{0, 15, "15 takes, without an error in dB"},
		{0, 1, "1 take, without an error in dB"},
		{0, 0, "0 takes, 10 needed"},
	} {
		b := &progress.Book{}
		for i := range c.level + c.choice {
			b.Add(progress.Mark{Drill: drills.SetTake, Family: source.Voice, At: time.Unix(int64(i)*60, 0), ErrorDB: 2, NoError: i >= c.level})
		}
		if got := w.BiasNote(b.Summary(progress.Key{}, 0)); got != c.want {
			t.Errorf("%d takes with an error and %d without: %q, want %q", c.level, c.choice, got, c.want)
		}
	}
}
