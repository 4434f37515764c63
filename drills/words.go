package drills

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"slowneedle/audio/meter"
	"slowneedle/audio/source"
)

// Code names the reason of a verdict, for words to be put to it in any
// language.
type Code string

// reason is a code with its sentence in English. A drill has its reasons in its own
// file.
func reason(c Code, sentence string) Code {
	English[string(c)] = sentence
	return c
}

// headed gives a reason a headline of its own.
func (c Code) headed(headline string) Code {
	English["headline_"+string(c)] = headline
	return c
}

// with adds what is said instead where something is behind the code.
func (c Code) with(behind Code, sentence string) Code {
	English[string(c+behind)] = sentence
	return c
}

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
// "odd_" with what was wrong, and its {amount} in dB; of a line-up {cost}, "cost_" with
// what the takes that follow will be, {later} dB off. A drill may have headlines
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
	"cost_hot":      "every take after it is {later} dB too hot",
	"cost_cold":     "every take after it is {later} dB too low",
	"cost_nothing":  "what follows makes up for it, but that needle will mislead whoever reads it",
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

	"part_tone":       "fader",
	"part_microphone": "mic",
	"part_bus":        "mix bus",

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

	"mark_over":  "more than {n}",
	"mark_below": "less than {n}",

	"odd_hiss":   "hiss {amount} dB below the sound",
	"odd_grit":   "grit {amount} dB below the sound",
	"odd_clip":   "{amount} dB clipped off its peaks",
	"odd_louder": "{amount} dB louder than the others",
	"odd_softer": "{amount} dB softer than the others",
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
	reason = w.of(string(v.Code))
	if v.Part == onlyTone {
		reason = strings.Replace(reason, " ({part})", "", 1)
	}
	fill := w.figures(v)
	// Twice, since {hides} brings {under} in, {cost} {later}, {zone} {flashes} and {odd} {amount}.
	return fill.Replace(w.of(w.headline(v))), fill.Replace(fill.Replace(reason))
}

// headline is the key of a verdict's headline.
func (w Words) headline(v Verdict) string {
	base := v.Code
	for _, behind := range []string{inMarks, onTape, takeClipped} {
		base = Code(strings.TrimSuffix(string(base), behind))
	}
	if cut, ok := strings.CutSuffix(string(base), takeOver); ok && strings.HasPrefix(cut, "check_") {
		base = Code(cut)
	}
	near := spotDB
	if base == codeLineUpIn {
		near = spotTone
	}
	spot := v.InWindow && math.Abs(v.ErrorDB) <= near
	own := "headline_" + string(base)
	switch {
	case w.of(own) != "" && !(spot && (v.Code == codeCallIn || v.Code == codeMatchIn)):
		return own
	case spot:
		return "headline_spot"
	}
	return string(sided("headline_in", "headline_hot", "headline_cold", v))
}

// figures puts what stands in the sentences on a verdict in its place.
func (w Words) figures(v Verdict) *strings.Replacer {
	tenth := func(db float64) string { return fmt.Sprintf("%.1f", step(db)) }
	size := func(db float64) string { return tenth(math.Abs(db)) }
	hides := "hides"
	if v.UnderReadDB < 0.5 {
		hides = "hides_nothing"
	}
	decimals := 0
	if !v.InWindow && math.Abs(v.ErrorDB) < aimTenthDB {
		decimals = 1
	}
	zone := "zone_" + string(v.Zone)
	if v.Zone == ZoneLit && v.FlicksPerS > busyRate {
		zone = "zone_often"
	}
	return strings.NewReplacer(
		"{error}", size(v.ErrorDB),
		"{hides}", w.of(hides),
		"{cost}", w.cost(v),
		"{later}", size(v.LaterDB),
		"{under}", tenth(v.UnderReadDB),
		"{aim}", signed(v.AimVU, decimals),
		"{fader}", signed(v.FaderDB, 1),
		"{right}", signed(v.AimDB, 1),
		"{reading}", signed(v.ReadingVU, 1),
		"{room}", size(v.HeadroomDB),
		"{asked}", signed(v.AimVU, 1),
		"{mark}", w.mark(meter.ProgrammeMark(v.ReadingVU)),
		"{target}", mark(meter.ProgrammeMark(v.AimVU)),
		"{part}", w.Part(v.Part),
		"{odd}", w.odd(v),
		"{amount}", size(v.OddDB),
		"{margin}", strings.TrimPrefix(signed(v.MarginDB, 1), "+"),
		"{likely}", tenth(v.LikelyDB),
		"{growth}", strings.TrimPrefix(signed(v.GrowthDB, 1), "+"),
		"{called}", tenth(v.CalledDB),
		"{share}", fmt.Sprintf("%.0f", percent(v.Share)),
		"{zone}", w.of(zone),
		"{damage}", w.of("damage_"+string(v.Damage)),
		"{noise}", w.of("noise_"+string(v.Noise)),
		"{lit}", signed(v.FaderDB-v.PastLampDB, 1),
		"{past}", tenth(v.PastLampDB),
		"{flashes}", fmt.Sprintf("%.0f", CountSeconds*v.FlicksPerS),
		"{faults}", w.faults(v),
		"{chosen}", v.Chosen,
		"{made}", w.Part(v.MadeUp),
		"{snr}", fmt.Sprintf("%.0f", v.SNRDB),
		"{loss}", size(v.LossDB),
		"{untouched}", w.faders(v.Untouched),
	)
}

// cost tells what a wrong step of a line-up does to the takes that follow.
func (w Words) cost(v Verdict) string {
	switch {
	case v.LaterDB > 0:
		return w.of("cost_hot")
	case v.LaterDB < 0:
		return w.of("cost_cold")
	}
	return w.of("cost_nothing")
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

// channelNames are what a desk's channels are labelled with, by the kind of their
// sound or, for single hits, by what is hit (common practice).
var channelNames = map[string]string{
	"tone": "sine", "held organ pipe": "organ", "organ chords": "organ", "bowed notes": "strings", "reed notes": "reed",
	"pink noise": "noise", "brown noise": "noise",
	"read speech": "voice", "announcer": "voice", "conversation": "voices", "counting": "voice", "whisper": "whisper",
	"sung line": "singer", "humming": "singer",
	"strummed": "guitar", "picked": "guitar", "muted": "guitar", "single-note melody": "guitar", "bass line": "bass",
	"harp": "harp", "banjo roll": "banjo",
	"drum groove": "drums", "hand drums": "hand drum", "mallet instrument": "mallets", "shaker and claves": "shaker",
	"kettle drum": "timpani", "tambourine and cowbell": "tambourine",
	"low drum": "kick", "snare": "snare", "wood block": "block", "hand claps": "claps",
	"voice and guitar": "duo", "voice and harp": "duo", "bass and drums": "rhythm", "guitar with pad and drums": "trio",
	ownRecording: "recording", "banjo with bass and hand drums": "trio", "voice over a bed": "voice-over", "band": "band",
}

// In the words of English other channels and stages are called what their label is.
func init() {
	stages := []string{"left", "right", "pad", "preamp", "fader", "recorder", "console", "playback", "oscillator", "tape"}
	for _, name := range slices.AppendSeq(stages, maps.Values(channelNames)) {
		English["part_"+name] = name
	}
}

// ownRecording stands in channelNames for what has a name of its own.
const ownRecording = "own recording"

// channelName is what a desk's channel with a sound is labelled with.
func channelName(s *source.Sound) string {
	kind, manner, _ := strings.Cut(s.Kind, ", ")
	if s.Family == source.Own {
		kind = ownRecording
	}
	if kind == "single hits" {
		kind = manner
	}
	return channelNames[kind]
}

// nameChannels labels channels by their sounds, those that are alike with a number.
func nameChannels(channels []Channel) {
	seen := map[string]int{}
	for i := range channels {
		name := channelName(channels[i].Sound)
		seen[name]++
		if channels[i].Label = name; seen[name] > 1 {
			channels[i].Label = fmt.Sprintf("%s %d", name, seen[name])
		}
	}
}

// Part is the label of a channel in words: a letter before a name and a number
// behind it stay.
func (w Words) Part(label string) string {
	letter, name := "", label
	if len(label) > 2 && label[1] == ' ' {
		letter, name = label[:2], label[2:]
	}
	base := strings.TrimRight(name, " 23456789")
	if own := w.of("part_" + base); own != "" {
		return letter + own + name[len(base):]
	}
	return label
}
