package game

import "slowneedle/game/words"

// jobLine is rigLine without the target where that is to be worked out.
func (j *job) rigLine(g *words.Speech) string {
	rig := j.rig()
	if j.view().TargetCovered {
		rig.TargetVU = 0
	}
	return g.RigLine(rig)
}

// where says which exercise this is.
func (j *job) where(g *words.Speech, kind bool) string {
	family, k := g.Say("family."+string(j.family())), g.Kind(j.kind())
	switch trust := j.view().Needles > 0; { // its sound is not always the drawn family's
	case trust && kind && k != "":
		family = k
	case trust:
		family = g.Say("family." + string(j.strips()[0].Sound.Family))
	case kind && k != "":
		family += ": " + k
	}
	if j.series != nil {
		return g.Say("class.where", j.number, j.series.hand.Sheet.Rounds, family)
	}
	if j.room {
		return g.Say("round.where_room", j.number, family)
	}
	if j.level() > 0 {
		return g.Say("round.where_level", j.number, family, j.level())
	}
	return g.Say("round.where", j.number, family)
}
