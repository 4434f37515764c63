package game

import (
	"encoding/json"
	"math"

	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/game/draw"
)

// settings is what the trainer remembers between two starts.
type settings struct {
	Theme       string        `json:"theme"`
	Language    string        `json:"language"`
	TextPercent int           `json:"text_percent"`
	MonitorDB   float64       `json:"monitor_db"`
	LessFlash   bool          `json:"reduced_flashing"`
	LessMotion  bool          `json:"reduced_motion"`
	CautionSeen bool          `json:"caution_seen"`
	Drill       string        `json:"drill"`  // empty is what the learner needs most
	Family      source.Family `json:"family"` // empty takes turns
	RigChoice   string        `json:"rig_choice"`
	MyRig       drills.Rig    `json:"my_rig"`
}

// The rigs one can ask for on the first screen.
const (
	rigDrawn   = "drawn"
	rigDigital = "digital"
	rigTape    = "tape"
	rigMine    = "mine"
)

func defaultSettings() settings {
	return settings{
		Theme: draw.Slate.Name, Language: "en", TextPercent: 100, MonitorDB: desk.MonitorStart,
		RigChoice: rigDrawn, MyRig: defaultRig(),
	}
}

func defaultRig() drills.Rig {
	return drills.Rig{Name: rigMine, Medium: medium.KindDigital, ReferenceDBFS: -18, ToleranceDB: 1, CeilingDBFS: -3, LampDBFS: -6}
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
	d := defaultSettings()
	if s.Theme != draw.Paper.Name {
		s.Theme = draw.Slate.Name
	}
	switch s.TextPercent {
	case 100, 125, 150:
	default:
		s.TextPercent = d.TextPercent
	}
	s.MonitorDB = within(s.MonitorDB, desk.MonitorMin, desk.MonitorMax, d.MonitorDB)
	switch s.RigChoice {
	case rigDrawn, rigDigital, rigTape, rigMine:
	default:
		s.RigChoice = rigDrawn
	}
	known := s.Family == ""
	for _, f := range source.Generated() {
		known = known || s.Family == f
	}
	if !known {
		s.Family = ""
	}
	if _, ok := drills.DrillByID(s.Drill); !ok {
		s.Drill = ""
	}
	r := &s.MyRig
	r.Name, r.Medium = rigMine, medium.KindDigital
	r.ReferenceDBFS = within(r.ReferenceDBFS, -24, -9, d.MyRig.ReferenceDBFS)
	r.TargetVU = within(r.TargetVU, -6, 3, 0)
	r.ToleranceDB = within(r.ToleranceDB, 0.5, 3, 1)
	r.CeilingDBFS = within(r.CeilingDBFS, -12, 0, -3)
	r.LampDBFS = within(r.LampDBFS, -20, 0, -6)
}

func within(v, lo, hi, otherwise float64) float64 {
	if math.IsNaN(v) || v < lo || v > hi {
		return otherwise
	}
	return v
}

func (s settings) bytes() []byte {
	data, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return nil
	}
	return append(data, '\n')
}
