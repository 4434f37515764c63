package game

import "slowneedle/drills"

// chosenRig is the rig the learner asked for, or nil for one drawn each round.
func (g *Game) chosenRig() *drills.Rig {
	var r drills.Rig
	switch g.set.RigChoice {
	case rigDigital:
		r = drills.DigitalRig()
	case rigTape:
		r = drills.TapeRig()
	case rigMine:
		r = g.set.MyRig
	default:
		return nil
	}
	return &r
}
