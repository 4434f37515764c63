// Package medium is what a take is recorded on, and what that does to it.
package medium

// Kind names a medium.
type Kind string

// The media a rig can have.
const (
	KindDigital Kind = "digital"
	KindTape    Kind = "tape"
)
