package output

import "runtime"

const (
	// waitsForHand means that sound needs a click or a key first: in a browser.
	waitsForHand = runtime.GOOS == "js"
	// comesBack means that a device that failed can be opened again. On Windows the
	// library does it on its own, as a browser does; on macOS it cannot be done.
	comesBack = runtime.GOOS == "linux"
)

// system is what differs from system to system, in frames.
var system = func() (s struct {
	buffer  int   // asked of the device
	ahead   int64 // kept ready for the device to take, at least
	latency int   // between the last one the device took and the one heard, just after it took a block
}) {
	switch runtime.GOOS {
	case "js":
		// The library's choice: blocks of 2048. One of them and something over is kept
		// ready; it and the one whose turn it is are not heard yet. What the browser's
		// own output adds is not known.
		s.ahead, s.latency = 6*block, 2*2048
	case "windows", "darwin":
		s.buffer, s.ahead, s.latency = 1920, 3*block, 1920
	default: // beside the full buffer of 40 ms ALSA has a block of half its size wait to be written
		s.buffer, s.ahead, s.latency = 1920, 3*block, 1920+1920/2
	}
	return s
}()
