//go:build !darwin

package output

import (
	"time"

	"github.com/hajimehoshi/oto/v2"

	"slowneedle/audio"
)

type (
	otoContext = oto.Context
	otoPlayer  = oto.Player
)

// newContext begins to open the default device; ready is closed when it plays
// or has failed.
func newContext() (c *otoContext, ready chan struct{}, err error) {
	return oto.NewContextWithOptions(&oto.NewContextOptions{
		SampleRate: audio.Rate, ChannelCount: 2, Format: oto.FormatFloat32LE,
		BufferSize: time.Duration(system.buffer) * time.Second / audio.Rate,
	})
}

// unplayedBytes is how much the player has read that the device has not taken.
func unplayedBytes(p otoPlayer) int { return p.UnplayedBufferSize() }

// setAhead sets how many bytes a player keeps ready.
func setAhead(p otoPlayer, bytes int) { p.(oto.BufferSizeSetter).SetBufferSize(bytes) }
