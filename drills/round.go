// Package drills knows what a round asks for, what a take answered, and what
// to say of it. It knows no screen and no device.
//
// A round is wholly determined by its seed, index and settings; a verdict by
// its round and take. Levels agree on every platform to 0.01 dB.
package drills

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/medium"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// Settings narrow what a round may be; the zero value draws everything.
type Settings struct {
	Family     source.Family     `json:"family,omitempty"`
	Rig        *Rig              `json:"rig,omitempty"`
	Difficulty source.Difficulty `json:"difficulty"`
	// SpreadDB is how widely aims are strewn over the fader, in dB, evenly
	// around -7 dB, at most 26. 0 means 26, that is -20 to +6 dB.
	SpreadDB float64 `json:"spread_db,omitempty"`
	// ToleranceDB takes the place of the rig's tolerance; 0 leaves that.
	ToleranceDB float64 `json:"tolerance_db,omitempty"`
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
	ReadingVU      float64    // at fader 0 dB
	SamplePeakDBFS float64    // at fader 0 dB
	UnderReadDB    float64    // sample peak over reference, less the reading
	AimDB          float64    // fader setting asked for
	WindowDB       [2]float64 // lowest and highest fader setting that count as right
	DecidedBy      Decider
	Sound          *source.Sound

	lamp *lampBook
}

// Where aims may lie on the fader, in dB.
const (
	aimMiddle = -7.0
	aimSpread = 26.0
)

// NewRound makes the round that a seed and an index stand for.
//
// The generator is math/rand/v2's PCG seeded with (seed, index). Its draws, in
// this order and made whatever the settings say: the sound's seed; whether
// needle or peaks should decide; whether on tape; which of the fitting rigs;
// where on the fader the aim lies. So asking for the family or the rig that a
// round has anyway changes nothing. The family comes from a second generator,
// PCG (seed, index/n | 1<<63) with n families, which shuffles them: n rounds in
// a row that begin at a multiple of n have each family once.
//
// The errors say which setting cannot be used.
func NewRound(seed uint64, index int, s Settings) (*Round, error) {
	if index < 0 {
		return nil, fmt.Errorf("round: index %d is negative; count from 0", index)
	}
	rng := rand.New(rand.NewPCG(seed, uint64(index)))
	family := s.Family
	if family == "" {
		family = drawFamily(source.Generated(), seed, index)
	}
	sound, err := source.Generate(family, rng.Uint64(), s.Difficulty)
	if err != nil {
		return nil, fmt.Errorf("round: %w", err)
	}
	return newRound(sound, seed, index, s, rng, level.aim)
}

// NewOwnRound makes a round from a passage of the learner's own recordings,
// drawing rig and starting gain as NewRound does. The errors say why the
// passage or a setting cannot be used.
func NewOwnRound(sound *source.Sound, seed uint64, index int, s Settings) (*Round, error) {
	if index < 0 {
		return nil, fmt.Errorf("round: index %d is negative; count from 0", index)
	}
	if sound == nil || len(sound.Channels) == 0 || len(sound.Channels) > 2 || sound.Len() < audio.Rate {
		return nil, said.Errorf("round.passage", "round: the passage is not usable; it needs one or two channels of at least a second")
	}
	rng := rand.New(rand.NewPCG(seed, uint64(index)))
	rng.Uint64()
	return newRound(sound, seed, index, s, rng, level.aim)
}

func drawFamily(families []source.Family, seed uint64, index int) source.Family {
	rng := rand.New(rand.NewPCG(seed, uint64(index/len(families))|1<<63))
	return families[rng.Perm(len(families))[index%len(families)]]
}

// aiming is a rule that says where a sound belongs in a rig; see level.aim.
type aiming func(v level, rig Rig) (db, top float64, by Decider)

func newRound(sound *source.Sound, seed uint64, index int, s Settings, rng *rand.Rand, rule aiming) (*Round, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	v, err := readLevel(sound)
	if err != nil {
		return nil, fmt.Errorf("round: %w", err)
	}
	d := draw{peaks: rng.Float64(), tape: rng.Float64(), rig: rng.Float64()}
	aim := s.drawAim(rng)
	var rig Rig
	if s.Rig != nil {
		rig = *s.Rig
	} else {
		rig = drawRig(v, d)
	}
	if s.ToleranceDB > 0 {
		rig.ToleranceDB = s.ToleranceDB
	}
	right, top, by := rule(v, rig)
	g := right - aim
	return &Round{
		Seed: seed, Index: index, Family: sound.Family, Kind: sound.Kind, Rig: rig, Sound: sound,
		StartGainDB:    g,
		ReadingVU:      v.reading + g - rig.ReferenceDBFS,
		SamplePeakDBFS: v.peak + g,
		UnderReadDB:    v.peak - v.reading,
		AimDB:          aim,
		WindowDB:       [2]float64{aim - rig.ToleranceDB, aim + min(rig.ToleranceDB, top-right)},
		DecidedBy:      by,
		lamp:           v.lamp,
	}, nil
}

// check says which setting cannot be used.
func (s Settings) check() error {
	if !(s.SpreadDB >= 0 && s.SpreadDB <= aimSpread) {
		return fmt.Errorf("round: a spread of %s dB is out of range; it may be up to %s dB", number(s.SpreadDB), number(aimSpread))
	}
	if s.ToleranceDB != 0 && !(s.ToleranceDB >= 0.1 && s.ToleranceDB <= 6) {
		return fmt.Errorf("round: a tolerance of %s dB is out of range; it may be 0.1 to 6 dB", number(s.ToleranceDB))
	}
	if s.Rig != nil {
		if err := s.Rig.Validate(); err != nil {
			return fmt.Errorf("round: %w", err)
		}
	}
	return nil
}

// drawAim draws where on the fader an aim lies, on one of its steps.
func (s Settings) drawAim(rng *rand.Rand) float64 {
	spread := s.SpreadDB
	if spread == 0 {
		spread = aimSpread
	}
	return step(aimMiddle + (rng.Float64()-0.5)*spread)
}

// Desk returns the line-up that plays the round, with the fader at the bottom.
func (r *Round) Desk(monitorDB float64) desk.Config {
	return desk.Config{
		Channels:  []desk.Channel{{Sound: r.Sound, StartGainDB: r.StartGainDB, FaderDB: desk.FaderMin}},
		LampDBFS:  r.Rig.LampDBFS,
		LampHold:  lampHold,
		Medium:    r.Rig.Medium,
		Reference: r.Rig.ReferenceDBFS,
		Seed:      r.Seed + uint64(r.Index),
		MonitorDB: monitorDB,
	}
}

// Damage returns what the medium does to a take with the fader at a setting:
// the signal-to-noise ratio in dB and the distortion in percent, as
// medium.Damage defines them. It takes some milliseconds.
func (r *Round) Damage(fader float64) (snrDB, distortionPercent float64, err error) {
	return medium.Damage(r.Rig.Medium, r.Rig.ReferenceDBFS, r.Sound.Channels, r.StartGainDB+fader)
}

// roundJSON is a round as files and command output carry it.
type roundJSON struct {
	Seed        uint64        `json:"seed"`
	Index       int           `json:"index"`
	Family      source.Family `json:"family"`
	Kind        string        `json:"kind"`
	Rig         Rig           `json:"rig"`
	StartGain   float64       `json:"start_gain_db"`
	Reading     float64       `json:"reading_vu"`
	SamplePeak  float64       `json:"sample_peak_dbfs"`
	UnderRead   float64       `json:"under_read_db"`
	Aim         float64       `json:"aim_db"`
	Window      [2]float64    `json:"window_db"`
	DecidedBy   Decider       `json:"decided_by"`
	ReferenceDB float64       `json:"reference_dbfs"`
	TargetVU    float64       `json:"target_vu"`
	ToleranceDB float64       `json:"tolerance_db"`
	CeilingDBFS *float64      `json:"ceiling_dbfs"` // null on tape: its ceiling is soft
	LampDBFS    float64       `json:"lamp_dbfs"`
}

// MarshalJSON gives what the round is and its aim, levels to 0.001 dB; the
// sound is not part of it.
func (r *Round) MarshalJSON() ([]byte, error) {
	j := roundJSON{
		Seed: r.Seed, Index: r.Index, Family: r.Family, Kind: r.Kind, Rig: r.Rig,
		StartGain: round3(r.StartGainDB), Reading: round3(r.ReadingVU), SamplePeak: round3(r.SamplePeakDBFS),
		UnderRead: round3(r.UnderReadDB), Aim: round3(r.AimDB),
		Window:    [2]float64{round3(r.WindowDB[0]), round3(r.WindowDB[1])},
		DecidedBy: r.DecidedBy, ReferenceDB: r.Rig.ReferenceDBFS, TargetVU: r.Rig.TargetVU,
		ToleranceDB: r.Rig.ToleranceDB, LampDBFS: r.Rig.LampDBFS,
	}
	if !r.Rig.Soft() {
		j.CeilingDBFS = &r.Rig.CeilingDBFS
	}
	return json.Marshal(j)
}

func round3(v float64) float64 { return math.Round(v*1000)/1000 + 0 }

// step rounds to the tenth of a decibel, below which nothing is scored.
func step(v float64) float64 { return math.Round(v*10)/10 + 0 }
