package drills

import (
	"fmt"
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
)

// Take is one learner's answer: the moves, and where the round was locked.
type Take struct {
	Moves  []desk.Move `json:"moves"`
	LockAt int64       `json:"lock_at"` // frames from the start of the round

	// What some drills ask beyond moves; nil in all others.
	Number *float64 `json:"number,omitempty"` // a called level, dB
	Choice *int     `json:"choice,omitempty"` // which one, from 0
}

// Limits of a take that Judge accepts.
const (
	maxLock  = 4 * 3600 * audio.Rate
	maxMoves = 1 << 16
)

// Validate returns nil for a take that can be judged on a desk of so many
// channels, or one sentence that says what is wrong with it.
func (t Take) Validate(channels int) error {
	switch {
	case t.LockAt < 0:
		return fmt.Errorf("take: lock_at is %d; it must not be negative", t.LockAt)
	case t.LockAt > maxLock:
		return fmt.Errorf("take: lock_at is %d, more than four hours after the start", t.LockAt)
	case len(t.Moves) > maxMoves:
		return fmt.Errorf("take: there are %d moves; at most %d are allowed", len(t.Moves), maxMoves)
	}
	last := int64(0)
	for i, m := range t.Moves {
		switch {
		case m.At < 0:
			return fmt.Errorf("take: move %d is at %d, before the round starts", i+1, m.At)
		case m.At < last:
			return fmt.Errorf("take: move %d is at %d, earlier than the one before; put moves in order of time", i+1, m.At)
		case m.At > t.LockAt:
			return fmt.Errorf("take: move %d is at %d, after the lock at %d", i+1, m.At, t.LockAt)
		case m.Channel < 0 || m.Channel >= channels:
			return fmt.Errorf("take: move %d is on channel %d; the desk has channels 0 to %d", i+1, m.Channel, channels-1)
		case !(m.FaderDB >= desk.FaderMin && m.FaderDB <= desk.FaderMax):
			return fmt.Errorf("take: move %d puts the fader at %s dB; its travel is %s to %s dB",
				i+1, number(m.FaderDB), number(desk.FaderMin), number(desk.FaderMax))
		}
		last = m.At
	}
	return nil
}

// Fader returns where a channel's fader stood at the lock, in its steps of
// 0.1 dB.
func (t Take) Fader(channel int) float64 { return t.fader(channel, desk.FaderMin) }

// fader is Fader for one that started elsewhere.
func (t Take) fader(channel int, start float64) float64 {
	db := start
	for _, m := range t.Moves {
		if m.Channel == channel && m.At <= t.LockAt {
			db = desk.FaderStep(m.FaderDB)
		}
	}
	return db
}

// Verdict is what the scorer says of a take. Levels are those of the loop
// played on at the lock's setting, whatever happened on the way there.
type Verdict struct {
	FaderDB     float64 `json:"fader_db"` // where the fader stood at the lock
	AimDB       float64 `json:"aim_db"`
	ErrorDB     float64 `json:"error_db"` // fader minus aim, to 0.1 dB: positive is hot
	InWindow    bool    `json:"in_window"`
	DecidedBy   Decider `json:"decided_by"`
	UnderReadDB float64 `json:"under_read_db"`
	ReadingVU   float64 `json:"reading_vu"`     // at the lock
	AimVU       float64 `json:"aim_reading_vu"` // what the needle reads at the aim
	HeadroomDB  float64 `json:"headroom_db"`    // ceiling (on tape: lamp) minus peak at the lock
	FlicksPerS  float64 `json:"flicks_per_s"`   // the most in any three seconds, a second
	Zone        Zone    `json:"zone,omitempty"` // of the lamp on tape: dark, sparing, busy, lit
	Clipped     int64   `json:"clipped_samples"`
	Seconds     float64 `json:"seconds"`
	CalledDB    float64 `json:"called_db,omitempty"`       // what was called, where a drill asks for a number
	Share       float64 `json:"share_in_window,omitempty"` // of the time, where a drill is ridden
	Part        string  `json:"part,omitempty"`            // the channel that decided the verdict, or the right choice
	Fault       Fault   `json:"fault,omitempty"`           // of the needle that was chosen
	MoveCount   int     `json:"moves"`
	Points      int     `json:"points"`
	Code        Code    `json:"code"`     // names the reason; Sentences words it
	Headline    string  `json:"headline"` // "1.8 dB too hot."
	Reason      string  `json:"reason"`   // one sentence a teacher would say
}

// Judge gives the verdict on a take: a pure function of its arguments.
// The error is Take.Validate's, or says that the take answers something else.
//
// The setting is where the fader stood at LockAt. It is right if it lies in the
// round's window; distances from the window are rounded to 0.1 dB, so that
// 0.04 dB outside is still right: about one decibel is the smallest step that
// matters to the ear, and nothing is scored finer than a tenth of it.
// See Points for what it is worth.
func Judge(r *Round, t Take) (Verdict, error) {
	if err := t.Validate(1); err != nil {
		return Verdict{}, err
	}
	if t.Number != nil || t.Choice != nil {
		return Verdict{}, fmt.Errorf("take: %s is given, but a round asks for none", map[bool]string{true: "number", false: "choice"}[t.Number != nil])
	}
	fader := t.Fader(0)
	v := Verdict{
		FaderDB:     fader,
		AimDB:       r.AimDB,
		ErrorDB:     step(fader - r.AimDB),
		DecidedBy:   r.DecidedBy,
		UnderReadDB: r.UnderReadDB,
		ReadingVU:   r.ReadingVU + fader,
		AimVU:       r.ReadingVU + r.AimDB,
		HeadroomDB:  r.Rig.CeilingDBFS - r.SamplePeakDBFS - fader,
		Seconds:     float64(t.LockAt) / audio.Rate,
		MoveCount:   len(t.Moves),
	}
	lamp := r.lampAt(fader)
	v.FlicksPerS = lamp.rate()
	if r.Rig.Soft() {
		v.Zone = lamp.zone()
	} else {
		v.Clipped = r.clipped(fader)
	}
	out := outside(fader, r.WindowDB)
	v.InWindow = out == 0
	v.Points = Points(out, v.Clipped > 0)
	v.Code = r.code(v)
	v.finish()
	return v, nil
}

// finish puts words to a verdict and rounds its levels to 0.001.
func (v *Verdict) finish() {
	v.Headline, v.Reason = v.Sentences(English)
	for _, level := range []*float64{&v.FaderDB, &v.AimDB, &v.UnderReadDB, &v.ReadingVU, &v.AimVU, &v.HeadroomDB,
		&v.FlicksPerS, &v.Seconds, &v.CalledDB, &v.Share} {
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

// lampAt returns what the lamp does with the fader at a setting.
func (r *Round) lampAt(fader float64) lampState {
	return r.lamp.at(r.SamplePeakDBFS + fader - r.Rig.LampDBFS)
}

// clipped counts the samples of one turn of the loop at or beyond full scale,
// of the channel that has more.
func (r *Round) clipped(fader float64) int64 {
	if r.SamplePeakDBFS+fader < 0 {
		return 0
	}
	limit := float32(audio.Gain(-r.StartGainDB - fader))
	var most int64
	for _, ch := range r.Sound.Channels {
		var n int64
		for _, x := range ch {
			if x >= limit || x <= -limit {
				n++
			}
		}
		most = max(most, n)
	}
	return most
}
