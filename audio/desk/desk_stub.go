package desk

// Desk is one running chain.
type Desk struct{}

// New lines a desk up.
func New(c Config) (*Desk, error) { return &Desk{}, nil }

// Pull fills out with interleaved stereo.
func (d *Desk) Pull(out []float32) {}

// SetFader asks for a fader position.
func (d *Desk) SetFader(channel int, db float64) {}

// Fader returns the asked-for position.
func (d *Desk) Fader(channel int) float64 { return 0 }

// SetMonitor sets the monitor control.
func (d *Desk) SetMonitor(db float64) {}

// Moves returns the moves so far.
func (d *Desk) Moves() []Move { return nil }

// Position returns the frames pulled so far.
func (d *Desk) Position() int64 { return 0 }

// At returns the newest snapshot stamped at or before a position.
func (d *Desk) At(pos int64) (Snapshot, bool) { return Snapshot{}, false }

// Since appends to dst the snapshots stamped after a position.
func (d *Desk) Since(dst []Snapshot, pos int64) []Snapshot { return dst }

// Replay runs a desk without a device.
func Replay(c Config, moves []Move, frames int64) (Result, error) { return Result{}, nil }

// Render returns what the medium recorded.
func Render(c Config, moves []Move, frames int64) ([2][]float32, error) {
	return [2][]float32{}, nil
}

// Result is how a replay ended.
type Result struct{ Last Snapshot }

// Compare plays two finished loops at one monitor level and switches between
// them without a gap.
type Compare struct{}

// NewCompare takes loops of equal length.
func NewCompare(a, b [2][]float32, monitorDB float64) *Compare { return &Compare{} }

// Pull fills out with interleaved stereo.
func (c *Compare) Pull(out []float32) {}

// Switch chooses which of the two is heard: 0 or 1.
func (c *Compare) Switch(to int) {}

// SetMonitor sets the monitor control.
func (c *Compare) SetMonitor(db float64) {}
