//go:build !linux && !js

package output

// quietLibraries has nothing to do: these systems print nothing.
func quietLibraries() (loud func()) { return func() {} }

// comesBack means that a device that failed can be opened again. On Windows the
// library does it on its own; elsewhere it cannot be done.
const comesBack = false

// deviceThere is never asked.
func deviceThere() bool { return false }
