package meter

// LampMap knows what a lamp does over a repeating loop at any threshold.
type LampMap struct {
	channels [][]float32
	rate     int
	hold     float64
}

// LampCount is what a lamp does over one turn of a loop in its repeating state.
type LampCount struct {
	Flicks   int     // lightings up a turn
	Busiest  int     // the most of them that begin within any three seconds
	LitShare float64 // share of the time the lamp is lit, 0 to 1
}

// NewLampMap takes a loop, one slice a channel, and a hold in seconds.
func NewLampMap(rate int, holdSeconds float64, channels ...[]float32) *LampMap {
	return &LampMap{channels: channels, rate: rate, hold: holdSeconds}
}

// At returns what a lamp of that threshold, in dBFS, does over the loop. At a gain
// of g dB ask for the threshold less g.
func (m *LampMap) At(thresholdDBFS float64) LampCount { return LampCount{} }
