package handin

import (
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// Info is what a report needs to know of a round.
type Info struct {
	Drill    string
	Family   source.Family
	Kind     string // of the sound in trade words; empty if there are several
	Channels int
	Rig      drills.Rig
	NoError  bool       // its verdicts have no error in dB, only right or wrong
	ByLevel  bool       // a take is right if one level lies in Window, and for no other reason
	Window   [2]float64 // what counts as right, about the aim, dB
}

// Info describes round i of a sheet, from 0.
func (c *RoundCache) Info(s sheet.Sheet, i int) (Info, error) {
	e, err := c.Exercise(s, i)
	if err != nil {
		return Info{}, err
	}
	info := Info{Drill: e.Drill.ID, Family: e.Family, Rig: e.Rig, NoError: e.Drill.NoError, Channels: len(e.Channels),
		Window: [2]float64{-e.Rig.ToleranceDB, e.Rig.ToleranceDB}}
	if len(e.Channels) == 1 {
		channel := e.Channels[0]
		info.Kind = channel.Sound.Kind
		info.ByLevel = channel.Curve == nil && len(e.Stages) == 0 && !info.NoError
		if !channel.Fixed && channel.Curve == nil {
			info.Window = [2]float64{channel.WindowDB[0] - channel.AimDB, channel.WindowDB[1] - channel.AimDB}
		}
	}
	return info, nil
}
