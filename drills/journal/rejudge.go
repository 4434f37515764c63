package journal

import (
	"encoding/json"
	"errors"
	"fmt"

	"slowneedle/drills"
)

// Rejudge makes the round of a take again from its seed, index and settings,
// and gives the verdict on its moves: that of the entry to 0.01 dB. It is for
// drills whose settings are drills.Settings; the error says what is missing
// for others.
func Rejudge(e Entry) (drills.Verdict, error) {
	var s drills.Settings
	if len(e.Settings) > 0 {
		if err := json.Unmarshal(e.Settings, &s); err != nil {
			return drills.Verdict{}, fmt.Errorf("journal: settings of take %s: %w", e.ID, err)
		}
	}
	r, err := drills.NewRound(e.Seed, e.Index, s)
	if err != nil {
		return drills.Verdict{}, fmt.Errorf("journal: making the round of take %s again: %w", e.ID, err)
	}
	if r == nil {
		return drills.Verdict{}, errors.New("journal: no round")
	}
	return drills.Judge(r, e.Take)
}
