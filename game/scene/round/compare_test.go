package round

import (
	"math"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/game/practice"
	"slowneedle/game/store"
)

// What is heard of a take is as loud as the aim's, within 0.3 LU by ITU-R
// BS.1770-5, so that only the damage differs; how far off the fader was does not
// matter.
func TestComparedAtOneLoudness(t *testing.T) {
	tape := drills.TapeRig()
	for _, c := range []struct {
		name   string
		family source.Family
		rig    *drills.Rig
		off    float64
	}{
		{"too cold on tape", source.Voice, &tape, -12},
		{"too hot on tape", source.Struck, &tape, 5},
		{"clipped", source.Plucked, nil, 9},
		{"a little cold", source.Steady, nil, -2},
	} {
		e, err := drills.NewExercise(drills.SetTake, 3, 0, 4, drills.Settings{Family: c.family, Rig: c.rig})
		if err != nil {
			t.Fatal(err)
		}
		a := &practice.Assignment{Exercise: e}
		take := drills.Take{
			Moves:  []drills.Move{{At: 64, To: e.Channels[0].AimDB + c.off}},
			LockAt: audio.Rate,
		}
		l := renderLoops(a, take, store.DefaultSettings())
		if l.err != nil {
			t.Fatal(l.err)
		}
		if off := loudness(t, l.take) - loudness(t, l.aim); math.Abs(off) > 0.3 {
			t.Errorf("%s: the take is heard %+.2f LU from the aim", c.name, off)
		}
	}
}

func loudness(t *testing.T, x [2][]float32) float64 {
	t.Helper()
	m, err := meter.NewLoudness(audio.Rate, 2)
	if err != nil {
		t.Fatal(err)
	}
	m.Process(x[0], x[1])
	return m.Integrated()
}
