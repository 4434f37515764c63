//go:build !js

package page

import "io"

// File is one that the reader of the page has chosen.
type File struct{ Name string }

// Open returns its content, from the beginning.
func (File) Open() io.ReadSeeker { return nil }

// Choose lets the reader of the page choose files of the kinds in accept, as the page's
// language has them. Only a browser does.
func Choose(accept string, got func([]File)) {}

// Pauser returns what work in slices is to call between them, and before the first; nil where it need not:
// a browser has one thread, which must go back to the page now and then.
func Pauser() func() { return nil }
