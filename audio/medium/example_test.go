package medium_test

import (
	"fmt"
	"math"

	"slowneedle/audio/medium"
)

// What a level does to a tone on tape, lined up to -18 dBFS.
func ExampleDamage() {
	loop := make([]float32, 48000)
	for i := range loop {
		loop[i] = float32(math.Sin(2 * math.Pi * 1000 * float64(i) / 48000))
	}
	for _, vu := range []float64{-12, 0, 9} {
		snr, distortion, err := medium.Damage(medium.KindTape, -18, [][]float32{loop}, -18+vu, nil)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%+3.0f VU: noise %.0f dB(A) below, distortion %.1f %%\n", vu, snr, distortion)
	}
	// Output:
	// -12 VU: noise 48 dB(A) below, distortion 0.0 %
	//  +0 VU: noise 60 dB(A) below, distortion 0.4 %
	//  +9 VU: noise 68 dB(A) below, distortion 3.0 %
}
