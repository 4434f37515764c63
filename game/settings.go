package game

import (
	"encoding/json"
	"slices"

	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
)

// settings is what the trainer remembers between two starts.
type settings struct {
	Theme       string        `json:"theme"`
	Language    string        `json:"language"`
	TextPercent float64       `json:"text_percent"`
	MonitorDB   float64       `json:"monitor_db"`
	LessFlash   bool          `json:"reduced_flashing"`
	LessMotion  bool          `json:"reduced_motion"`
	CautionSeen bool          `json:"caution_seen"`
	Drill       string        `json:"drill"`  // empty is what the learner needs most
	Family      source.Family `json:"family"` // empty takes turns
	RigChoice   string        `json:"rig_choice"`
	MyRig       drills.Rig    `json:"my_rig"`
}

// The themes by name.
const (
	themeSlate = "slate"
	themePaper = "paper"
)

// The rigs one can ask for on the first screen.
const (
	rigDrawn   = "drawn"
	rigDigital = "digital"
	rigTape    = "tape"
	rigMine    = "mine"
)

// rigChoices are all of them, in the order in which they are offered.
var rigChoices = []string{rigDrawn, rigDigital, rigTape, rigMine}

func defaultSettings() settings {
	return settings{
		Theme: themeSlate, Language: "en", TextPercent: 100, MonitorDB: desk.MonitorStart,
		RigChoice: rigDrawn, MyRig: defaultRig(),
	}
}

func defaultRig() drills.Rig {
	return drills.Rig{Name: rigMine, Medium: medium.KindDigital, ReferenceDBFS: -18, ToleranceDB: 1, CeilingDBFS: -3, LampDBFS: -6}
}

// chosenRig is the rig the learner asked for, or nil for one drawn each round.
func (s settings) chosenRig() *drills.Rig { return s.rigOf(s.RigChoice) }

// rigOf is the rig of one of the choices, or nil for one drawn each round.
func (s settings) rigOf(choice string) *drills.Rig {
	var r drills.Rig
	switch choice {
	case rigDigital:
		r = drills.DigitalRig()
	case rigTape:
		r = drills.TapeRig()
	case rigMine:
		r = s.MyRig
	default:
		return nil
	}
	return &r
}

// readSettings parses what was stored. Fields that make no sense fall back to
// their defaults; text that is no settings at all is an error.
func readSettings(data []byte) (settings, error) {
	s := defaultSettings()
	if err := json.Unmarshal(data, &s); err != nil {
		return defaultSettings(), said.Errorf("settings.damaged", "the settings file is damaged: %w", err)
	}
	s.mend()
	return s, nil
}

// mend brings every field into its range.
func (s *settings) mend() {
	s.MyRig.Name, s.MyRig.Medium = rigMine, medium.KindDigital
	for _, row := range settingsTable {
		if row.mend != nil {
			row.mend(s)
		}
	}
	if !slices.Contains(rigChoices, s.RigChoice) {
		s.RigChoice = rigDrawn
	}
	if !slices.Contains(source.Generated(), s.Family) {
		s.Family = ""
	}
	if _, ok := drills.DrillByID(s.Drill); !ok {
		s.Drill = ""
	}
}

func (s settings) bytes() []byte {
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil
	}
	return append(data, '\n')
}
