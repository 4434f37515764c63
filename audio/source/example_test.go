package source_test

import (
	"fmt"
	"log"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
)

// A sound of a family, and what a needle makes of it.
func ExampleGenerate() {
	s, err := source.Generate(source.Struck, 7, source.Difficulty{})
	if err != nil {
		log.Fatal(err)
	}
	p := meter.ReadLoop(s.Channels[0], audio.Rate)
	fmt.Printf("%s: %s, peak %.1f dBFS, reading %.0f dBFS\n", s.Family, s.Kind, p.SamplePeak, p.Reading)
	// Output: struck: single hits, hand claps, peak -6.0 dBFS, reading -25 dBFS
}

// The same sound, harder to judge.
func ExampleGenerate_difficulty() {
	s, err := source.Generate(source.Voice, 7, source.Difficulty{Irregular: 0.5, Pauses: 1})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Kind)
	// Output: announcer, calm
}

// A line-up tone at the reference level.
func ExampleLineUp() {
	s := source.LineUp(-18)
	fmt.Printf("%.2f dBFS\n", meter.ReadLoop(s.Channels[0], audio.Rate).Reading)
	// Output: -18.00 dBFS
}

// A passage of a recording.
func ExampleFromRecording() {
	r, err := wavfile.Open("interview.wav")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer r.Close()
	s, err := source.FromRecording(r, "interview.wav", 1, nil)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(s.Kind, s.Len())
	// Output: interview.wav: there is no such file; check the name
}
