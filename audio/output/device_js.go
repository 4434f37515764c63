package output

const (
	// deviceBuffer is 0: browsers take powers of two, the library knows.
	deviceBuffer = 0
	// deviceHidden: two blocks of 2048 frames, one being heard and one next.
	deviceHidden = 2 * 2048
	// waitsForHand says that sound needs a click or a key first.
	waitsForHand = true
)

// quietLibraries has nothing to do: a browser prints nothing.
func quietLibraries() {}
