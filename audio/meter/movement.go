package meter

import "math"

// What the standards ask of the movement of a volume indicator (ANSI C16.5-1942,
// BS 6840-17, IEC 60268-17): a tone that settles at 0 VU, put on the meter at
// rest, takes the needle to 99 % in 300 ms and past it by 1 % to 1.5 %.
const (
	riseShare     = 0.99
	riseSeconds   = 0.300
	riseOvershoot = 0.0125
)

// Movement is a needle's movement of the second order,
//
//	p" + 2 Zeta W p' + W² p = W² u
//
// with the damping ratio Zeta and the natural angular frequency W in rad/s.
// Driven by a constant u it settles at p = u.
type Movement struct{ Zeta, W float64 }

// Standard is the movement of a volume indicator: Zeta 0.8127 and W 13.512 rad/s,
// derived from 99 % of a step at 300 ms and 1.25 % overshoot (ANSI C16.5-1942,
// BS 6840-17, IEC 60268-17).
var Standard = movementFor(riseShare, riseSeconds, riseOvershoot)

// movementFor finds the movement that first reaches share of a step after
// seconds and overshoots it by overshoot.
func movementFor(share, seconds, overshoot float64) Movement {
	l := math.Log(1 / overshoot)
	zeta := l / math.Sqrt(float64(math.Pi*math.Pi)+float64(l*l))
	damped := math.Sqrt(1 - float64(zeta*zeta))
	step := func(tau float64) float64 { // step response at W t = tau
		swing := math.Cos(damped*tau) + float64(zeta/damped*math.Sin(damped*tau))
		return 1 - float64(math.Exp(-zeta*tau)*swing)
	}
	lo, hi := 0.0, math.Pi/damped // the response rises up to its first top
	for range 100 {
		if mid := (lo + hi) / 2; step(mid) < share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return Movement{Zeta: zeta, W: hi / seconds}
}

// Transition is the exact solution of a movement over a time in which its drive
// does not change, as a matrix on the distance from the drive and the velocity.
type Transition struct{ a, b, c, d float64 }

// Over returns the transition over a time in seconds. Zeta must be below 1.
func (m Movement) Over(seconds float64) Transition {
	sigma := m.Zeta * m.W
	damped := m.W * math.Sqrt(1-float64(m.Zeta*m.Zeta))
	e := math.Exp(-sigma * seconds)
	cos, sin := math.Cos(damped*seconds), math.Sin(damped*seconds)/damped
	return Transition{
		a: e * (cos + float64(sigma*sin)), b: e * sin,
		c: -e * m.W * m.W * sin, d: e * (cos - float64(sigma*sin)),
	}
}

// State is the state of a movement: position and velocity. The zero value is at
// rest.
type State struct{ P, V float64 }

// Step returns the state after a transition under the drive u.
func (s State) Step(t *Transition, u float64) State {
	d := s.P - u
	return State{
		P: u + float64(t.a*d) + float64(t.b*s.V),
		V: float64(t.c*d) + float64(t.d*s.V),
	}
}

// settle stops a movement that has all but come to rest, ahead of the range in
// which floating-point arithmetic becomes slow.
func (s State) settle() State {
	if math.Abs(s.P) < 1e-30 && math.Abs(s.V) < 1e-30 {
		return State{}
	}
	return s
}

// then returns the transition of t followed by u.
func (t Transition) then(u Transition) Transition {
	return Transition{
		a: float64(u.a*t.a) + float64(u.b*t.c), b: float64(u.a*t.b) + float64(u.b*t.d),
		c: float64(u.c*t.a) + float64(u.d*t.c), d: float64(u.c*t.b) + float64(u.d*t.d),
	}
}

// power returns n times t in a row.
func (t Transition) power(n int) Transition {
	p := Transition{a: 1, d: 1}
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			p = p.then(t)
		}
		t = t.then(t)
	}
	return p
}

// formFactor makes the average of a rectified sine its peak.
const formFactor = math.Pi / 2

// drive is the drive of a needle by a sum of n magnitudes. A sum that is no
// finite number (a broken sample) counts as silence.
func drive(sum float32, n int) float64 {
	if !(sum <= math.MaxFloat32) {
		return 0
	}
	return formFactor * float64(sum) / float64(n)
}
