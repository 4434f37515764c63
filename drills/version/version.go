// Package version is which version of the rules judges here. It needs next to
// nothing, so that a program can say it before anything else is ready.
package version

import "runtime/debug"

// release is set by the linker when a release is built.
var release = ""

// String is a release's version, or "dev-" and the commit it was built from,
// or "dev".
func String() string {
	if release != "" {
		return release
	}
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && len(s.Value) >= 12 {
				return "dev-" + s.Value[:12]
			}
		}
	}
	return "dev"
}
