package output

import (
	"time"

	"github.com/ebitengine/oto/v3"

	"slowneedle/audio"
)

// On macOS the library's next version stands in: the second (2.4.3) calls
// functions of purego that the purego the window library needs (0.8.0) no
// longer has, so that the two do not compile together.

type (
	otoContext = oto.Context
	otoPlayer  = *oto.Player
)

// newContext begins to open the default device; ready is closed when it plays
// or has failed.
func newContext() (c *otoContext, ready chan struct{}, err error) {
	return oto.NewContext(&oto.NewContextOptions{
		SampleRate: audio.Rate, ChannelCount: 2, Format: oto.FormatFloat32LE,
		BufferSize: time.Duration(system.buffer) * time.Second / audio.Rate,
	})
}

// unplayedBytes is how much the player has read that the device has not taken.
func unplayedBytes(p otoPlayer) int { return p.BufferedSize() }

// setAhead sets how many bytes a player keeps ready.
func setAhead(p otoPlayer, bytes int) { p.SetBufferSize(bytes) }
