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

// rigTitle names a rig by its medium.
func (g *Game) rigTitle(r drills.Rig) string {
	if r.Soft() {
		return g.say("rig.tape_title")
	}
	return g.say("rig.digital_title")
}

// rigLine is a rig's line-up in one line.
func (g *Game) rigLine(r drills.Rig) string {
	line := g.say("rig.line_reference", g.short(r.ReferenceDBFS))
	if r.Soft() {
		line += " · " + g.say("rig.line_lamp_vu", g.shortSigned(r.LampDBFS-r.ReferenceDBFS))
	} else {
		line += " · " + g.say("rig.line_ceiling", g.short(r.CeilingDBFS))
	}
	if r.TargetVU != 0 {
		line += " · " + g.say("rig.line_target", g.shortSigned(r.TargetVU))
	}
	return line
}

// jobLine is rigLine without the target where that is to be worked out.
func (g *Game) jobLine(j *job) string {
	rig := j.rig()
	if j.view().TargetCovered {
		rig.TargetVU = 0
	}
	return g.rigLine(rig)
}

// lampName is what stands under the lamp.
func (g *Game) lampName(r drills.Rig) string {
	if r.Soft() {
		return g.say("lamp.name_vu", g.shortSigned(r.LampDBFS-r.ReferenceDBFS))
	}
	if g.m.lying { // the head of the screen says in what
		return g.say("lamp.name_narrow", g.short(r.LampDBFS))
	}
	return g.say("lamp.name", g.short(r.LampDBFS))
}
