//go:build !js

// Package page is what only the browser edition has: the page around the
// trainer. It owns nothing.
package page

import "io"

// Browser reports whether the trainer runs in a browser: its reader closes the
// page, and is asked before a file is written.
const Browser = false

<<<<<<< HEAD
// File is one that the reader of the page has chosen.
type File struct{ Name string }

// Open returns its content, from the beginning.
func (File) Open() io.ReadSeeker { return nil }

// Choose lets the reader of the page choose files of the kinds in accept, as the page's
// language has them. Only a browser does.
func Choose(accept string, got func([]File)) {}

// Pauser returns what work in slices is to call between them, and nil where it need not:
// a browser has one thread, which must go back to the page now and then.
func Pauser() func() { return nil }
=======
// Events is what was done on the page since the last call.
func Events() []Event { return nil }

// Show makes the page mirror what is on the screen.
func Show(Mirror) {}

// Set makes the mirrored slider of a name stand where the screen's stands.
func Set(string, Slider) {}
>>>>>>> main
