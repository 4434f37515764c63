package meter_test

import (
	"fmt"
	"math"

	"slowneedle/audio/meter"
)

// sine makes a tone at 48 kHz.
func sine(hz, dbfs, seconds float64) []float32 {
	x := make([]float32, int(48000*seconds))
	for i := range x {
		x[i] = float32(math.Pow(10, dbfs/20) * math.Sin(2*math.Pi*hz*float64(i)/48000))
	}
	return x
}

// A needle lined up to 0 VU at -18 dBFS, watched over the first second of a tone.
func ExampleNeedle() {
	const reference = -18
	needle := meter.NewNeedle(48000)
	tone := sine(1000, -18, 1)
	for i := 0; i < len(tone); i += 4800 {
		needle.Process(tone[i : i+4800])
		if i%14400 == 0 {
			fmt.Printf("%4.1f s %+.1f VU\n", float64(i+4800)/48000, needle.Level()-reference)
		}
	}
	// Output:
	//  0.1 s -7.3 VU
	//  0.4 s +0.1 VU
	//  0.7 s +0.0 VU
	//  1.0 s +0.0 VU
}

// Reading a passage that arrives in blocks: words at -20 dBFS and one cough.
func ExampleReader() {
	reader := meter.NewReader(48000)
	for word := range 8 {
		level := -20.0
		if word == 3 {
			level = -9
		}
		reader.Process(sine(300, level, 0.4))
		reader.Process(make([]float32, 24000))
	}
	p := reader.Passage()
	fmt.Printf("reads %.1f dBFS, the needle went up to %.1f, sample peak %.1f\n", p.Reading, p.Max, p.SamplePeak)
	// Output: reads -19.9 dBFS, the needle went up to -8.9, sample peak -9.0
}

// A loop of clicks: the needle hardly moves, the peaks are high.
func ExampleReadLoop() {
	loop := make([]float32, 48000)
	for i := range 200 {
		loop[i] = 0.5 * float32(1-2*(i/10%2))
	}
	p := meter.ReadLoop(loop, 48000)
	fmt.Printf("reads %.1f dBFS, under-reads by %.1f dB\n", p.Reading, p.UnderRead())
	// Output: reads -34.8 dBFS, under-reads by 28.8 dB
}

// A lamp at -6 dBFS over two channels.
func ExampleLamp() {
	lamp := meter.NewLamp(48000, -6, 0.15)
	quiet, loud := sine(1000, -20, 0.5), sine(1000, -3, 0.05)
	lamp.Process(quiet, quiet)
	fmt.Println(lamp.Lit(), lamp.Flicks())
	lamp.Process(loud, quiet[:len(loud)])
	fmt.Println(lamp.Lit(), lamp.Flicks())
	lamp.Process(quiet, quiet)
	fmt.Println(lamp.Lit(), lamp.Flicks())
	// Output:
	// false 0
	// true 1
	// false 1
}

// At which gain does a lamp begin to flick, and when is it lit most of the time?
func ExampleLampMap() {
	var loop []float32
	for _, level := range []float64{-12, -30, -18, -30, -15, -30, -18, -30} {
		loop = append(loop, sine(500, level, 0.5)...)
	}
	lamp := meter.NewLampMap(48000, 0.15, loop)
	for _, gain := range []float64{0, 7, 10, 13, 25} {
		c := lamp.At(-6 - gain) // a lamp at -6 dBFS, the loop raised by gain
		fmt.Printf("%+3.0f dB: %d flicks a turn, %d within 3 s, lit %.0f %%\n", gain, c.Flicks, c.Busiest, 100*c.LitShare)
	}
	// Output:
	//  +0 dB: 0 flicks a turn, 0 within 3 s, lit 0 %
	//  +7 dB: 1 flicks a turn, 1 within 3 s, lit 16 %
	// +10 dB: 2 flicks a turn, 2 within 3 s, lit 32 %
	// +13 dB: 4 flicks a turn, 4 within 3 s, lit 65 %
	// +25 dB: 0 flicks a turn, 0 within 3 s, lit 100 %
}

// A tone at a quarter of the sample rate whose samples miss its peaks by 3 dB.
func ExampleReader_truePeak() {
	x := make([]float32, 4800)
	for i := range x {
		fade := min(float64(i), float64(len(x)-i), 480) / 480
		x[i] = float32(fade * 0.5 * math.Sin(math.Pi/2*float64(i)+math.Pi/4))
	}
	reader := meter.NewReader(48000)
	reader.Process(x)
	p := reader.Passage()
	fmt.Printf("%.1f dBFS, %.1f dBTP\n", p.SamplePeak, p.TruePeak)
	// Output: -9.0 dBFS, -6.0 dBTP
}

// Line-up tone of EBU R 68 in stereo.
func ExampleLoudness() {
	loudness, err := meter.NewLoudness(48000, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	tone := sine(1000, -18, 5)
	loudness.Process(tone, tone)
	fmt.Printf("M %.1f, S %.1f, I %.1f LUFS\n", loudness.Momentary(), loudness.ShortTerm(), loudness.Integrated())
	// Output: M -18.0, S -18.0, I -18.0 LUFS
}

// A programme meter shows the peak of a steady tone and under-reads a short one.
func ExampleProgramme() {
	programme := meter.NewProgramme(48000)
	programme.Process(sine(5000, -10, 0.010))
	programme.Process(make([]float32, 32))
	fmt.Printf("10 ms: %.1f dBFS\n", programme.Level())
	programme.Process(sine(5000, -10, 1))
	fmt.Printf("1 s: %.1f dBFS\n", programme.Level())
	// Output:
	// 10 ms: -12.3 dBFS
	// 1 s: -10.0 dBFS
}

// The level of a sine and how many of its samples are clipped at 16 bits.
func ExampleRMS() {
	rms := meter.RMS{Clip: 32767.0 / 32768}
	rms.Process(sine(1000, 0, 1))
	fmt.Printf("%.2f dB, %d clipped\n", rms.Level(), rms.Clipped())
	// Output: -3.01 dB, 2000 clipped
}

func ExampleLineVolts() {
	fmt.Printf("%.3f V, %.4f V\n", meter.LineVolts(0), meter.LineVolts(-4))
	// Output: 1.228 V, 0.7746 V
}
