package sound

// LampGate decides when the lamp on the screen is filled. In the reduced mode
// it starts at most three flashes in any second and holds each for 0.3 s
// (WCAG 2.2, success criterion 2.3.1: no more than three general flashes in
// any one-second period). A large lamp, which covers more of the eye's field than
// that criterion leaves to any rate, never flashes more often either: rather than go
// dark for a fourth flash within a second it stays filled. Times are seconds on any
// steady clock.
type LampGate struct {
	Reduced bool
	Large   bool
	lit     bool
	starts  [3]float64 // of a large lamp's last flashes, the oldest first
	flashes int        // how many of these there have been
	since   float64    // start of the last flash
	last    float64    // last time a peak was over the threshold
	started bool
}

const (
	reducedHold   = 0.3 // seconds, as the meter's own
	reducedPeriod = 0.4 // between the starts of two flashes: 2.5 a second, so that three stay three when frames come late
)

// Show returns whether the lamp is filled at a time, given that the meter's
// lamp is lit there.
func (g *LampGate) Show(now float64, lit bool) bool {
	switch {
	case g.Reduced:
		return g.reduce(now, lit)
	case g.Large && g.lit && !lit && g.flashes == len(g.starts) && now-g.starts[0] <= 1:
		return true
	case !g.lit && lit:
		copy(g.starts[:], g.starts[1:])
		g.starts[len(g.starts)-1] = now
		g.flashes = min(g.flashes+1, len(g.starts))
	}
	g.lit = lit
	return lit
}

// reduce is Show in the reduced mode.
func (g *LampGate) reduce(now float64, lit bool) bool {
	if lit {
		g.last = now
	}
	switch {
	case !g.lit && lit && (!g.started || now-g.since >= reducedPeriod):
		g.lit, g.since, g.started = true, now, true
	case g.lit && now-g.last >= reducedHold && now-g.since >= reducedHold:
		g.lit = false
	}
	return g.lit
}
