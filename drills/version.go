package drills

import "runtime/debug"

// release is set by the linker when a release is built.
var release = ""

// Version is the version of the rules that judge here: a release's, or "dev-"
// and the commit it was built from, or "dev".
func Version() string {
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
