package drills

import "slowneedle/drills/version"

// Version is the version of the rules that judge here: a release's, or "dev-"
// and the commit it was built from, or "dev".
func Version() string { return version.String() }
