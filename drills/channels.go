package drills

import (
	"fmt"
	"strings"

	"slowneedle/audio/source"
)

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

// In the words of English a channel is called what its label is.
func init() {
	for _, name := range channelNames {
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
