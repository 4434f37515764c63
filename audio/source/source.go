// Package source makes the sounds that rounds are played on: loops generated
// from a seed, one file a family, and passages of the learner's own recordings.
package source

import (
	"fmt"

	"slowneedle/audio"
)

// Family is a kind of sound a teacher would name, told apart by how much a
// slow needle under-reads it.
type Family string

// The families. Own stands for passages of the learner's recordings.
const (
	Steady   Family = "steady"
	Voice    Family = "voice"
	Plucked  Family = "plucked"
	Struck   Family = "struck"
	Ensemble Family = "ensemble"
	Own      Family = "own"
)

// Generated lists the families that Generate makes, in teaching order.
func Generated() []Family { return []Family{Steady, Voice, Plucked, Struck, Ensemble} }

// Difficulty says how hard a source is to judge. Each field runs from 0
// (plain) to 1 (hardest); the zero value is a plain source.
type Difficulty struct {
	Irregular float64 `json:"irregular,omitempty"` // how uneven the peaks are
	Wander    float64 `json:"wander,omitempty"`    // how much the level drifts
	Pauses    float64 `json:"pauses,omitempty"`    // how long the silences are
}

// Sound is a seamless loop: after the last sample comes the first again.
type Sound struct {
	Family   Family
	Kind     string      // what it is inside its family, in trade words: "kit pattern, sparse"
	Channels [][]float32 // one or two channels of equal length at audio.Rate
}

// Len returns the loop's length in frames.
func (s *Sound) Len() int { return len(s.Channels[0]) }

// Generate makes the sound of a family that a seed stands for: 10 to 16 s,
// sample peak -6 dBFS. The same arguments give the same sound.
// The error says which family is unknown.
func Generate(f Family, seed uint64, d Difficulty) (*Sound, error) {
	_ = audio.Rate
	return nil, fmt.Errorf("source: no family %q", f)
}
