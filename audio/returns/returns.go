// Package returns measures what came back of a series: a line-up tone and
// rounds that were played into a real desk or recorder, and what that recorded.
//
//	m, err := returns.Measure(recording, series)
//	if err != nil {
//		return err // one sentence: no tone, another series, two recordings, ...
//	}
//	m.Rounds[0].ChangeDB // how far the first round was brought up against the tone
//
// The recording may begin anywhere, run up to 4 % too fast or too slow, waver,
// hiss, hum, be equalised, turned in polarity, coded with loss, at any usual
// sample rate, and hold the return on either of two channels; pauses between
// the rounds may have grown or shrunk.
//
// # How
//
// The line-up tone is found by its frequency, which gives the speed. From there
// on a recording of r samples a second that runs v times too fast is one of r/v
// samples a second, and all times and frequencies are those of what went out.
// Each round is placed by the correlation of its spectrum over time, in bands
// of an octave, with the recording's; then the waveforms are correlated,
// half a second at a time, to a quarter of a millisecond. What holds its level
// and its pitch has no such correlation: the rounds around it place it.
//
// Levels are powers between 40 Hz and 8 kHz, less that of the noise in the gaps,
// over those of what went out, and medians over 400 ms. An equaliser that stood
// over the whole series is taken out by the differences of the bands, so that
// the level of a round is that at the tone's frequency.
package returns

import (
	"math"

	"slowneedle/audio/said"
	"slowneedle/audio/wavfile"
)

// Series is what went out.
type Series struct {
	Tone   Span    // the line-up tone, first of all
	Hertz  float64 // its frequency
	Rounds []Span  // in order of time, after the tone
	// Sound returns a round as it was sent, fades included: one or two
	// channels at audio.Rate. It is called more than once for each.
	Sound func(round int) ([][]float32, error)
	// ToneDBFS is the level at which the tone was sent.
	ToneDBFS float64
	// Fade is how long tone and rounds fade in and out, in seconds.
	Fade float64
	// Step, if it is not nil, is called again and again while Measure works, so
	// that a page in a browser can be drawn meanwhile.
	Step func()
}

// Span is a stretch of what went out, in seconds from its start.
type Span struct{ Start, End float64 }

// Length returns the length in seconds.
func (s Span) Length() float64 { return s.End - s.Start }

// Measured is what came back.
type Measured struct {
	Tone   Tone
	Speed  float64 // 1.01 is 1 % too fast
	Turned bool    // in polarity
	// Side is the channel that was measured, the one in which the tone is
	// louder; OneSided says that the other lies 20 dB or more below it.
	Side     int
	OneSided bool
	Rounds   []Round // one for each that went out
}

// Tone is the line-up tone as it came back.
type Tone struct {
	StartS            float64
	LevelDBFS         float64 // over its last steady part
	Hertz             float64
	DistortionPercent float64 // second to fifth harmonic
}

// Round is one round as it came back. Levels that could not be measured are
// NaN.
type Round struct {
	Found      bool
	StartS     float64 // in the recording
	Confidence float64 // 0 to 1: how sure it is that this is what went out
	// ChangeDB is how far the round was brought up against the tone, over its
	// last steady part: the longest stretch at its end in which the level stays
	// within 0.3 dB, or within what it trembles by anyway, over at least 2 s
	// of signal. NaN if there is none.
	ChangeDB  float64
	Steady    Span        // that part, in seconds from the start of the round
	Gain      []GainPoint // level against the tone over time, where there is signal
	Moves     []GainPoint // by how much the level was moved, and when: half a decibel or more
	Strip     []StripPoint
	NeedleVU  float64 // reading over the steady part; 0 VU is the tone
	PeakDBFS  float64 // highest sample of the steady part
	Clipped   int     // samples in flat tops that the source does not have
	NoiseDBFS float64 // in the gap beside the round
	// DistortionPercent is that of a round that is a single tone.
	DistortionPercent float64
	// TrebleDB is by how much 4 to 8 kHz came back higher than 1 kHz; NaN where
	// the source has too little there to tell.
	TrebleDB float64
}

// GainPoint is the level of a round at a time.
type GainPoint struct {
	At float64 // seconds from the start of the round
	DB float64 // against the line-up tone
}

// StripPoint is what needle and peaks show at a time, ten times a second. Levels
// are in VU: 0 is that of the tone.
type StripPoint struct {
	At       float64 // seconds from the start of the round
	NeedleVU float64
	PeakVU   float64 // highest sample since the point before
}

// Bounds of a recording that is measured.
const (
	minRate   = 22050
	maxRate   = 192000
	maxLength = 2 * 3600 // seconds
	maxSpeed  = 0.04     // either way
)

// Measure measures a return. It holds one round at a time; beside that, memory
// grows by some 2 MB a minute of the recording. The error is one sentence that says
// what is wrong with the recording, or what reading it or Series.Sound returned.
func Measure(r *wavfile.Reader, s Series) (*Measured, error) {
	rate, seconds := r.Format().SampleRate, float64(r.Frames())/float64(r.Format().SampleRate)
	switch {
	case rate < minRate || rate > maxRate:
		return nil, said.Errorf("return.rate", "its sample rate is %d Hz; record the return at 44100 or 48000 Hz", rate)
	case seconds > maxLength:
		return nil, said.Errorf("return.long", "it is %.0f hours long, too long for one series; cut it", seconds/3600)
	}
	if s.Step == nil {
		s.Step = func() {}
	}
	rec := &recording{r: r, rate: float64(rate), step: s.Step}
	sc, err := rec.scan()
	if err != nil {
		return nil, err
	}
	if sc.loudest <= silent && len(sc.tone) > 0 {
		return nil, said.Errorf("return.silent", "there is nothing but silence in it; check which input was recorded")
	}
	tones, err := s.findTones(sc)
	if err != nil {
		return nil, err
	}
	speed, err := s.speed(rec, sc, tones[0])
	if err != nil {
		return nil, err
	}
	m := &Measured{Speed: speed, Rounds: make([]Round, len(s.Rounds))}
	first, _ := sc.side(tones[0].Span)
	places, err := s.place(sc.channels[first], tones[0].Span, speed)
	if err != nil {
		return nil, err
	}
	tone, err := s.lineUp(tones, places, speed)
	if err != nil {
		return nil, err
	}
	rec.rate /= speed
	m.Side, m.OneSided = sc.side(tone)
	if err := s.measure(rec, m, tone, places); err != nil {
		return nil, err
	}
	return m, nil
}

// db is a ratio of powers in decibels.
func db(power float64) float64 { return 10 * math.Log10(power) }
