package game

import (
	"time"
)

// pace keeps the pictures to about 60 a second or, on a machine that works hard for
// them, as one without a graphics processor does, to half as many. The needle is as
// true in each of them.
type pace struct {
	last  time.Time     // when the picture before was drawn
	since time.Time     // start of the second that is looked at
	used  time.Duration // processor time of the program by then
	hard  int           // seconds of hard work in a row
	half  bool
}

// Shares of one processor: from the first on, for three seconds, the pictures are
// halved; below the second, at half of them, all are drawn again.
const (
	hardWork  = 0.6
	lightWork = 0.2
)

// wait waits for the time of the next picture where no display holds the pictures
// back to its own rate, and returns when it is drawn.
func (p *pace) wait() time.Time {
	frame := time.Second / 60
	if p.half {
		frame *= 2
	}
	if since := time.Since(p.last); since < frame*3/4 {
		time.Sleep(frame - since)
	}
	p.last = time.Now()
	if over := p.last.Sub(p.since); over >= time.Second {
		used := processorTime()
		if p.used > 0 {
			p.second(float64(used-p.used) / float64(over))
		}
		p.since, p.used = p.last, used
	}
	return p.last
}

// second counts a second in which a share of a processor was used.
func (p *pace) second(share float64) {
	switch {
	case p.half:
		p.half = share > lightWork
	case share > hardWork:
		if p.hard++; p.hard >= 3 {
			p.half, p.hard = true, 0
		}
	default:
		p.hard = 0
	}
}
