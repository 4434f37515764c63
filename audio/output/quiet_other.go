//go:build !linux && !js

package output

// quietLibraries has nothing to do: these systems print nothing.
func quietLibraries() {}

// comesBack says that a device that failed can be opened again. On Windows the
// library sees to it by itself; elsewhere it cannot be done.
const comesBack = false

// deviceThere is never asked.
func deviceThere() bool { return false }
