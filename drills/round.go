// Package drills knows what a round asks for, what a take answered, and what
// to say of it. It knows no screen and no device.
package drills

import (
	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/source"
)

// Rig is how the desk is lined up and what the medium can take.
type Rig struct {
	Name          string      `json:"name"`
	Medium        medium.Kind `json:"medium"`
	ReferenceDBFS float64     `json:"reference_dbfs"` // dBFS of 0 VU
	TargetVU      float64     `json:"target_vu"`
	ToleranceDB   float64     `json:"tolerance_db"`
	CeilingDBFS   float64     `json:"ceiling_dbfs"`
	LampDBFS      float64     `json:"lamp_dbfs"`
}

// Settings narrow what a round may be; the zero value draws everything.
type Settings struct {
	Family     source.Family     `json:"family,omitempty"`
	Rig        *Rig              `json:"rig,omitempty"`
	Difficulty source.Difficulty `json:"difficulty"`
}

// Decider says what set the aim.
type Decider string

// What can decide.
const (
	ByNeedle Decider = "needle"
	ByPeaks  Decider = "peaks"
	ByLamp   Decider = "lamp"
)

// Round is one source at one starting gain in one rig.
type Round struct {
	Seed           uint64
	Index          int
	Family         source.Family
	Kind           string
	Rig            Rig
	StartGainDB    float64
	ReadingVU      float64 // at fader 0 dB
	SamplePeakDBFS float64 // at fader 0 dB
	UnderReadDB    float64
	AimDB          float64    // fader setting asked for
	WindowDB       [2]float64 // lowest and highest fader setting that count as right
	DecidedBy      Decider
	Sound          *source.Sound
}

// NewRound makes the round that a seed and an index stand for.
func NewRound(seed uint64, index int, s Settings) (*Round, error) { return nil, nil }

// Desk returns the line-up that plays the round.
func (r *Round) Desk(monitorDB float64) desk.Config { return desk.Config{} }

// Take is one learner's answer: the moves, and where the round was locked.
type Take struct {
	Moves  []desk.Move `json:"moves"`
	LockAt int64       `json:"lock_at"` // frames from the start of the round
}

// Verdict is what the scorer says of a take.
type Verdict struct {
	FaderDB     float64 `json:"fader_db"` // where the fader stood at the lock
	AimDB       float64 `json:"aim_db"`
	ErrorDB     float64 `json:"error_db"` // fader minus aim: positive is hot
	InWindow    bool    `json:"in_window"`
	DecidedBy   Decider `json:"decided_by"`
	UnderReadDB float64 `json:"under_read_db"`
	ReadingVU   float64 `json:"reading_vu"`  // at the lock
	HeadroomDB  float64 `json:"headroom_db"` // ceiling minus peak at the lock
	FlicksPerS  float64 `json:"flicks_per_s"`
	Zone        string  `json:"zone"` // of the lamp: dark, sparing, busy, lit
	Clipped     int64   `json:"clipped_samples"`
	Seconds     float64 `json:"seconds"`
	MoveCount   int     `json:"moves"`
	Points      int     `json:"points"`
	Headline    string  `json:"headline"` // "1.8 dB too hot."
	Reason      string  `json:"reason"`   // one sentence a teacher would say
}

// Judge gives the verdict on a take: a pure function of its arguments.
func Judge(r *Round, t Take) (Verdict, error) { return Verdict{}, nil }
