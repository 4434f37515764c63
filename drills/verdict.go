package drills

import "math"

// Verdict is what the scorer says of a take. Levels are those of the loop
// played on at the lock's setting, whatever happened on the way there.
type Verdict struct {
	FaderDB     float64 `json:"fader_db"` // where the fader stood at the lock
	AimDB       float64 `json:"aim_db"`
	ErrorDB     float64 `json:"error_db"` // fader minus aim, to 0.1 dB: positive is hot
	InWindow    bool    `json:"in_window"`
	DecidedBy   Decider `json:"decided_by"`
	UnderReadDB float64 `json:"under_read_db"`
	ReadingVU   float64 `json:"reading_vu"`             // at the lock
	AimVU       float64 `json:"aim_reading_vu"`         // what the needle reads at the aim
	HeadroomDB  float64 `json:"headroom_db"`            // ceiling (on tape: lamp) minus peak at the lock
	FlicksPerS  float64 `json:"flicks_per_s"`           // the most in any three seconds, a second
	Zone        Zone    `json:"zone,omitempty"`         // of the lamp on tape: dark, sparing, busy, lit
	PastLampDB  float64 `json:"past_lamp_db,omitempty"` // by how much the take went on up after the lamp had lit

	// What a tape does to the take, where one source is recorded.
	SNRDB             float64 `json:"snr_db,omitempty"`             // A-weighted; of a chain not weighted
	DistortionPercent float64 `json:"distortion_percent,omitempty"` // third harmonic and the rest
	Damage            Damage  `json:"damage,omitempty"`             // words follow these
	Noise             Noise   `json:"noise,omitempty"`

	// At a soundcheck: the margin left between its peaks and the ceiling, what nine takes
	// in ten need, and by how much the take then peaked higher.
	MarginDB float64 `json:"margin_db,omitempty"`
	LikelyDB float64 `json:"likely_growth_db,omitempty"`
	GrowthDB float64 `json:"growth_db,omitempty"`

	// Of a chain: how much lower the signal-to-noise ratio is than this chain
	// allows, and the stage at which a loss was made up. The ratio is not weighted.
	LossDB float64 `json:"loss_db,omitempty"`
	MadeUp string  `json:"made_up,omitempty"`

	Clipped   int64    `json:"clipped_samples"`
	Seconds   float64  `json:"seconds"`
	CalledDB  float64  `json:"called_db,omitempty"`       // what was called, where a drill asks for a number
	Share     float64  `json:"share_in_window,omitempty"` // of the time, where a drill is ridden
	Part      string   `json:"part,omitempty"`            // the channel that decided the verdict, or the right choice
	Faults    [3]Fault `json:"faults,omitzero"`           // of the needles, in order; empty for the right one
	Odd       OddKind  `json:"odd,omitempty"`             // what was wrong with the odd one
	OddDB     float64  `json:"odd_db,omitempty"`          // and how much of it, see OddKind
	Chosen    string   `json:"chosen,omitempty"`          // the needle or sound that was chosen
	Untouched string   `json:"untouched,omitempty"`       // the channels that were never moved, as in "B, D"
	MoveCount int      `json:"moves"`
	Points    int      `json:"points"`
	Code      Code     `json:"code"`     // names the reason; Sentences words it
	Headline  string   `json:"headline"` // "1.8 dB too hot."
	Reason    string   `json:"reason"`   // one sentence a teacher would say
}

// finish puts words to a verdict and rounds its levels to 0.001.
func (v *Verdict) finish() {
	v.Headline, v.Reason = v.Sentences(English)
	for _, level := range []*float64{&v.FaderDB, &v.AimDB, &v.UnderReadDB, &v.ReadingVU, &v.AimVU, &v.HeadroomDB,
		&v.FlicksPerS, &v.PastLampDB, &v.SNRDB, &v.DistortionPercent, &v.Seconds, &v.CalledDB, &v.Share, &v.MarginDB, &v.LikelyDB, &v.GrowthDB,
		&v.LossDB} {
		*level = round3(*level)
	}
}

// outside returns how far a setting lies outside a window in dB, to 0.1 dB:
// positive above, negative below, 0 inside.
func outside(fader float64, window [2]float64) float64 {
	switch {
	case fader > window[1]:
		return step(fader - window[1])
	case fader < window[0]:
		return step(fader - window[0])
	}
	return 0
}

// Points returns what a setting is worth, 0 to 100. Inside the window
// (outside = 0) it is worth 100. Above, the worth halves with every 2 dB from
// the window's edge; below, with every 4 dB: too hot costs more than too cold.
// A digital take that clipped is worth nothing.
func Points(outside float64, clipped bool) int {
	if clipped {
		return 0
	}
	halves := outside / 2
	if outside < 0 {
		halves = -outside / 4
	}
	return int(math.Round(100 * math.Exp2(-halves)))
}
