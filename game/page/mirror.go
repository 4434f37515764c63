package page

// Mirror is what is on the screen, for those who do not see the picture.
type Mirror struct {
	Screen   string // its name
	Language string
	Field    string // the name of the one that is typed into, if there is one
	Filled   int    // the number of the last text that was taken from a field
	Panel    string // the colour of a field's ground, as CSS has it
	Ink      string // and of its letters
	Items    []Item // in the order in which they are read
}

// Item is a text or a control.
type Item struct {
	Role       string // heading, text, button, field or slider
	Name       string // of a control
	Label      string
	Text       string  // of a field
	Live       bool    // it is said when it comes
	On         bool    // of a button: what it stands for is chosen
	X, Y, W, H float64 // 0 to 1 of the page's width and height
}

// Letter is one letter, or several, as the browser draws them: its cover in rows, where the upper left
// corner stands from the point on the baseline at which they begin, and how far it is to
// the next, all in pixels.
type Letter struct {
	Alpha       []byte
	Width, X, Y int
	Advance     float64
}

// Slider is where a slider stands.
type Slider struct {
	Least, Most, Step, Value float64
	Words                    string // for the value
}
