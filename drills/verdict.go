package drills

import (
	"fmt"
	"math"

	"slowneedle/audio/meter"
	"slowneedle/audio/said"
)

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

	// Of a line-up as a procedure: by how much takes that follow come out too hot.
	LaterDB float64 `json:"later_db,omitempty"`

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

// Figure is one line of the numbers of a verdict.
type Figure struct {
	Name     said.Sentence
	Value    float64
	Unit     Unit
	Signed   bool // written with its sign
	Decimals int
	Text     said.Sentence // if it has a code, it stands in place of the value
	Tone     Tone
}

// String is the figure's value and unit in English, written in ASCII.
func (f Figure) String() string {
	verb := "%.*f%s"
	if f.Signed {
		verb = "%+.*f%s"
	}
	switch {
	case f.Text.Code != "":
		return f.Text.String()
	case f.Unit == UnitSamples && f.Value == 1:
		return "1 sample"
	}
	scale := math.Pow10(f.Decimals)
	return fmt.Sprintf(verb, f.Decimals, math.Round(f.Value*scale)/scale+0, unitWords[f.Unit])
}

var unitWords = map[Unit]string{UnitDB: " dB", UnitDBFS: " dBFS", UnitVU: " VU", UnitPercent: " %", UnitPerSecond: " flashes/s", UnitSeconds: " s", UnitSamples: " samples"}

// Unit is what a figure counts.
type Unit string

// The units of figures.
const (
	UnitDB        Unit = "db"
	UnitDBFS      Unit = "dbfs"
	UnitVU        Unit = "vu"
	UnitPercent   Unit = "percent"
	UnitPerSecond Unit = "a_second"
	UnitSeconds   Unit = "s"
	UnitSamples   Unit = "samples"
	UnitNone      Unit = ""
)

// Tone is how good or bad a figure is.
type Tone int

// The tones.
const (
	ToneNone Tone = iota
	ToneGood
	ToneWarn
	ToneBad
)

// toned is ToneGood for what is right, else ToneBad.
func toned(right bool) Tone {
	if right {
		return ToneGood
	}
	return ToneBad
}

// Figures lists the numbers of a verdict as its drill has them, the most
// important first.
func (e *Exercise) Figures(v Verdict) []Figure {
	list := e.figures(e, v)
	list = append(list, Figure{Name: said.New("figure.time", "time"), Value: v.Seconds, Unit: UnitSeconds, Decimals: 1})
	for _, c := range e.Controls {
		if !c.Fixed {
			return append(list, Figure{Name: said.New("figure.moves", "fader moves"), Value: float64(v.MoveCount)})
		}
	}
	return list
}

func errorFigure(v Verdict) Figure {
	return Figure{Name: said.New("figure.error", "error"), Value: v.ErrorDB, Unit: UnitDB, Signed: true, Decimals: 1, Tone: toned(v.InWindow)}
}

func aimFigure(v Verdict) Figure {
	return Figure{Name: said.New("figure.aim", "aim"), Value: v.AimDB, Unit: UnitDB, Signed: true, Decimals: 1}
}

func underFigure(v Verdict) Figure {
	return Figure{Name: said.New("figure.under_read", "under-read"), Value: v.UnderReadDB, Unit: UnitDB, Decimals: 1}
}

// needleFigure is what the needle read or, past the ends of its scale, that it stood
// there, with the level in brackets.
func needleFigure(v Verdict) Figure {
	f := Figure{Name: said.New("figure.needle", "VU reading"), Value: v.ReadingVU, Unit: UnitVU, Signed: true, Decimals: 1}
	switch level := step(v.ReadingVU); {
	case level > scaleTop:
		f.Text = said.New("figure.over_scale", "over %s VU (%s)", signed(scaleTop, 0), signed(level, 1))
	case level < scaleFoot:
		f.Text = said.New("figure.below_scale", "below %s VU (%s)", signed(scaleFoot, 0), signed(level, 1))
	}
	return f
}

// The ends of a volume indicator's scale, VU (ANSI C16.5-1942, IEC 60268-17).
const (
	scaleFoot = -20
	scaleTop  = 3
)

// markFigure is the same on a programme meter.
func markFigure(v Verdict) Figure {
	m := meter.ProgrammeMark(v.ReadingVU)
	f := Figure{Name: said.New("figure.mark", "PPM reading"), Value: m, Decimals: 2}
	switch {
	case m > meter.LastMark:
		f.Text = said.New("figure.over_marks", "over mark %d", meter.LastMark)
	case m < meter.FirstMark:
		f.Text = said.New("figure.below_marks", "below mark %d", meter.FirstMark)
	}
	return f
}

func askedFigure(v Verdict) Figure {
	return Figure{Name: said.New("figure.aim_vu", "target"), Value: v.AimVU, Unit: UnitVU, Signed: true, Decimals: 1}
}

func headroomFigure(v Verdict) Figure {
	f := Figure{Name: said.New("figure.headroom", "headroom"), Value: v.HeadroomDB, Unit: UnitDB, Signed: true, Decimals: 1}
	if v.HeadroomDB < 0 {
		f.Tone = ToneBad
	}
	return f
}

func clippedFigure(v Verdict) Figure {
	f := Figure{Name: said.New("figure.clipped", "over full scale"), Value: float64(v.Clipped), Unit: UnitSamples}
	if v.Clipped > 0 {
		f.Tone = ToneBad
	}
	return f
}
