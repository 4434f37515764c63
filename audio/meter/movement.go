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

// ballistics are the damping ratio and the natural angular frequency, in rad/s,
// of the second-order movement p" + 2 zeta w p' + w^2 p = w^2 u.
type ballistics struct{ zeta, w float64 }

// standard is the movement that meets the three constants above.
var standard = movementFor(riseShare, riseSeconds, riseOvershoot)

// movementFor finds the movement that first reaches share of a step after
// seconds and overshoots it by overshoot.
func movementFor(share, seconds, overshoot float64) ballistics {
	l := math.Log(1 / overshoot)
	zeta := l / math.Sqrt(math.Pi*math.Pi+l*l)
	damped := math.Sqrt(1 - zeta*zeta)
	step := func(tau float64) float64 { // step response at w t = tau
		return 1 - math.Exp(-zeta*tau)*(math.Cos(damped*tau)+zeta/damped*math.Sin(damped*tau))
	}
	lo, hi := 0.0, math.Pi/damped // the response rises up to its first top
	for range 100 {
		if mid := (lo + hi) / 2; step(mid) < share {
			lo = mid
		} else {
			hi = mid
		}
	}
	return ballistics{zeta: zeta, w: hi / seconds}
}

// transition is the exact solution of the movement over a time in which its
// drive u does not change, as a matrix on (p-u, p').
type transition struct{ a, b, c, d float64 }

func (m ballistics) over(seconds float64) transition {
	sigma := m.zeta * m.w
	damped := m.w * math.Sqrt(1-m.zeta*m.zeta)
	e := math.Exp(-sigma * seconds)
	cos, sin := math.Cos(damped*seconds), math.Sin(damped*seconds)/damped
	return transition{
		a: e * (cos + sigma*sin), b: e * sin,
		c: -e * m.w * m.w * sin, d: e * (cos - sigma*sin),
	}
}

// state is where the needle stands and how fast it moves.
type state struct{ p, v float64 }

func (s state) step(t *transition, u float64) state {
	d := s.p - u
	return state{p: u + t.a*d + t.b*s.v, v: t.c*d + t.d*s.v}
}

// settle stops a movement that has all but come to rest, ahead of the range in
// which floating-point arithmetic becomes slow.
func (s state) settle() state {
	if math.Abs(s.p) < 1e-30 && math.Abs(s.v) < 1e-30 {
		return state{}
	}
	return s
}

// then returns the transition of t followed by u.
func (t transition) then(u transition) transition {
	return transition{
		a: u.a*t.a + u.b*t.c, b: u.a*t.b + u.b*t.d,
		c: u.c*t.a + u.d*t.c, d: u.c*t.b + u.d*t.d,
	}
}

// power returns n times t in a row.
func (t transition) power(n int) transition {
	p := transition{a: 1, d: 1}
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

// drive is what a sum of magnitudes over n values pushes the needle to. A sum
// that is no finite number (a broken sample) counts as silence.
func drive(sum float32, n int) float64 {
	if !(sum <= math.MaxFloat32) {
		return 0
	}
	return formFactor * float64(sum) / float64(n)
}
