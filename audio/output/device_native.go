//go:build !js

package output

const (
	// deviceBuffer is the size in frames asked of the device, 40 ms.
	deviceBuffer = 1920
	// deviceHidden: when the device has taken a block its buffer is full, and
	// the block of half its size waits to be written to it.
	deviceHidden = deviceBuffer + deviceBuffer/2
	// waitsForHand says that sound needs a click or a key first.
	waitsForHand = false
)
