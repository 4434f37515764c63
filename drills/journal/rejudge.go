package journal

import (
	"encoding/json"
	"fmt"

	"slowneedle/audio/source"
	"slowneedle/drills"
)

// Rejudge makes the exercise of a take again from its drill, seed, index, level
// and settings, and gives the verdict on its moves: that of the entry to
// 0.01 dB. A take on a recording of the learner's own cannot be judged again
// here, for the journal does not have the recording; the error says so, or what
// is wrong with the entry.
func Rejudge(e Entry) (drills.Verdict, error) {
	v, err := rejudge(e)
	if err != nil {
		return drills.Verdict{}, fmt.Errorf("journal: judging take %s again: %w", e.ID, err)
	}
	return v, nil
}

func rejudge(e Entry) (drills.Verdict, error) {
	var s drills.Settings
	if len(e.Settings) > 0 {
		if err := json.Unmarshal(e.Settings, &s); err != nil {
			return drills.Verdict{}, fmt.Errorf("settings: %w", err)
		}
	}
	if e.Family == source.Own {
		return drills.Verdict{}, fmt.Errorf("its sound is a recording of the learner's own")
	}
	ex, err := drills.NewExercise(e.Drill, e.Seed, e.Index, e.Level, s)
	if err != nil {
		return drills.Verdict{}, err
	}
	return ex.Judge(e.Take)
}
