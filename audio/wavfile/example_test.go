package wavfile_test

import (
	"fmt"
	"io"
	"log"
	"math"
	"os"
	"path/filepath"

	"slowneedle/audio/wavfile"
)

// Write a second of a 1 kHz tone at -18 dBFS, and read it back block by block.
func Example() {
	folder, err := os.MkdirTemp("", "wavfile")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "tone.wav")

	w, err := wavfile.Create(path, wavfile.Format{SampleRate: 48000, Channels: 1, Bits: 24})
	if err != nil {
		log.Fatal(err)
	}
	defer w.Abort() // leaves nothing behind unless Close was reached
	tone := wavfile.NewBlock(1, 48000)
	for i := range tone[0] {
		tone[0][i] = float32(math.Pow(10, -18.0/20) * math.Sin(2*math.Pi*1000*float64(i)/48000))
	}
	if err := w.Write(tone); err != nil {
		log.Fatal(err)
	}
	if err := w.Close(); err != nil {
		log.Fatal(err)
	}

	r, err := wavfile.Open(path)
	if err != nil {
		log.Fatal(err)
	}
	defer r.Close()
	fmt.Printf("%d Hz, %d bits\n", r.Format().SampleRate, r.Format().Bits)
	block := wavfile.NewBlock(r.Format().Channels, 4096)
	frames := 0
	for {
		n, err := r.Read(block)
		if err == io.EOF {
			break
		}
		if err != nil {
			log.Fatal(err)
		}
		frames += n
	}
	fmt.Println(frames, "frames")
	// Output:
	// 48000 Hz, 24 bits
	// 48000 frames
}

// What is wrong with a file is said in one sentence.
func ExampleOpen() {
	_, err := wavfile.Open("../../testdata/wav/no-channels.wav")
	fmt.Println(err)
	// Output:
	// ../../testdata/wav/no-channels.wav: the format chunk says 0 channels; save it as mono or stereo PCM
}
