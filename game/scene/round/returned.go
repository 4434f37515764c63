package round

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/game/practice"
	"slowneedle/game/sound"
)

// Came is the result of a round that came back from a real desk.
func Came(a *practice.Assignment) *Result {
	r := &Result{A: a, Take: a.CameTake(), Verdict: a.Came.Verdict}
	reference, column := a.Rig.ReferenceDBFS, int64(0)
	for _, p := range a.Came.Measured.Strip {
		needle, peak := p.NeedleVU+reference, p.PeakVU+reference
		for ; column < int64(math.Round(p.At*audio.Rate/sound.ColumnFrames)); column++ {
			r.past.Add(desk.Snapshot{
				At:         column * sound.ColumnFrames,
				NeedleDBFS: [2]float64{needle, needle},
				PeakDBFS:   [2]float64{peak, peak},
			})
		}
	}
	return r
}

// Heard is the result of a source at the line input, judged as it stands; past is what
// the meters showed of it.
func Heard(a *practice.Assignment, past sound.History) (*Result, error) {
	r := &Result{A: a, Take: a.HeardTake(), past: past}
	var err error
	r.Verdict, err = a.Judge(r.Take)
	return r, err
}

// saveTake writes what came in to a file, because it was asked for.
func (s *Verdict) saveTake() {
	where, err := s.A.Heard.Save()
	if err != nil {
		s.Tell(s.Say("live.not_saved", s.Fault(err)))
		return
	}
	s.Tell(s.Say("live.saved", where))
}

// title names the drill, or what was set elsewhere.
func (s *Verdict) title() string {
	switch {
	case s.A.Heard != nil:
		return s.Say("live.title")
	case s.A.Came != nil:
		return s.Say("desk.title")
	}
	return s.DrillName(s.A.Drill.ID)
}

// cameHeadline is the sentence in place of a verdict on a round that came back
// without a level, "" if there is a verdict.
func (s *Verdict) cameHeadline() string {
	if s.A.Came == nil || s.A.Came.ErrorDB.Exists() {
		return ""
	}
	return s.Put(s.A.Came.Problem)
}
