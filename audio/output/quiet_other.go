//go:build !linux && !js

package output

// quietLibraries has nothing to do: these systems print nothing.
func quietLibraries() {}
