package output

import "github.com/ebitengine/oto/v3"

// On macOS the library's next version stands in: the second (2.4.3) calls
// functions of purego that the purego the window library needs (0.8.0) no
// longer has, so that the two do not compile together.

type (
	otoContext = oto.Context
	otoOptions = oto.NewContextOptions
	otoPlayer  = *oto.Player
)

const otoFormat = oto.FormatFloat32LE

// openContext begins to open the default device; the channel is closed when it plays
// or has failed.
var openContext = oto.NewContext

// unplayedBytes is how much the player has read that the device has not taken.
func unplayedBytes(p otoPlayer) int { return p.BufferedSize() }

// setAhead sets how many bytes a player keeps ready.
func setAhead(p otoPlayer, bytes int) { p.SetBufferSize(bytes) }
