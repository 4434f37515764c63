//go:build !js

package output

import "runtime"

const (
	// deviceBuffer is the size in frames asked of the device, 40 ms.
	deviceBuffer = 1920
	// leastAhead is how many frames are kept ready for the device to take.
	leastAhead = 3 * block
	// waitsForHand means that sound needs a click or a key first.
	waitsForHand = false
)

// deviceLatency is how many frames lie between the last one the device took
// and the one heard, just after it took a block. Its buffer is full then; on
// ALSA a block of half the buffer's size waits beside that to be written.
func deviceLatency() int {
	switch runtime.GOOS {
	case "windows", "darwin":
		return deviceBuffer
	}
	return deviceBuffer + deviceBuffer/2
}
