// Package window holds the tests that play the trainer in a real window, with
// a virtual display, injected keys and an injected mouse. It imports nothing
// that opens a window itself.
package window
