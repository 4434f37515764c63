// Package checked ends the program with one sentence where there is no display.
// Importing it is enough; it comes before the window library looks for one, for
// Go initialises packages in order of their import paths as soon as their
// dependencies are ready (Go specification, "Program initialization").
package checked

import "slowneedle/game/display"

func init() { display.Check() }
