package measure_test

import (
	"fmt"
	"log"

	"slowneedle/audio/measure"
)

// Measure a file with the usual line-up.
func ExampleFile() {
	r, err := measure.File("../../testdata/wav/tone.wav", measure.Default(), nil)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%d ms, sample peak %.1f dBFS, RMS %.1f dBFS\n", int(1000*r.Duration), r.SamplePeak, r.RMS)
	fmt.Println("long enough for a loudness:", r.Integrated.Exists())
	// Output:
	// 10 ms, sample peak -6.0 dBFS, RMS -6.0 dBFS
	// long enough for a loudness: false
}
