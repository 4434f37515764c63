package game

import (
	"image/color"
	"time"
)

// fadeTime is how long a new screen takes to come up out of the ground. With
// reduced motion it is there at once.
const fadeTime = 130 * time.Millisecond

// fading is how much of the ground still lies over a new screen, 1 to 0.
func (g *Game) fading() float64 {
	left := time.Until(g.fadeEnds)
	if left <= 0 || g.m.TooSmall {
		return 0
	}
	return float64(left) / float64(fadeTime)
}

// veil is a colour that covers by a share.
func veil(c color.NRGBA, share float64) color.NRGBA {
	c.A = uint8(255 * share)
	return c
}
