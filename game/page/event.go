package page

// Event is something that was done on the page, to the picture or to one of the
// controls that mirror it.
type Event struct {
	Kind Kind
	// Name is that of a control, or of a key as the keyboard standard has it (W3C,
	// UI Events KeyboardEvent code Values).
	Name  string
	Text  string  // that was typed
	X, Y  float64 // of the pointer, 0 to 1 of the page's width and height
	Value float64 // of a slider; of a text in a field its number
	Touch bool    // by a finger
	Shift bool    // held
}

// Kind is what was done.
type Kind string

const (
	KeyDown     Kind = "key down"
	KeyUp       Kind = "key up"
	Typed       Kind = "typed" // into no field
	PointerDown Kind = "pointer down"
	PointerMove Kind = "pointer move"
	PointerUp   Kind = "pointer up"
	Wheel       Kind = "wheel"
	Left        Kind = "left" // the page is no longer looked at: nothing is held

	// Done to a mirrored control.
	Press Kind = "press"
	Fill  Kind = "fill" // a field, with a text
	Focus Kind = "focus"
	Slide Kind = "slide"
)
