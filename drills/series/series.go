// Package series makes a series of rounds for a real desk or recorder, and
// judges what came back of it.
//
// A series is one sound: the line-up tone, then rounds with silence between.
// It goes out so that, on a desk that was lined up on the tone, each round must
// come up by 0 to 12 dB, as a real fader's travel allows. Rounds of 20 s and more are
// takes: they have quieter and louder parts and an ending, and their reading is that
// over all of it. Its answer sheet tells what is right, and carries what the sound is
// made from, so that the return can be laid beside it.
//
//	plan := series.Plan{Seed: 12, Count: 10, Rig: drills.DigitalRig(), RoundSeconds: 30, GapSeconds: 8}
//	answers, err := plan.Write(w, nil)
//	...
//	judged, err := answers.Judge(r, nil)
package series

import (
	"fmt"
	"math"
	"math/rand/v2"

	"slowneedle/audio"
	"slowneedle/audio/returns"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/strict"
	"slowneedle/drills/version"
)

// What every series has (our own).
const (
	toneHertz   = 1000
	toneSeconds = 10
	fadeSeconds = 0.5  // in and out of tone and rounds
	mostUp      = 12.0 // dB from line-up to the highest aim
)

// Bounds of a plan.
const (
	MaxRounds  = 500
	MinSeconds = 1.0
	MaxSeconds = 600.0
	MaxGap     = 60.0
	maxLength  = 1e6 // seconds
)

// Plan is what a series is made from. It stands in the answer sheet.
type Plan struct {
	Seed         uint64        `json:"seed"`
	Index        int           `json:"index"`            // of the first round
	Count        int           `json:"-"`                // of rounds
	Family       source.Family `json:"family,omitempty"` // of all rounds; takes turns if empty
	Rig          drills.Rig    `json:"rig"`
	RoundSeconds float64       `json:"round_s"` // length of each round, see takes
	GapSeconds   float64       `json:"gap_s"`   // silence before each round
	// Own is a recording whose passages are the rounds.
	Own *Own `json:"own,omitempty"`
}

// Own is a recording of the teacher's own.
type Own struct {
	File   string `json:"file"`   // its name, without folders
	SHA256 string `json:"sha256"` // of its bytes, in hexadecimal (FIPS 180-4)
	// Open opens it. It may be nil in an answer sheet that has been read; Judge
	// needs it.
	Open func() (*wavfile.Reader, error) `json:"-"`
}

// Answers is the answer sheet of a series.
type Answers struct {
	Format  string  `json:"format"`
	Version string  `json:"version"` // of the rules that made it
	File    string  `json:"file"`    // of the sound
	Seconds float64 `json:"seconds"` // of all
	Plan
	LineUp LineUp   `json:"line_up"`
	Rounds []Answer `json:"rounds"`
}

// Format is the format of answer sheets.
const Format = "slowneedle series 1"

// LineUp is the line-up tone.
type LineUp struct {
	StartS    float64 `json:"start_s"`
	EndS      float64 `json:"end_s"`
	Hertz     float64 `json:"frequency_hz"`
	LevelDBFS float64 `json:"level_dbfs"`
}

// Answer is what one round asks for. Levels and aims are those of a desk that
// was lined up on the tone: at 0 dB the tone reads 0 VU.
type Answer struct {
	Number    int            `json:"number"` // from 1
	Index     int            `json:"index"`
	Family    source.Family  `json:"family"`
	Kind      string         `json:"kind"`
	StartS    float64        `json:"start_s"`
	EndS      float64        `json:"end_s"`
	ReadingVU float64        `json:"reading_vu"`
	PeakDBFS  float64        `json:"sample_peak_dbfs"`
	UnderRead float64        `json:"under_read_db"`
	AimDB     float64        `json:"aim_db"`
	WindowDB  [2]float64     `json:"window_db"`
	AimVU     float64        `json:"aim_reading_vu"`
	DecidedBy drills.Decider `json:"decided_by"`
}

// maxAnswers bounds an answer sheet's file, in bytes.
const maxAnswers = 4 << 20

// Parse reads the file of an answer sheet. The error is one sentence.
func Parse(data []byte) (*Answers, error) {
	a := &Answers{}
	if len(data) > maxAnswers {
		return nil, said.Errorf("series.large", "it is too large for an answer sheet")
	}
	if err := strict.Decode(data, a); err != nil {
		return nil, err
	}
	if a.Format != Format {
		return nil, said.Errorf("series.format", "its format is %q, not %q; take the file that ends in .answers.json", a.Format, Format)
	}
	a.Count = len(a.Rounds)
	if err := a.Check(); err != nil {
		return nil, err
	}
	if !(a.LineUp.StartS >= 0 && a.LineUp.EndS >= a.LineUp.StartS+1 && a.LineUp.Hertz == toneHertz && a.LineUp.LevelDBFS == a.Rig.ReferenceDBFS) {
		return nil, said.Errorf("series.line_up", "line_up is not what a series begins with")
	}
	end := a.LineUp.EndS
	for i, r := range a.Rounds {
		if r.Number != i+1 || r.Index != a.Index+i || !(r.StartS >= end && math.Abs(r.EndS-r.StartS-a.RoundSeconds) < 0.001) || r.EndS > maxLength {
			return nil, said.Errorf("series.round", "round %d is not numbered or timed as the rounds of a series are", i+1)
		}
		end = r.EndS
	}
	return a, nil
}

// Check returns nil for a plan that can be carried out, or one sentence.
func (p Plan) Check() error {
	switch {
	case p.Count < 1 || p.Count > MaxRounds:
		return fmt.Errorf("a series has 1 to %d rounds, not %d", MaxRounds, p.Count)
	case p.Index < 0 || p.Index > math.MaxInt-p.Count:
		return fmt.Errorf("index is %d; it counts from 0, and the rounds must fit behind it", p.Index)
	case !(p.RoundSeconds >= MinSeconds && p.RoundSeconds <= MaxSeconds):
		return fmt.Errorf("a round lasts %g to %g s, not %g", MinSeconds, MaxSeconds, p.RoundSeconds)
	case !(p.GapSeconds >= 0 && p.GapSeconds <= MaxGap):
		return fmt.Errorf("the silence between rounds lasts 0 to %g s, not %g", MaxGap, p.GapSeconds)
	}
	return p.Rig.Validate()
}

// takes returns how many takes, one after the other, a round is, and how many seconds
// there are for each; none is a loop, or a passage of a recording, that goes round.
// A round that is longer than a take can be is the same take again.
func (p Plan) takes() (n int, seconds float64) {
	if p.RoundSeconds < source.MinTake || p.Own != nil {
		return 0, 0
	}
	n = int(math.Ceil(p.RoundSeconds / source.MaxTake))
	return n, p.RoundSeconds / float64(n)
}

// round makes a round as it goes out: an exercise whose fader stands at 0 dB on
// a desk that was lined up on the tone. How far its aim lies above that is drawn
// from PCG (seed, index | 1<<62), in steps of 0.1 dB.
func (p Plan) round(i int) (*drills.Exercise, error) {
	index := p.Index + i
	rig := p.Rig
	set := drills.Settings{Family: p.Family, Rig: &rig}
	_, set.TakeSeconds = p.takes()
	if rig.ToleranceDB != drills.DigitalRig().ToleranceDB {
		set.ToleranceDB = rig.ToleranceDB
	}
	if p.Own != nil {
		set.Passages = source.Passages([]source.Recording{{Name: p.Own.File, Open: p.Own.Open}}, nil)
	}
	e, err := drills.NewExercise(drills.Standard, p.Seed, index, 0, set)
	if err != nil {
		return nil, err
	}
	up := math.Round(10*mostUp*rand.New(rand.NewPCG(p.Seed, uint64(index)|1<<62)).Float64()) / 10
	s := &e.Channels[0]
	sent := s.AimDB - up
	s.StartGainDB += sent
	s.ReadingVU += sent
	s.SamplePeakDBFS += sent
	s.AimDB -= sent
	s.WindowDB[0] -= sent
	s.WindowDB[1] -= sent
	// A real desk brings it anywhere.
	e.Controls[0].Min, e.Controls[0].Max = -120, 120
	return e, nil
}

// sound returns a round as it goes out, faded in and out. A take ends on a bar, so
// that there is silence behind it.
func (p Plan) sound(e *drills.Exercise) [][]float32 {
	s := e.Channels[0]
	gain := audio.Gain(s.StartGainDB)
	n := int(math.Round(p.RoundSeconds * audio.Rate))
	takes, _ := p.takes()
	var out [][]float32
	for _, x := range s.Sound.Channels {
		if takes == 0 {
			out = append(out, stretch(x, n, gain))
			continue
		}
		round, take := make([]float32, n), stretch(x, len(x), gain)
		for i := range takes {
			copy(round[i*n/takes:], take)
		}
		out = append(out, round)
	}
	return out
}

// stretch plays a loop for n frames at a gain, faded in and out.
func stretch(loop []float32, n int, gain float64) []float32 {
	x := make([]float32, n)
	fade := min(fadeSeconds*audio.Rate, n/2)
	for i := range x {
		g := gain
		if edge := min(i, n-1-i); edge < fade {
			g *= float64(edge) / float64(fade)
		}
		x[i] = loop[i%len(loop)] * float32(g)
	}
	return x
}

// Write writes the sound of a series, two channels at audio.Rate, and returns
// its answer sheet. If progress is not nil it is called before each round with
// its number from 1. The medium is left out: the real one takes its place.
func (p Plan) Write(w *wavfile.Writer, progress func(round int)) (*Answers, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	a := &Answers{Format: Format, Version: version.String(), Plan: p}
	frames := 0
	put := func(x [][]float32) (start, end float64, err error) {
		start = float64(frames) / audio.Rate
		frames += len(x[0])
		return start, float64(frames) / audio.Rate, w.Write([][]float32{x[0], x[len(x)-1]})
	}
	tone := stretch(source.LineUp(p.Rig.ReferenceDBFS).Channels[0], toneSeconds*audio.Rate, 1)
	a.LineUp = LineUp{Hertz: toneHertz, LevelDBFS: p.Rig.ReferenceDBFS}
	var err error
	if a.LineUp.StartS, a.LineUp.EndS, err = put([][]float32{tone}); err != nil {
		return nil, err
	}
	gap := make([]float32, int(p.GapSeconds*audio.Rate))
	for i := range p.Count {
		if progress != nil {
			progress(i + 1)
		}
		if _, _, err := put([][]float32{gap}); err != nil {
			return nil, err
		}
		e, err := p.round(i)
		if err != nil {
			return nil, err
		}
		s := e.Channels[0]
		answer := Answer{
			Number: i + 1, Index: e.Index, Family: e.Family, Kind: s.Sound.Kind,
			ReadingVU: round3(s.ReadingVU), PeakDBFS: round3(s.SamplePeakDBFS), UnderRead: round3(s.UnderReadDB),
			AimDB: round3(s.AimDB), WindowDB: [2]float64{round3(s.WindowDB[0]), round3(s.WindowDB[1])},
			AimVU: round3(s.ReadingVU + s.AimDB), DecidedBy: e.DecidedBy,
		}
		if answer.StartS, answer.EndS, err = put(p.sound(e)); err != nil {
			return nil, err
		}
		a.Rounds = append(a.Rounds, answer)
	}
	a.Seconds = float64(frames) / audio.Rate
	return a, nil
}

// round3 rounds a level to the 0.001 dB that JSON carries.
func round3(db float64) float64 { return math.Round(db*1000)/1000 + 0 }

// sent returns the series as it went out. The error of its Sound tells that
// this program makes other rounds than those on the sheet.
func (a *Answers) sent(step func(share float64)) returns.Series {
	s := returns.Series{
		Tone: returns.Span{Start: a.LineUp.StartS, End: a.LineUp.EndS}, Hertz: a.LineUp.Hertz,
		ToneDBFS: a.LineUp.LevelDBFS, Fade: fadeSeconds,
	}
	for _, r := range a.Rounds {
		s.Rounds = append(s.Rounds, returns.Span{Start: r.StartS, End: r.EndS})
	}
	const often = 3 // times that each round is asked for
	asked := 0.0
	s.Sound = func(i int) ([][]float32, error) {
		asked++
		e, err := a.Exercise(i)
		if err != nil {
			return nil, err
		}
		return a.sound(e), nil
	}
	if step != nil {
		s.Step = func() { step(min(1, asked/often/float64(len(a.Rounds)))) }
	}
	return s
}

// Exercise makes a round of the sheet again: its fader at 0 dB is a desk that was
// lined up on the tone. The error tells that this program makes another.
func (a *Answers) Exercise(i int) (*drills.Exercise, error) {
	if a.Own != nil && a.Own.Open == nil {
		return nil, said.Errorf("series.own", "the rounds are passages of %s; that recording is needed too", a.Own.File)
	}
	e, err := a.round(i)
	if err != nil {
		return nil, err
	}
	const same = 0.05 // dB: rounds agree between machines to 0.01
	s, r := e.Channels[0], a.Rounds[i]
	if e.Index != r.Index || math.Abs(s.ReadingVU-r.ReadingVU) > same || math.Abs(s.SamplePeakDBFS-r.PeakDBFS) > same || math.Abs(s.AimDB-r.AimDB) > same {
		return nil, said.Errorf("series.version", "round %d of the answer sheet is not the one that this version makes; use version %s, which made it", r.Number, a.Version)
	}
	return e, nil
}
