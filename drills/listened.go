package drills

import "slowneedle/audio/source"

// Listened makes an exercise of a passage that came in at a line input, at the level
// at which it came in. Nothing of it can be moved here: its aim is by how much what
// is ahead of the input should be moved from where it stands, 0 dB. clipped is how
// many samples had reached the input's full scale: then it is not right, wherever the
// aim is. The error tells that the passage is silent, or that the rig cannot be worked.
func Listened(passage *source.Sound, rig Rig, clipped int64) (*Exercise, error) {
	if err := rig.Validate(); err != nil {
		return nil, err
	}
	v, err := (&draft{}).read(passage)
	if err != nil {
		return nil, err
	}
	d, _ := DrillByID(SetTake)
	e := &Exercise{Drill: d, Family: source.Own, ToleranceDB: rig.ToleranceDB}
	aim, tolerance, by := v.aim(rig)
	aim = step(aim)
	e.record(Channel{
		Label: "A", Sound: passage, AimDB: aim, WindowDB: [2]float64{step(aim - tolerance), step(aim + tolerance)},
		ReadingVU: v.reading - rig.ReferenceDBFS, SamplePeakDBFS: v.peak, UnderReadDB: v.under(by),
	}, rig, by, v.lamp, nil)
	e.Controls = []Control{{Label: "A", Unit: "dB", Min: -120, Max: 120, Step: 0.1, Fixed: true}}
	e.rule = listened{e.rule.(recorded), clipped}
	return e, nil
}

// listened is the rule of what came in at a line input.
type listened struct {
	recorded
	clipped int64
}

func (x listened) verdict(e *Exercise, t Take) (Verdict, error) {
	v, err := x.recorded.verdict(e, t)
	if x.clipped > 0 {
		v.Clipped, v.Points, v.InWindow, v.Code = x.clipped, 0, false, CodeClippedInput
	}
	return v, err
}
