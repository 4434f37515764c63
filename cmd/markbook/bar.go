package main

import (
	"io"
	"time"

	"github.com/schollz/progressbar/v3"
)

// bar shows how far a command has come, on a terminal and nowhere else. Any
// number of goroutines may use it. A bar that cannot be drawn is not worth
// stopping for.
type bar struct{ *progressbar.ProgressBar }

// newBar begins a bar of so many steps.
func newBar(s streams, what string, steps int) bar {
	out := io.Discard
	if s.terminal {
		out = s.err
	}
	return bar{progressbar.NewOptions(max(steps, 1),
		progressbar.OptionSetWriter(out),
		progressbar.OptionSetDescription(what),
		progressbar.OptionSetWidth(30),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionClearOnFinish(),
	)}
}

// set shows that so many of a number of steps are done.
func (b bar) set(done, steps int) {
	b.ChangeMax(steps)
	b.Set(done)
}
