package drills

import (
	"fmt"
	"math"

	"slowneedle/audio/meter"
	"slowneedle/audio/said"
)

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
