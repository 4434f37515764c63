package drills

import (
	"fmt"
	"math"
	"strings"

	"slowneedle/audio/meter"
)

// Code names the reason of a verdict, for words to be put to it in any
// language.
type Code string

// The reasons.
const (
	CodeClipped    Code = "clipped"     // digital: samples beyond full scale
	CodeStill      Code = "still"       // the only fader was never moved
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

	CodeClippedByNeedle Code = "clipped_by_needle" // clipped, set by the needle alone
	CodeClippedPastLamp Code = "clipped_past_lamp" // clipped, after the lamp had lit
	CodeClippedInput    Code = "clipped_input"     // what came in at a line input clipped there

	CodeByNeedle       Code = "by_needle"      // the peaks or the lamp decided, but it was set by the needle alone
	CodePastLamp       Code = "past_lamp"      // digital: the lamp lit, and the fader went on up
	CodePastLampTape   Code = "past_lamp_tape" // the same on tape
	CodePeaksClose     Code = "peaks_close"    // above the window, but not over the ceiling
	CodePeaksLit       Code = "peaks_lit"      // in the window, and the lamp lights ahead of the ceiling
	CodeNeedleLit      Code = "needle_lit"     // the same where the needle decided
	CodeNeedleInTape   Code = "needle_in_tape"
	CodeNeedleHotTape  Code = "needle_hot_tape"
	CodeNeedleColdTape Code = "needle_cold_tape"
	CodeLampNear       Code = "lamp_near"      // in the window, yet the lamp is not sparing
	CodeLampNearCold   Code = "lamp_near_cold" // in the window, yet the lamp is dark
	CodeLampHotFew     Code = "lamp_hot_few"   // too hot, yet the lamp is sparing: few strokes, each far over
	CodeLampColdLit    Code = "lamp_cold_lit"  // too low, yet the lamp flashes
	CodeUntouched      Code = "untouched"      // of several channels some were never moved

	CodeCountIn       Code = "count_in" // Lamp count
	CodeCountNear     Code = "count_near"
	CodeCountNearLit  Code = "count_near_lit"
	CodeCountNearCold Code = "count_near_cold"
	CodeCountHot      Code = "count_hot"
	CodeCountHotFew   Code = "count_hot_few"
	CodeCountLit      Code = "count_lit"
	CodeCountCold     Code = "count_cold"
	CodeCountColdLit  Code = "count_cold_lit"

	CodeLineUpIn   Code = "lineup_in" // Line-up; {part} is the channel farthest off
	CodeLineUpHot  Code = "lineup_hot"
	CodeLineUpCold Code = "lineup_cold"
	inMarks             = "_marks"  // behind these three: on a programme meter
	CodeCallIn     Code = "call_in" // Call the under-read
	CodeCallLow    Code = "call_low"
	CodeCallHigh   Code = "call_high"
	CodeMatchIn    Code = "match_in" // Match by ear
	CodeMatchHot   Code = "match_hot"
	CodeMatchCold  Code = "match_cold"
	CodeRideIn     Code = "ride_in" // Ride it
	CodeRideOut    Code = "ride_out"
	CodeRideOver   Code = "ride_over"
	CodeRideLow    Code = "ride_low"  // out, and too low on average
	CodeRideHigh   Code = "ride_high" // out, and too hot on average
	CodeRideStill  Code = "ride_still"

	CodeRideOverHigh  Code = "ride_over_high"  // over the ceiling, and too hot on average
	CodeRideStillOver Code = "ride_still_over" // over the ceiling, and never moved

	CodeDeskIn   Code = "desk_in" // The whole desk
	CodeDeskHot  Code = "desk_hot"
	CodeDeskCold Code = "desk_cold"
	CodeDeskOver Code = "desk_over"
	onTape            = "_tape" // behind desk_in, desk_over and desk_hot_over: the lamp is the limit

	CodeDeskHotOver Code = "desk_hot_over" // a channel is too hot, and the mix bus over the ceiling

	CodeCheckIn   Code = "check_in" // Soundcheck
	CodeCheckHot  Code = "check_hot"
	CodeCheckCold Code = "check_cold"
	takeOver           = "_over"    // behind these three: the take went over the ceiling
	takeClipped        = "_clipped" // and it clipped

	CodeOddRight Code = "odd_right" // The odd one
	CodeOddWrong Code = "odd_wrong"

	CodeTrustRight Code = "trust_right" // Trust the meter?
	CodeTrustWrong Code = "trust_wrong"

	CodeChainIn      Code = "chain_in" // The chain; {part} is the stage that is meant
	CodeChainClipped Code = "chain_clips"
	CodeChainNoPad   Code = "chain_no_pad" // the preamp's input clips for want of the pad
	CodeChainTight   Code = "chain_tight"  // too little headroom
	CodeChainHiss    Code = "chain_hiss"   // too little gain, made up behind
	CodeChainPad     Code = "chain_pad"    // the same by a pad that was not needed
	CodeChainLow     Code = "chain_low"    // too little gain, not made up
	CodeChainHot     Code = "chain_hot"    // all is right but the level at the end
	CodeChainCold    Code = "chain_cold"

	CodeAlignIn    Code = "align_in" // Alignment; {part} is the first step that was wrong
	CodeAlignHot   Code = "align_hot"
	CodeAlignCold  Code = "align_cold"
	CodeAlignOrder Code = "align_order" // moved again after {made}
)

// Words holds sentences by their key: a Code, or "headline_in",
// "headline_spot", "headline_hot", "headline_cold", "hides", "hides_nothing", "zone_" with a Zone,
// "part_" with the name of a channel.
// In them stand: {error} dB without sign, {hides} one of the two hides
// sentences with {under} dB, {aim} and {reading} VU, {fader} and {right} the fader
// and where it belongs in dB, {room} dB of headroom left or over (on tape, of the
// peaks over the lamp's threshold), {zone}, {damage} and {noise} one of their words
// ("zone_often" in place of "zone_lit" while the lamp flashes), {lit} the fader in dB
// at which the lamp lit and {past} the dB from there on, {flashes} of the lamp in
// its busiest three seconds. In drills: {part} the channel or choice
// that is meant, {called} and {under} dB, {asked} VU to a tenth, {share} per
// cent of the time, {faults} of the needles, "needle_fault" with {n} and {fault}
// each, joined by "and"; {untouched} the faders that were never moved, "fader" with
// {n} each, or "fader_" with a side; {mark} that a programme meter reads, "mark_over" and
// "mark_below" past the ends of its scale, and the {target} there; at a soundcheck the {margin} left in dB, the {likely} growth and the
// {growth} of the take; of a chain {snr} and {loss} dB, and the stage {made}; {odd},
// "odd_" with what was wrong, and its {amount} in dB. A drill may have headlines
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
	"zone_often":    "flashing {flashes} times in three seconds",

	"damage_clean":     "the take is still clean",
	"damage_grit":      "the take is slightly distorted",
	"damage_distorted": "the take is clearly distorted",
	"damage_spoiled":   "the take is spoiled",
	"noise_low":        "the hiss is still far below the take",
	"noise_hiss":       "there is a little hiss",
	"noise_noisy":      "the take is noisy",
	"noise_buried":     "the take sinks into the hiss",

	"part_left":  "left",
	"part_right": "right",
	"part_tone":  "fader",

	"part_microphone": "mic",
	"part_pad":        "pad",
	"part_preamp":     "preamp",
	"part_fader":      "fader",
	"part_bus":        "mix bus",
	"part_recorder":   "recorder",
	"part_console":    "console",
	"part_playback":   "playback",
	"part_oscillator": "oscillator",
	"part_tape":       "tape",

	"fader":       "fader {n}",
	"fader_named": "the {n} fader",
	"fader_left":  "the left fader",
	"fader_right": "the right fader",

	"needle_fault": "needle {n} {fault}",
	"and":          " and ",
	"fault_slow":   "rises too slowly",
	"fault_over":   "overshoots too far",
	"fault_peaks":  "reads peaks, not the average",
	"fault_hangs":  "falls back too slowly",

	string(CodeClipped):    "The take clipped: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks went over full scale.",
	string(CodeStill):      "You never moved the fader: it stayed at {fader} dB and belongs at {right} dB.",
	string(CodeNeedleIn):   "The needle decided: {hides}, and at {reading} VU they still have {room} dB of headroom.",
	string(CodeNeedleHot):  "The needle decided: {hides}; the source belongs near {aim} VU, and you left it at {reading} VU.",
	string(CodeNeedleCold): "The needle decided: {hides}, so it could come up to {aim} VU; at {reading} VU it sounds perfect at matched loudness, but somebody has to make up {error} dB later.",
	string(CodePeaksIn):    "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU they leave {room} dB of headroom.",
	string(CodePeaksHot):   "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks are {room} dB over the ceiling.",
	string(CodePeaksCold):  "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU it sounds perfect at matched loudness, but somebody has to make up {error} dB later.",
	string(CodeLampIn):     "The lamp decided: {hides}, so on tape it belongs near {aim} VU, where the lamp flashes only now and then.",
	string(CodeLampEdge):   "The lamp decided: {hides}, and the lamp goes from dark straight to lit, so on tape it belongs just below that, near {aim} VU.",
	string(CodeLampHot):    "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}; {damage}.",
	string(CodeLampCold):   "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}; {noise}.",

	"headline_clipped_input":    "The input clips.",
	string(CodeClippedInput):    "The input itself clipped: its samples reach full scale. Turn down what is ahead of it, then look at the needle again.",
	string(CodeClippedByNeedle): "You set it by the needle alone, and the take clipped: {hides}, so here it belongs near {aim} VU.",
	string(CodeClippedPastLamp): "The lamp first lit with the fader at {lit} dB, and you went on {past} dB until the take clipped: {hides}, so here it belongs near {aim} VU.",

	string(CodeByNeedle):       "You set it by the needle alone, and that cost {error} dB: {hides}, so here it belongs near {aim} VU.",
	string(CodePastLamp):       "The lamp first lit with the fader at {lit} dB, and you went on {past} dB: {hides}, so here it belongs near {aim} VU.",
	string(CodePastLampTape):   "The lamp first lit with the fader at {lit} dB, and you went on {past} dB: {hides}, so on tape it belongs near {aim} VU; where you left it, {damage}.",
	string(CodePeaksClose):     "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU its peaks come within {room} dB of the ceiling.",
	string(CodePeaksLit):       "The peaks decided: {hides}, so here it belongs near {aim} VU; at {reading} VU the lamp lights, but only as a warning: {room} dB of headroom left.",
	string(CodeNeedleLit):      "The needle decided: {hides}; at {reading} VU the lamp lights, but only as a warning: {room} dB of headroom left.",
	string(CodeNeedleInTape):   "The needle decided: {hides}, and at {reading} VU the lamp is {zone}; {damage}.",
	string(CodeNeedleHotTape):  "The needle decided: {hides}; the source belongs near {aim} VU, and you left it at {reading} VU: {damage}.",
	string(CodeNeedleColdTape): "The needle decided: {hides}, so it could come up to {aim} VU; you left it at {reading} VU: {noise}.",
	string(CodeLampNear):       "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, but {error} dB above the aim is close enough; {damage}.",
	string(CodeLampNearCold):   "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp is {zone}, but {error} dB below the aim is close enough; {noise}.",
	string(CodeLampHotFew):     "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the lamp still flashes only now and then, but the peaks run {room} dB above its threshold; {damage}.",
	string(CodeLampColdLit):    "The lamp decided: {hides}, so on tape it belongs near {aim} VU; at {reading} VU the peaks only just reach the lamp's threshold; {noise}.",
	string(CodeUntouched):      "You never touched {untouched}.",
	string(CodeCountIn):        "Flashes in the busiest three seconds: {flashes}; one to three are right.",
	string(CodeCountNear):      "Flashes in the busiest three seconds: {flashes}, where one to three are right, but {error} dB above the aim is close enough; {damage}.",
	string(CodeCountNearLit):   "The lamp was on most of the time, where one to three flashes in three seconds are right, but {error} dB above the aim is close enough; {damage}.",
	string(CodeCountNearCold):  "The lamp stayed dark, where one to three flashes in three seconds are right, but {error} dB below the aim is close enough; {noise}.",
	string(CodeCountHot):       "Flashes in the busiest three seconds: {flashes}, where one to three are right; {damage}.",
	string(CodeCountHotFew):    "Flashes in the busiest three seconds: {flashes}, no more than are right, but the peaks run {room} dB above the lamp's threshold; {damage}.",
	string(CodeCountLit):       "The lamp was on most of the time, where one to three flashes in three seconds are right; {damage}.",
	string(CodeCountCold):      "Flashes in the busiest three seconds: {flashes}, where one to three are right; {noise}.",
	string(CodeCountColdLit):   "Flashes in the busiest three seconds: {flashes}, but the peaks only just reach the lamp's threshold; {noise}.",

	string(CodeLineUpIn):             "The tone is at {reading} VU; the target was {asked} VU.",
	string(CodeLineUpHot):            "Lined up too high ({part}): the tone is at {reading} VU; the target was {asked} VU.",
	string(CodeLineUpCold):           "Lined up too low ({part}): the tone is at {reading} VU; the target was {asked} VU.",
	string(CodeLineUpIn + inMarks):   "The programme meter reads {mark}; the target was {target}.",
	string(CodeLineUpHot + inMarks):  "Lined up too high ({part}): the programme meter reads {mark}; the target was {target}.",
	string(CodeLineUpCold + inMarks): "Lined up too low ({part}): the programme meter reads {mark}; the target was {target}.",
	"mark_over":                      "more than {n}",
	"mark_below":                     "less than {n}",

	string(CodeCallIn):    "You called {called} dB; the peaks run {under} dB above the needle.",
	string(CodeCallLow):   "You called {called} dB, but the peaks run {under} dB above the needle: relying on that, you would set it too hot.",
	string(CodeCallHigh):  "You called {called} dB, but the peaks run only {under} dB above the needle: relying on that, you would set it too low.",
	string(CodeMatchIn):   "{part} is {error} dB from A by measurement; listeners hardly agree on half a decibel between two sources.",
	string(CodeMatchHot):  "{part} is {error} dB louder than A; half a decibel between two sources goes unheard, this much rarely does.",
	string(CodeMatchCold): "{part} is {error} dB quieter than A; half a decibel between two sources goes unheard, this much rarely does.",
	string(CodeRideIn):    "You kept the needle near {asked} VU for {share} % of the time there was sound.",
	string(CodeRideOut):   "You kept the needle near {asked} VU for only {share} % of the time there was sound; follow sooner.",
	string(CodeRideLow):   "You rode it {error} dB too low on average: the needle was near {asked} VU for only {share} % of the time there was sound.",
	string(CodeRideHigh):  "You rode it {error} dB too hot on average: the needle was near {asked} VU for only {share} % of the time there was sound.",
	string(CodeRideStill): "You never moved the fader: the needle was near {asked} VU for {share} % of the time there was sound.",
	string(CodeRideOver):  "The peaks went {room} dB over the ceiling: when the level comes up, pull back first and look afterwards.",
	string(CodeDeskIn):    "Every channel is within {error} dB of its target, and the mix bus stays {room} dB below the ceiling.",
	string(CodeDeskHot):   "Furthest off is {part}, at {reading} VU; the target was {asked} VU.",
	string(CodeDeskCold):  "Furthest off is {part}, at {reading} VU; the target was {asked} VU.",
	string(CodeDeskOver):  "Every channel is right on its own, but the mix bus goes {room} dB over the ceiling: many small excesses add up.",

	string(CodeDeskIn + onTape):      "Every channel is within {error} dB of its target, and the peaks of the mix bus stay {room} dB below the lamp's threshold.",
	string(CodeDeskOver + onTape):    "Every channel is right on its own, but the peaks of the mix bus go {room} dB over the lamp's threshold: many small excesses add up.",
	string(CodeDeskHotOver + onTape): "Furthest off is {part}, at {reading} VU where the target was {asked} VU, and the peaks of the mix bus go {room} dB over the lamp's threshold.",

	string(CodeRideOverHigh):  "The peaks went {room} dB over the ceiling: you rode it {error} dB too hot on average.",
	string(CodeRideStillOver): "You never moved the fader, and the peaks went {room} dB over the ceiling.",
	string(CodeDeskHotOver):   "Furthest off is {part}, at {reading} VU where the target was {asked} VU, and the mix bus goes {room} dB over the ceiling.",

	string(CodeCheckIn):                 "You left {margin} dB where nine takes in ten need {likely}: this one grew by {growth} dB and ended {room} dB below the ceiling.",
	string(CodeCheckIn + takeOver):      "You left {margin} dB where nine takes in ten need {likely}; this was the tenth: it grew by {growth} dB and went {room} dB over the ceiling.",
	string(CodeCheckIn + takeClipped):   "You left {margin} dB where nine takes in ten need {likely}; this was the tenth: it grew by {growth} dB and clipped.",
	string(CodeCheckHot):                "You left {margin} dB where nine takes in ten need {likely}: this one grew by only {growth} dB and stayed {room} dB below the ceiling, but that was luck.",
	string(CodeCheckHot + takeOver):     "You left {margin} dB where nine takes in ten need {likely}: this one grew by {growth} dB and went {room} dB over the ceiling.",
	string(CodeCheckHot + takeClipped):  "You left {margin} dB where nine takes in ten need {likely}: this one grew by {growth} dB and clipped.",
	string(CodeCheckCold):               "You left {margin} dB where nine takes in ten need only {likely}: this one grew by {growth} dB, and {room} dB were left over.",
	string(CodeCheckCold + takeOver):    "You left {margin} dB where nine takes in ten need only {likely}; this was the rare one that grew by {growth} dB, {room} dB over the ceiling all the same.",
	string(CodeCheckCold + takeClipped): "You left {margin} dB where nine takes in ten need only {likely}; this was the rare one that grew by {growth} dB and clipped all the same.",

	string(CodeOddRight): "{part} was the odd one: {odd}.",
	string(CodeOddWrong): "You chose {chosen}, but {part} was the odd one: {odd}.",
	"odd_hiss":           "hiss {amount} dB below the sound",
	"odd_grit":           "grit {amount} dB below the sound",
	"odd_clip":           "{amount} dB clipped off its peaks",
	"odd_louder":         "{amount} dB louder than the others",
	"odd_softer":         "{amount} dB softer than the others",

	string(CodeTrustRight): "Needle {part} meets the standard; {faults}.",
	string(CodeTrustWrong): "You chose {chosen}, but {faults}; needle {part} meets the standard.",

	string(CodeChainIn):      "S/N is {loss} dB below the best that this chain allows, and the tightest stage, the {part}, keeps {room} dB of headroom.",
	string(CodeChainClipped): "The peaks were {room} dB above where the {part} clips: with {error} dB less there they keep the 6 dB of headroom of the best setting.",
	string(CodeChainNoPad):   "The peaks were {room} dB above what the preamp's input takes, and no control behind it can mend that: this source needs the pad.",
	string(CodeChainTight):   "At the {part} the peaks come within {room} dB of clipping, and its lamp lights at 3 dB: with {error} dB less there they keep the 6 dB of headroom of the best setting.",
	string(CodeChainHiss):    "You made it up at the {made}, and the noise came up with it: S/N is {loss} dB below the best that this chain allows.",
	string(CodeChainPad):     "You made up its {error} dB at the {made}, and the noise came up with them: S/N is {loss} dB below the best that this chain allows.",
	string(CodeChainLow):     "You did not make it up behind: the recorder gets {reading} VU, the target was {asked} VU, and S/N is {loss} dB below the best that this chain allows.",
	string(CodeChainHot):     "Noise and headroom are right, but the recorder gets {reading} VU; the target was {asked} VU.",
	string(CodeChainCold):    "Noise and headroom are right, but the recorder gets {reading} VU; the target was {asked} VU.",

	string(CodeAlignIn):    "Every step was done in its order and reads what it should.",
	string(CodeAlignHot):   "The first wrong step is the {part}: its needle is at {reading} VU, where it should read {asked} VU.",
	string(CodeAlignCold):  "The first wrong step is the {part}: its needle is at {reading} VU, where it should read {asked} VU.",
	string(CodeAlignOrder): "The {part} was moved again after the {made} had been set, which belongs behind it: what was lined up there is so no longer, or only by luck.",

	"headline_align_in":     "In the window: lined up.",
	"headline_align_order":  "Out of order: {part}.",
	"headline_chain_in":     "In the window: S/N {snr} dB.",
	"headline_chain_clips":  "Clipped at the {part}.",
	"headline_chain_no_pad": "Clipped at the preamp's input.",
	"headline_chain_tight":  "Only {room} dB of headroom at the {part}.",
	"headline_chain_hiss":   "{error} dB too little at the {part}.",
	"headline_chain_pad":    "The pad was not needed.",
	"headline_chain_low":    "{error} dB too little at the {part}.",

	"headline_call_in":    "In the window: {error} dB off.",
	"headline_call_low":   "Called {error} dB too low.",
	"headline_call_high":  "Called {error} dB too high.",
	"headline_match_in":   "In the window: at most {error} dB from A.",
	"headline_match_hot":  "{error} dB too loud.",
	"headline_match_cold": "{error} dB too quiet.",
	"headline_ride_in":    "Well ridden: {share} % of the time in the window.",
	"headline_ride_out":   "Only {share} % of the time in the window.",
	"headline_ride_low":   "Only {share} % of the time in the window.",
	"headline_ride_high":  "Only {share} % of the time in the window.",
	"headline_ride_still": "{share} % of the time in the window.",
	"headline_ride_over":  "Out of headroom.",

	"headline_ride_over_high":  "Out of headroom.",
	"headline_ride_still_over": "Out of headroom.",

	"headline_desk_in":   "All channels in the window.",
	"headline_desk_over": "The mix bus is too hot.",

	"headline_desk_hot_over": "The mix bus is too hot.",

	"headline_check_hot":  "{error} dB too little margin.",
	"headline_check_cold": "{error} dB too much margin.",

	"headline_odd_right": "Right.",
	"headline_odd_wrong": "Not that one.",

	"headline_trust_right": "Right.",
	"headline_trust_wrong": "Not that one.",
}

// onlyTone is the channel of a line-up that has no other: a sentence that names
// the channel in brackets leaves it out.
const onlyTone = "tone"

// How far from the aim, in dB, a take may lie to be called spot on, and a tone that
// is lined up; and how near to the aim {aim} has a tenth, so that it is not rounded
// to the very reading that was wrong.
const (
	spotDB     = 0.3
	spotTone   = 0.1
	aimTenthDB = 2.0
)

// Sentences puts words to a verdict: the headline, and the reason in one
// sentence. A key that w lacks is taken from English.
func (v Verdict) Sentences(w Words) (headline, reason string) {
	base := v.Code
	for _, behind := range []string{inMarks, onTape, takeClipped} {
		base = Code(strings.TrimSuffix(string(base), behind))
	}
	if cut, ok := strings.CutSuffix(string(base), takeOver); ok && strings.HasPrefix(cut, "check_") {
		base = Code(cut)
	}
	near := spotDB
	if base == CodeLineUpIn {
		near = spotTone
	}
	spot := v.InWindow && math.Abs(v.ErrorDB) <= near
	headlineKey := "headline_cold"
	switch {
	case spot:
		headlineKey = "headline_spot"
	case v.InWindow:
		headlineKey = "headline_in"
	case v.ErrorDB > 0:
		headlineKey = "headline_hot"
	}
	if own := "headline_" + string(base); w.of(own) != "" && !(spot && (v.Code == CodeCallIn || v.Code == CodeMatchIn)) {
		headlineKey = own
	}
	hides := "hides"
	if v.UnderReadDB < 0.5 {
		hides = "hides_nothing"
	}
	part := w.Part(v.Part)
	reason = w.of(string(v.Code))
	if v.Part == onlyTone {
		reason = strings.Replace(reason, " ({part})", "", 1)
	}
	decimals := 0
	if !v.InWindow && math.Abs(v.ErrorDB) < aimTenthDB {
		decimals = 1
	}
	zone := "zone_" + string(v.Zone)
	if v.Zone == ZoneLit && v.FlicksPerS > busyRate {
		zone = "zone_often"
	}
	fill := strings.NewReplacer(
		"{error}", fmt.Sprintf("%.1f", math.Abs(v.ErrorDB)),
		"{hides}", w.of(hides),
		"{under}", fmt.Sprintf("%.1f", v.UnderReadDB),
		"{aim}", signed(v.AimVU, decimals),
		"{fader}", signed(v.FaderDB, 1),
		"{right}", signed(v.AimDB, 1),
		"{reading}", signed(v.ReadingVU, 1),
		"{room}", fmt.Sprintf("%.1f", math.Abs(v.HeadroomDB)),
		"{asked}", signed(v.AimVU, 1),
		"{mark}", w.mark(meter.ProgrammeMark(v.ReadingVU)),
		"{target}", mark(meter.ProgrammeMark(v.AimVU)),
		"{part}", part,
		"{odd}", w.odd(v),
		"{amount}", fmt.Sprintf("%.1f", math.Abs(v.OddDB)),
		"{margin}", strings.TrimPrefix(signed(v.MarginDB, 1), "+"),
		"{likely}", fmt.Sprintf("%.1f", v.LikelyDB),
		"{growth}", strings.TrimPrefix(signed(v.GrowthDB, 1), "+"),
		"{called}", fmt.Sprintf("%.1f", v.CalledDB),
		"{share}", fmt.Sprintf("%.0f", 100*v.Share),
		"{zone}", w.of(zone),
		"{damage}", w.of("damage_"+string(v.Damage)),
		"{noise}", w.of("noise_"+string(v.Noise)),
		"{lit}", signed(v.FaderDB-v.PastLampDB, 1),
		"{past}", fmt.Sprintf("%.1f", v.PastLampDB),
		"{flashes}", fmt.Sprintf("%.0f", CountSeconds*v.FlicksPerS),
		"{faults}", w.faults(v),
		"{chosen}", v.Chosen,
		"{made}", w.Part(v.MadeUp),
		"{snr}", fmt.Sprintf("%.0f", v.SNRDB),
		"{loss}", fmt.Sprintf("%.1f", math.Abs(v.LossDB)),
		"{untouched}", w.faders(v.Untouched),
	)
	// Twice, since {hides} brings {under} in, {zone} {flashes} and {odd} {amount}.
	return fill.Replace(w.of(headlineKey)), fill.Replace(fill.Replace(reason))
}

// odd tells what was wrong with the odd one, and how much of it there was.
func (w Words) odd(v Verdict) string {
	switch {
	case v.Odd != OddLevel:
		return w.of("odd_" + string(v.Odd))
	case v.OddDB > 0:
		return w.of("odd_louder")
	}
	return w.of("odd_softer")
}

// mark writes what a programme meter reads, or past which end of its scale it stands.
func (w Words) mark(m float64) string {
	switch {
	case m > meter.LastMark:
		return strings.Replace(w.of("mark_over"), "{n}", fmt.Sprint(meter.LastMark), 1)
	case m < meter.FirstMark:
		return strings.Replace(w.of("mark_below"), "{n}", fmt.Sprint(meter.FirstMark), 1)
	}
	return mark(m)
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

// faders names the faders of channels that are listed as in "B, D".
func (w Words) faders(channels string) string {
	var list []string
	for _, n := range strings.Split(channels, ", ") {
		name, part := w.of("fader_"+n), w.Part(n)
		switch {
		case name != "":
		case len(n) > 1:
			name = strings.Replace(w.of("fader_named"), "{n}", part, 1)
		default:
			name = strings.Replace(w.of("fader"), "{n}", n, 1)
		}
		list = append(list, name)
	}
	last := len(list) - 1
	if last == 0 {
		return list[0]
	}
	return strings.Join(list[:last], ", ") + w.of("and") + list[last]
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
