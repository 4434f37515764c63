//go:build !js

// Package page is what only the browser edition has: the page around the
// trainer. It owns nothing.
package page

// Browser reports whether the trainer runs in a browser: its reader closes the
// page, and is asked before a file is written.
const Browser = false

// Events is what was done on the page since the last call.
func Events() []Event { return nil }

// Show makes the page mirror what is on the screen.
func Show(Mirror) {}

// Draw draws letters with the browser's own fonts.
func Draw(text string, size float64, bold bool) (l Letter, ok bool) { return Letter{}, false }

// Set makes the mirrored slider of a name stand where the screen's stands.
func Set(string, Slider) {}
