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
	CodeLampEdge   Code = "lamp_edge" // in the window of a source the lamp is never sparing on
	CodeLampCold   Code = "lamp_cold"

	CodeByNeedle       Code = "by_needle"      // the peaks or the lamp decided, but it was set by the needle alone
	CodePastLamp       Code = "past_lamp"      // digital: the lamp lit, and the fader went on up
	CodePastLampTape   Code = "past_lamp_tape" // the same on tape
	CodePeaksClose     Code = "peaks_close"    // above the window, but not over the ceiling
	CodeLampNear       Code = "lamp_near"      // in the window, yet the lamp is not sparing
	CodeNeedleColdTape Code = "needle_cold_tape"
	CodeUntouched      Code = "untouched" // of several channels some were never moved

	CodeCountIn   Code = "count_in" // Lamp count
	CodeCountHot  Code = "count_hot"
	CodeCountLit  Code = "count_lit"
	CodeCountCold Code = "count_cold"

	CodeLineUpIn   Code = "lineup_in" // Line-up; {part} is the channel farthest off
	CodeLineUpHot  Code = "lineup_hot"
	CodeLineUpCold Code = "lineup_cold"
	CodeCallIn     Code = "call_in" // Call the under-read
	CodeCallLow    Code = "call_low"
	CodeCallHigh   Code = "call_high"
	CodeMatchIn    Code = "match_in" // Match by ear
	CodeMatchHot   Code = "match_hot"
	CodeMatchCold  Code = "match_cold"
	CodeRideIn     Code = "ride_in" // Ride it
	CodeRideOut    Code = "ride_out"
	CodeRideOver   Code = "ride_over"
	CodeRideStill  Code = "ride_still"
	CodeDeskIn     Code = "desk_in" // The whole desk
	CodeDeskHot    Code = "desk_hot"
	CodeDeskCold   Code = "desk_cold"
	CodeDeskOver   Code = "desk_over"
	CodeTrustRight Code = "trust_right" // Trust the meter?
	CodeTrustWrong Code = "trust_wrong"
)

// Words holds sentences by their key: a Code, or "headline_in",
// "headline_spot", "headline_hot", "headline_cold", "hides", "hides_nothing", "zone_" with a Zone,
// "part_" with a channel that is named by its side.
// In them stand: {error} dB without sign, {hides} one of the two hides
// sentences with {under} dB, {aim} and {reading} VU, {room} dB of headroom left
// or over, {zone}, {damage} and {noise} one of their words, {lit} the fader in dB
// at which the lamp lit and {past} the dB from there on, {flashes} of the lamp in
// its busiest three seconds. In drills: {part} the channel or choice
// that is meant, {called} and {under} dB, {asked} VU to a tenth, {share} per
// cent of the time, {faults} of the needles, "needle_fault" with {n} and {fault}
// each, joined by "and"; {untouched} the channels that were never moved. A drill may have headlines
// of its own, under "headline_" with its Code.
type Words map[string]string

// English is the words of verdicts in English.
var English = Words{
	"headline_in":   "In the window: {error} dB from the aim.",
	"headline_spot": "Spot on.",
	"headline_hot":  "{error} dB too hot.",
	"headline_cold": "{error} dB too low.",
	"hides":         "this source's peaks run {under} dB above the needle",
	"hides_nothing": "this source's peaks run no higher than the needle",
	"zone_dark":     "dark",
	"zone_sparing":  "flashing now and then",
	"zone_busy":     "flashing more than once a second",
	"zone_lit":      "on most of the time",

	"damage_clean":     "the take is clean",
	"damage_grit":      "the take is slightly distorted",
	"damage_distorted": "the take is clearly distorted",
	"damage_spoiled":   "the take is spoiled",
	"noise_low":        "the hiss stays far below the take",
	"noise_hiss":       "there is a little hiss",
	"noise_noisy":      "the take is noisy",
	"noise_buried":     "the take sinks into the hiss",

	"part_left":  "left",
	"part_right": "right",

	"needle_fault": "needle {n} {fault}",
	"and":          " and ",
	"fault_slow":   "rises too slowly",
	"fault_over":   "overshoots too far",
	"fault_peaks":  "reads peaks, not the average",
	"fault_hangs":  "falls back too slowly",

	string(CodeClipped):    "The take clipped: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks went over full scale.",
	string(CodeNeedleIn):   "The needle decided: {hides}, and at {reading} VU they still have headroom.",
	string(CodeNeedleHot):  "The needle decided: {hides}; it belongs near {aim} VU, and you left it at {reading} VU.",
	string(CodeNeedleCold): "The needle decided: {hides}, so it could come up to {aim} VU; at {reading} VU it sounds just as good turned up, but somebody has to make up {error} dB later.",
	string(CodePeaksIn):    "The peaks decided: {hides}, so here it belongs near {aim} VU, and you left it at {reading} VU.",
	string(CodePeaksHot):   "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks are {room} dB over the ceiling.",
	string(CodePeaksCold):  "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU it sounds just as good turned up, but somebody has to make up {error} dB later.",
	string(CodeLampIn):     "The lamp decided: {hides}, so on tape it belongs near {aim} VU, where the lamp flashes only now and then.",
	string(CodeLampEdge):   "The lamp decided: {hides}, and the lamp goes from dark straight to lit, so on tape it belongs just below that, near {aim} VU.",
	string(CodeLampHot):    "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, and {damage}.",
	string(CodeLampCold):   "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, and {noise}.",

	string(CodeByNeedle):       "You set it by the needle alone, and that cost {error} dB: {hides}, so here it belongs near {aim} VU.",
	string(CodePastLamp):       "The lamp first lit with the fader at {lit} dB, and you went on {past} dB: {hides}, so here it belongs near {aim} VU.",
	string(CodePastLampTape):   "The lamp first lit with the fader at {lit} dB, and you went on {past} dB: {hides}, so on tape it belongs near {aim} VU; where you left it, {damage}.",
	string(CodePeaksClose):     "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks come within {room} dB of the ceiling.",
	string(CodeLampNear):       "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, which is close enough: {damage}.",
	string(CodeNeedleColdTape): "The needle decided: {hides}, so it could come up to {aim} VU; you left it at {reading} VU, and {noise}.",
	string(CodeUntouched):      "Never touched: {untouched}.",
	string(CodeCountIn):        "Flashes in the busiest three seconds: {flashes}; up to three are right.",
	string(CodeCountHot):       "Flashes in the busiest three seconds: {flashes}, where two or three are right; {damage}.",
	string(CodeCountLit):       "The lamp was on most of the time, where two or three flashes in three seconds are right; {damage}.",
	string(CodeCountCold):      "Flashes in the busiest three seconds: {flashes}, where two or three are right; {noise}.",

	string(CodeLineUpIn):   "The needle reads {reading} VU; the target was {asked} VU.",
	string(CodeLineUpHot):  "Lined up too high ({part}): the needle reads {reading} VU; the target was {asked} VU.",
	string(CodeLineUpCold): "Lined up too low ({part}): the needle reads {reading} VU; the target was {asked} VU.",
	string(CodeCallIn):     "You called {called} dB; the peaks run {under} dB above the needle.",
	string(CodeCallLow):    "You called {called} dB, but the peaks run {under} dB above the needle: relying on that, you would set it too hot.",
	string(CodeCallHigh):   "You called {called} dB, but the peaks run only {under} dB above the needle: relying on that, you would give headroom away.",
	string(CodeMatchIn):    "A and {part} are the furthest apart, {error} dB by measurement; listeners hardly agree on half a decibel between two sources.",
	string(CodeMatchHot):   "{part} is {error} dB louder than A; half a decibel between two sources goes unheard, this much does not.",
	string(CodeMatchCold):  "{part} is {error} dB quieter than A; half a decibel between two sources goes unheard, this much does not.",
	string(CodeRideIn):     "You kept the needle near {asked} VU for {share} % of the time there was sound.",
	string(CodeRideOut):    "You kept the needle near {asked} VU for only {share} % of the time there was sound; follow sooner.",
	string(CodeRideStill):  "You never moved the fader: the needle was near {asked} VU for {share} % of the time there was sound.",
	string(CodeRideOver):   "The peaks went {room} dB over the ceiling: when the level jumps up, pull back first and look afterwards.",
	string(CodeDeskIn):     "Every channel is in its window, and the mix bus stays {room} dB below the ceiling.",
	string(CodeDeskHot):    "Channel {part} reads {reading} VU; the target was {asked} VU.",
	string(CodeDeskCold):   "Channel {part} reads {reading} VU; the target was {asked} VU.",
	string(CodeDeskOver):   "Every channel is right on its own, but the mix bus goes {room} dB over the ceiling: many small excesses add up.",
	string(CodeTrustRight): "Needle {part} meets the standard; {faults}.",
	string(CodeTrustWrong): "You chose {chosen}, but {faults}; needle {part} meets the standard.",

	"headline_call_in":     "In the window: {error} dB off.",
	"headline_call_low":    "Called {error} dB too low.",
	"headline_call_high":   "Called {error} dB too high.",
	"headline_match_in":    "In the window: at most {error} dB from A.",
	"headline_ride_in":     "Well ridden: {share} % of the time in the window.",
	"headline_ride_out":    "Only {share} % of the time in the window.",
	"headline_ride_over":   "Out of headroom.",
	"headline_desk_in":     "All channels in the window.",
	"headline_desk_over":   "The mix bus is too hot.",
	"headline_trust_right": "Right.",
	"headline_trust_wrong": "Not that one.",
}

// onlyTone is the channel of a line-up that has no other: a sentence that names
// the channel in brackets leaves it out.
const onlyTone = "tone"

// spotDB is how far from the aim, in dB, a take may lie to be called spot on.
const spotDB = 0.3

// Sentences puts words to a verdict: the headline, and the reason in one
// sentence. A key that w lacks is taken from English.
func (v Verdict) Sentences(w Words) (headline, reason string) {
	headlineKey := "headline_cold"
	switch {
	case v.InWindow && math.Abs(v.ErrorDB) <= spotDB:
		headlineKey = "headline_spot"
	case v.InWindow:
		headlineKey = "headline_in"
	case v.ErrorDB > 0:
		headlineKey = "headline_hot"
	}
	if own := "headline_" + string(v.Code); w.of(own) != "" {
		headlineKey = own
	}
	hides := "hides"
	if v.UnderReadDB < 0.5 {
		hides = "hides_nothing"
	}
	part := v.Part
	if own := w.of("part_" + part); own != "" {
		part = own
	}
	reason = w.of(string(v.Code))
	if v.Part == onlyTone {
		reason = strings.Replace(reason, " ({part})", "", 1)
	}
	fill := strings.NewReplacer(
		"{error}", fmt.Sprintf("%.1f", math.Abs(v.ErrorDB)),
		"{hides}", w.of(hides),
		"{under}", fmt.Sprintf("%.1f", v.UnderReadDB),
		"{aim}", signed(math.Round(v.AimVU), 0),
		"{reading}", signed(v.ReadingVU, 1),
		"{room}", fmt.Sprintf("%.1f", math.Abs(v.HeadroomDB)),
		"{asked}", signed(v.AimVU, 1),
		"{part}", part,
		"{called}", fmt.Sprintf("%.1f", v.CalledDB),
		"{share}", fmt.Sprintf("%.0f", 100*v.Share),
		"{zone}", w.of("zone_"+string(v.Zone)),
		"{damage}", w.of("damage_"+string(v.Damage)),
		"{noise}", w.of("noise_"+string(v.Noise)),
		"{lit}", signed(v.FaderDB-v.PastLampDB, 1),
		"{past}", fmt.Sprintf("%.1f", v.PastLampDB),
		"{flashes}", fmt.Sprintf("%.0f", zoneSeconds*v.FlicksPerS),
		"{faults}", w.faults(v),
		"{chosen}", v.Chosen,
		"{untouched}", v.Untouched,
	)
	// Twice, since {hides} brings {under} in.
	return fill.Replace(w.of(headlineKey)), fill.Replace(fill.Replace(reason))
}

// faults tells what is wrong with the needle that was chosen, or, if that is the
// right one, with the others.
func (w Words) faults(v Verdict) string {
	var list []string
	for i, f := range v.Faults {
		if n := needleName(i); f != "" && (v.InWindow || n == v.Chosen) {
			list = append(list, strings.NewReplacer("{n}", n, "{fault}", w.of("fault_"+string(f))).Replace(w.of("needle_fault")))
		}
	}
	return strings.Join(list, w.of("and"))
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

// brief is signed with a tenth only where there is one.
func brief(v float64) string {
	if step(v) == math.Round(v) {
		return signed(v, 0)
	}
	return signed(v, 1)
}

// sided chooses among three codes by which side of the window a verdict is on.
func sided(in, hot, cold Code, v Verdict) Code {
	switch {
	case v.InWindow:
		return in
	case v.ErrorDB > 0:
		return hot
	}
	return cold
}
