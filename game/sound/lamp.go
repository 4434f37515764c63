package sound

// LampGate decides when the lamp on the screen is filled. In the reduced mode
// it starts at most three flashes in any second and holds each for 0.3 s
// (WCAG 2.2, success criterion 2.3.1: no more than three general flashes in
// any one-second period). Times are seconds on any steady clock.
type LampGate struct {
	Reduced bool
	lit     bool
	since   float64 // start of the last flash
	last    float64 // last time a peak was over the threshold
	started bool
}

const (
	reducedHold   = 0.3 // seconds, as the meter's own
	reducedPeriod = 0.4 // between the starts of two flashes: 2.5 a second, so that three stay three when frames come late
)

// Show returns whether the lamp is filled at a time, given that the meter's
// lamp is lit there.
func (g *LampGate) Show(now float64, lit bool) bool {
	if !g.Reduced {
		g.lit = lit
		return lit
	}
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
