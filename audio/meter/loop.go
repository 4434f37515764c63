package meter

// ReadLoop reads one channel of a loop in its repeating state: as if it had gone
// round for ever. The course of the needle begins at its lowest point, so that no
// swing is counted twice and the loop's starting point does not matter. An empty
// loop reads as silence.
func ReadLoop(x []float32, rate int) Passage {
	r := NewReader(rate)
	r.Process(x)
	r.Process(x)
	return r.Passage()
}
