//go:build !linux

package output

// quietLibraries has nothing to do: these systems print nothing.
func quietLibraries() (loud func()) { return func() {} }

// deviceThere is never asked; see comesBack.
func deviceThere() bool { return false }
