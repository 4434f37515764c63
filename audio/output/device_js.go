package output

const (
	// deviceBuffer is 0, the library's choice for browsers: blocks of 2048
	// frames.
	deviceBuffer = 0
	// leastAhead is how many frames are kept ready for the browser to take:
	// one of its blocks and something over.
	leastAhead = 6 * block
	// waitsForHand means that sound needs a click or a key first.
	waitsForHand = true
)

// deviceLatency is how many frames lie between the last one the browser took
// and the one heard, just after it took a block: that block and the one whose
// turn it is. What the browser's own output adds is not known.
func deviceLatency() int { return 2 * 2048 }

// quietLibraries has nothing to do: a browser prints nothing.
func quietLibraries() (loud func()) { return func() {} }

// comesBack means that a device that failed can be opened again. A browser
// moves to another device on its own.
const comesBack = false

// deviceThere is never asked.
func deviceThere() bool { return false }
