// Package store keeps settings and files on the disk or in the browser. It owns the
// settings and needs no display.
package store

import (
	"encoding/json"
	"slices"

	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/plan"
)

// Settings is what the trainer remembers between two starts.
type Settings struct {
	Theme       string        `json:"theme"`
	Language    string        `json:"language"`
	TextPercent float64       `json:"text_percent"`
	MonitorDB   float64       `json:"monitor_db"`
	LessFlash   bool          `json:"reduced_flashing"`
	RedArc      bool          `json:"red_arc"`      // of the needle's scale, from 0 VU on
	HearNeedle  bool          `json:"needle_heard"` // as a tone beside the sound
	LessMotion  bool          `json:"reduced_motion"`
	CautionSeen bool          `json:"caution_seen"`
	Drill       string        `json:"drill"`  // empty is what the learner needs most
	Family      source.Family `json:"family"` // empty takes turns
	RigChoice   string        `json:"rig_choice"`
	MyRig       drills.Rig    `json:"my_rig"`
	// Length is that of a practice, Practice the one under way, and PracticeDrill and
	// PracticeFamily what it keeps to; empty is any.
	Length         string        `json:"practice_length"`
	Practice       plan.Practice `json:"practice"`
	PracticeDrill  string        `json:"practice_drill,omitempty"`
	PracticeFamily source.Family `json:"practice_family,omitempty"`
	Feedback       string        `json:"feedback"` // which rounds of a practice have a verdict
	Estimate       bool          `json:"estimate"` // how far off one is is asked before the verdict
	// LeftRound is the round that counts and was left before it was locked, if it was the
	// last of these, and TimeLeft the seconds that are left to answer it.
	LeftRound string  `json:"left_round,omitempty"`
	TimeLeft  float64 `json:"time_left,omitempty"`
	// Recordings are the paths of the learner's own.
	Recordings []string `json:"recordings,omitempty"`
	// Input is the line input that may be listened at, as the system calls it; empty is
	// none. InputName is its name for people.
	Input     string `json:"input,omitempty"`
	InputName string `json:"input_name,omitempty"`
}

// The themes by name.
const (
	ThemeSlate = "slate"
	ThemePaper = "paper"
)

// The lengths of a practice by name.
const (
	LengthShort  = "short"
	LengthNormal = "normal"
	LengthLong   = "long"
)

// Which rounds of a practice have a verdict, by name. With fewer verdicts one does
// worse in the practice and keeps more of it (guidance hypothesis: A. W. Salmoni, R.
// A. Schmidt, C. B. Walter, "Knowledge of Results and Motor Learning", Psychological
// Bulletin 95, 355, 1984).
const (
	FeedbackEvery = "every"
	FeedbackThird = "third"
	FeedbackEnd   = "end"
)

// Tells reports whether round i of a practice, from 0, has a verdict.
func (s Settings) Tells(i int) bool {
	switch s.Feedback {
	case FeedbackThird:
		return i%3 == 2
	case FeedbackEnd:
		return false
	}
	return true
}

// PracticeLength is the length of a practice in short rounds.
func (s Settings) PracticeLength() int {
	switch s.Length {
	case LengthShort:
		return plan.Short
	case LengthLong:
		return plan.Long
	}
	return plan.Normal
}

// The rigs one can ask for on the first screen.
const (
	RigDrawn   = "drawn"
	RigDigital = "digital"
	RigTape    = "tape"
	RigMine    = "mine"
)

// RigChoices are all of them, in the order in which they are offered.
var RigChoices = []string{RigDrawn, RigDigital, RigTape, RigMine}

// DefaultSettings are those of a first start.
func DefaultSettings() Settings {
	return Settings{
		Theme: ThemeSlate, Language: "en", TextPercent: 100, MonitorDB: desk.MonitorStart,
		RigChoice: RigDrawn, MyRig: DefaultRig(), Length: LengthNormal, Feedback: FeedbackEvery,
	}
}

// DefaultRig is the learner's own rig until it is changed.
func DefaultRig() drills.Rig {
	return drills.Rig{Name: RigMine, Medium: medium.KindDigital, ReferenceDBFS: -18, ToleranceDB: 1, CeilingDBFS: -3, LampDBFS: -6}
}

// ChosenRig is the rig the learner asked for, or nil for one drawn each round.
func (s Settings) ChosenRig() *drills.Rig { return s.RigOf(s.RigChoice) }

// RigOf is the rig of one of the choices, or nil for one drawn each round.
func (s Settings) RigOf(choice string) *drills.Rig {
	var r drills.Rig
	switch choice {
	case RigDigital:
		r = drills.DigitalRig()
	case RigTape:
		r = drills.TapeRig()
	case RigMine:
		r = s.MyRig
	default:
		return nil
	}
	return &r
}

// readSettings parses what was stored. Fields that make no sense fall back to
// their defaults; text that is no settings at all is an error.
func readSettings(data []byte) (Settings, error) {
	s := DefaultSettings()
	if err := json.Unmarshal(data, &s); err != nil {
		return DefaultSettings(), said.Errorf("settings.damaged", "the settings file is damaged: %w", err)
	}
	s.mend()
	return s, nil
}

// mend brings every field into its range.
func (s *Settings) mend() {
	s.MyRig.Name, s.MyRig.Medium = RigMine, medium.KindDigital
	for _, row := range SettingsTable {
		if row.mend != nil {
			row.mend(s)
		}
	}
	if !slices.Contains(RigChoices, s.RigChoice) {
		s.RigChoice = RigDrawn
	}
	if !slices.Contains(source.Generated(), s.Family) && !(s.Family == source.Own && len(s.Recordings) > 0) {
		s.Family = ""
	}
	if _, ok := drills.DrillByID(s.Drill); !ok {
		s.Drill = ""
	}
	for _, t := range s.Practice.Ahead {
		if d, ok := drills.DrillByID(t.Drill); !ok || !slices.Contains(d.Families, t.Family) {
			s.Practice = plan.Practice{}
			break
		}
	}
}

func (s Settings) bytes() []byte {
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil
	}
	return append(data, '\n')
}
