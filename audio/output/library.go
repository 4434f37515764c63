//go:build !darwin

package output

import "github.com/hajimehoshi/oto/v2"

type (
	otoContext = oto.Context
	otoOptions = oto.NewContextOptions
	otoPlayer  = oto.Player
)

const otoFormat = oto.FormatFloat32LE

// openContext begins to open the default device; the channel is closed when it plays
// or has failed.
var openContext = oto.NewContextWithOptions

// unplayedBytes is how much the player has read that the device has not taken.
func unplayedBytes(p otoPlayer) int { return p.UnplayedBufferSize() }

// setAhead sets how many bytes a player keeps ready.
func setAhead(p otoPlayer, bytes int) { p.(oto.BufferSizeSetter).SetBufferSize(bytes) }
