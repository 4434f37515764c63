//go:build !unix

package game

import "time"

// processorTime is not known: windows of these systems are drawn by a graphics
// processor, or by the browser.
func processorTime() time.Duration { return 0 }
