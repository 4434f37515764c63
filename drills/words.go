package drills

import (
	"fmt"
	"math"
	"strings"
)

// Code names the reason of a verdict, for words to be put to it in any
// language.
type Code string

// The reasons.
const (
	CodeClipped    Code = "clipped"     // digital: samples beyond full scale
	CodeNeedleIn   Code = "needle_in"   // the needle decided; in the window
	CodeNeedleHot  Code = "needle_hot"  // above it
	CodeNeedleCold Code = "needle_cold" // below it
	CodePeaksIn    Code = "peaks_in"    // digital: the ceiling decided
	CodePeaksHot   Code = "peaks_hot"
	CodePeaksCold  Code = "peaks_cold"
	CodeLampIn     Code = "lamp_in" // tape: the lamp decided
	CodeLampHot    Code = "lamp_hot"
	CodeLampCold   Code = "lamp_cold"
)

// Words holds sentences by their key: a Code, or "headline_in",
// "headline_hot", "headline_cold", "hides", "hides_nothing", "zone_" with a Zone.
// In them stand: {error} dB without sign, {hides} one of the two hides
// sentences with {under} dB, {aim} and {reading} VU, {room} dB of headroom left
// or over, {zone} one of the zone words.
type Words map[string]string

// English is the words of verdicts in English.
var English = Words{
	"headline_in":   "Right: {error} dB from the aim.",
	"headline_hot":  "{error} dB too hot.",
	"headline_cold": "{error} dB too cold.",
	"hides":         "hides {under} dB from the needle",
	"hides_nothing": "hides nothing from the needle",
	"zone_dark":     "dark",
	"zone_sparing":  "flicking now and then",
	"zone_busy":     "flicking more than once a second",
	"zone_lit":      "lit too much, and the take is spoiled",

	string(CodeClipped):    "The take clipped: this source {hides}, so here it belongs near {aim} VU, and at {reading} VU its peaks ran into the stops.",
	string(CodeNeedleIn):   "The needle decided: this source {hides}, and at {reading} VU its peaks still have room.",
	string(CodeNeedleHot):  "The needle decided: this source {hides} and belongs near {aim} VU; you left it at {reading} VU.",
	string(CodeNeedleCold): "The needle decided: this source {hides}, so it could come up to {aim} VU; you left it at {reading} VU.",
	string(CodePeaksIn):    "The peaks decided: this source {hides}, so here it belongs near {aim} VU, and that is where you left it.",
	string(CodePeaksHot):   "The peaks decided: this source {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks stand {room} dB above the ceiling.",
	string(CodePeaksCold):  "The peaks decided: this source {hides}, so here it belongs near {aim} VU; at {reading} VU you left {room} dB of room unused.",
	string(CodeLampIn):     "The lamp decided: this source {hides}, so on tape it belongs near {aim} VU, where the lamp flicks only now and then.",
	string(CodeLampHot):    "The lamp decided: this source {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}.",
	string(CodeLampCold):   "The lamp decided: this source {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone} and the take sits nearer the noise.",
}

// Sentences puts words to a verdict: the headline, and the reason in one
// sentence. A key that w lacks is taken from English.
func (v Verdict) Sentences(w Words) (headline, reason string) {
	headlineKey := "headline_cold"
	switch {
	case v.InWindow:
		headlineKey = "headline_in"
	case v.ErrorDB > 0:
		headlineKey = "headline_hot"
	}
	hides := "hides"
	if v.UnderReadDB < 0.5 {
		hides = "hides_nothing"
	}
	fill := strings.NewReplacer(
		"{error}", fmt.Sprintf("%.1f", math.Abs(v.ErrorDB)),
		"{hides}", w.of(hides),
		"{under}", fmt.Sprintf("%.1f", v.UnderReadDB),
		"{aim}", signed(math.Round(v.AimVU), 0),
		"{reading}", signed(v.ReadingVU, 1),
		"{room}", fmt.Sprintf("%.1f", math.Abs(v.HeadroomDB)),
		"{zone}", w.of("zone_"+string(v.Zone)),
	)
	// Twice, since {hides} brings {under} in.
	return fill.Replace(w.of(headlineKey)), fill.Replace(fill.Replace(w.of(string(v.Code))))
}

func (w Words) of(key string) string {
	if s, ok := w[key]; ok {
		return s
	}
	return English[key]
}

// signed writes a level with its sign, the minus a true one.
func signed(v float64, decimals int) string {
	s := fmt.Sprintf("%+.*f", decimals, v)
	if strings.Trim(s, "+-0.") == "" {
		return s[1:]
	}
	return strings.Replace(s, "-", "−", 1)
}

// code names the reason of a verdict whose other fields are known.
func (r *Round) code(v Verdict) Code {
	if v.Clipped > 0 {
		return CodeClipped
	}
	side := "in"
	switch {
	case v.InWindow:
	case v.ErrorDB > 0:
		side = "hot"
	default:
		side = "cold"
	}
	return Code(string(r.DecidedBy) + "_" + side)
}
