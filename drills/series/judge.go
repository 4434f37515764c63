package series

import (
	"encoding/json"
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/measure"
	"slowneedle/audio/returns"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/progress"
)

// Judged is the verdict on a return. Levels that do not exist are null in JSON.
type Judged struct {
	File   string       `json:"file"`
	Who    string       `json:"who"`
	LineUp JudgedLineUp `json:"line_up"`
	// SpeedPercent is by how much the return runs too fast.
	SpeedPercent float64 `json:"speed_percent"`
	Inverted     bool    `json:"inverted"` // in polarity
	// OneSide is "left" or "right" if there is nothing on the other side of a
	// stereo recording.
	OneSide string        `json:"one_side,omitempty"`
	Rounds  []JudgedRound `json:"rounds"`
}

// JudgedLineUp is the line-up tone as it came back.
type JudgedLineUp struct {
	Found             bool          `json:"found"`
	StartS            float64       `json:"start_s"`
	LevelDBFS         measure.Level `json:"level_dbfs"`
	Hertz             float64       `json:"frequency_hz"`
	DistortionPercent measure.Level `json:"distortion_percent"`
}

// JudgedRound is the verdict on one round. ErrorDB and InWindow come from
// ChangeDB alone; needle, peak and clipping are what was measured.
type JudgedRound struct {
	Number    int            `json:"number"`
	Family    source.Family  `json:"family"`
	Kind      string         `json:"kind"`
	Found     bool           `json:"found"`
	StartS    measure.Level  `json:"start_s"`
	ChangeDB  measure.Level  `json:"change_db"` // against the line-up tone, over the last steady part
	AimDB     float64        `json:"aim_db"`
	ErrorDB   measure.Level  `json:"error_db"`
	InWindow  bool           `json:"in_window"`
	DecidedBy drills.Decider `json:"decided_by"`
	NeedleVU  measure.Level  `json:"needle_vu"`
	PeakDBFS  measure.Level  `json:"peak_dbfs"`
	// HeadroomDB is from the peak to the rig's ceiling, on tape the lamp, as it
	// lies above the line-up tone.
	HeadroomDB measure.Level `json:"headroom_db"`
	Clipped    int           `json:"clipped"` // samples in flat tops that the source does not have
	// DistortionPercent is that of a round that is a single tone.
	DistortionPercent measure.Level `json:"distortion_percent"`
	NoiseDBFS         measure.Level `json:"noise_dbfs"`
	TrebleDB          measure.Level `json:"treble_db"`
	Moves             []Move        `json:"moves"` // of the level, half a decibel or more
	Confidence        float64       `json:"confidence"`
	Points            int           `json:"points"`
	Code              drills.Code   `json:"code"`
	Headline          string        `json:"headline"`
	Reason            string        `json:"reason"`

	Measured returns.Round  `json:"-"` // with the level over time
	Verdict  drills.Verdict `json:"-"` // of the change; its Code is empty if there is none
	Problem  said.Sentence  `json:"-"` // in place of a verdict, if there is none
}

// Move is one move of the level of a round.
type Move struct {
	AtS float64 `json:"at_s"` // from the start of the round
	DB  float64 `json:"db"`   // by how much
}

// Judge finds the rounds of a series in a return and judges each. If step is not
// nil it is called again and again meanwhile, with the share of the work that is
// done. The error is one sentence about the recording or the sheet.
func (a *Answers) Judge(r *wavfile.Reader, step func(share float64)) (*Judged, error) {
	m, err := returns.Measure(r, a.sent(step))
	if err != nil {
		return nil, err
	}
	j := &Judged{
		LineUp:       lineUpOf(m.Tone),
		SpeedPercent: round3(100 * (m.Speed - 1)), Inverted: m.Turned,
	}
	if m.OneSided {
		j.OneSide = [2]string{"left", "right"}[m.Side]
	}
	for i, got := range m.Rounds {
		e, err := a.Exercise(i)
		if err != nil {
			return nil, err
		}
		round, err := judge(e, got, m.Tone.LevelDBFS)
		if err != nil {
			return nil, err
		}
		round.Number, round.Kind = a.Rounds[i].Number, a.Rounds[i].Kind
		j.Rounds = append(j.Rounds, round)
	}
	return j, nil
}

func lineUpOf(t returns.Tone) JudgedLineUp {
	return JudgedLineUp{true, t.StartS, measure.Level(t.LevelDBFS), t.Hertz, measure.Level(t.DistortionPercent)}
}

// judge gives the verdict on one round.
func judge(e *drills.Exercise, got returns.Round, tone float64) (JudgedRound, error) {
	missing := measure.Level(math.NaN())
	r := JudgedRound{
		Family: e.Family, Found: got.Found, StartS: measure.Level(got.StartS), AimDB: round3(e.Channels[0].AimDB),
		ChangeDB: measure.Level(got.ChangeDB), ErrorDB: missing, DecidedBy: e.DecidedBy,
		NeedleVU: measure.Level(got.NeedleVU), PeakDBFS: measure.Level(got.PeakDBFS), Clipped: got.Clipped,
		HeadroomDB:        measure.Level(e.Rig.CeilingDBFS - e.Rig.ReferenceDBFS + tone - got.PeakDBFS),
		DistortionPercent: measure.Level(got.DistortionPercent), NoiseDBFS: measure.Level(got.NoiseDBFS),
		TrebleDB: measure.Level(got.TrebleDB), Confidence: math.Round(got.Confidence*100) / 100, Measured: got, Moves: []Move{},
	}
	for _, m := range got.Moves {
		r.Moves = append(r.Moves, Move{round3(m.At), round3(m.DB)})
	}
	if !r.ChangeDB.Exists() {
		r.Problem = said.New("return.moving", "Its level never held for two seconds at the end; set it, then leave it.")
		if !got.Found {
			r.Problem = said.New("return.missing", "It is not in the recording.")
		}
		r.Headline = r.Problem.String()
		return r, nil
	}
	v, err := e.Judge(drills.Take{
		Moves:  []drills.Move{{To: min(max(got.ChangeDB, -120), 120)}},
		LockAt: int64(got.Steady.End * audio.Rate),
	})
	if err != nil {
		return r, err
	}
	if r.Clipped > 0 && !e.Rig.Soft() {
		v.Clipped, v.Points, v.Code = int64(r.Clipped), 0, drills.CodeClipped // as the rules have it
		if v.InWindow || v.ErrorDB < 0 {
			v.Code = drills.CodeClippedReturn
		}
		v.InWindow = false
	}
	v.ReadingVU, v.HeadroomDB = float64(r.NeedleVU), float64(r.HeadroomDB) // as measured, in the sentences too
	v.Headline, v.Reason = v.Sentences(drills.English)
	r.Verdict = v
	r.ErrorDB, r.InWindow = measure.Level(v.ErrorDB), v.InWindow
	r.Points, r.Code, r.Headline, r.Reason = v.Points, v.Code, v.Headline, v.Reason
	return r, nil
}

// Figures lists the numbers of the verdict, the most important first: those that
// follow from the change, and what was measured.
func (r JudgedRound) Figures(e *drills.Exercise) []drills.Figure {
	var list []drills.Figure
	if r.ErrorDB.Exists() {
		for _, f := range e.Figures(r.Verdict) {
			if slices.Contains([]string{"figure.error", "figure.aim", "figure.under_read", "figure.needle", "figure.headroom", "figure.clipped"}, f.Name.Code) {
				list = append(list, f)
			}
		}
	}
	add := func(name said.Sentence, level float64, unit drills.Unit, decimals int, signed bool) {
		if measure.Level(level).Exists() {
			list = append(list, drills.Figure{Name: name, Value: level, Unit: unit, Decimals: decimals, Signed: signed})
		}
	}
	add(said.New("figure.noise_beside", "noise in the pause"), float64(r.NoiseDBFS), drills.UnitDBFS, 0, false)
	add(said.New("figure.distortion", "distortion"), float64(r.DistortionPercent), drills.UnitPercent, 1, false)
	add(said.New("figure.treble", "treble"), float64(r.TrebleDB), drills.UnitDB, 1, true)
	add(said.New("figure.sure", "certainty"), 100*r.Confidence, drills.UnitPercent, 0, false)
	return list
}

// Sum is what the rounds of a return come to.
type Sum struct {
	Judged   int     // rounds with a level that held
	Right    int     // of these in their window
	BiasDB   float64 // mean error, NaN without any
	SpreadDB float64 // standard deviation of the errors, NaN below two
	Points   float64 // mean over all rounds, those without a level at 0
}

// Sum sums a return up.
func (j *Judged) Sum() Sum {
	var s Sum
	var errors []float64
	sum := 0.0
	for _, r := range j.Rounds {
		s.Points += float64(r.Points) / float64(len(j.Rounds))
		if r.ErrorDB.Exists() {
			errors = append(errors, float64(r.ErrorDB))
			sum += float64(r.ErrorDB)
		}
		if r.InWindow {
			s.Right++
		}
	}
	s.Judged = len(errors)
	s.BiasDB, s.SpreadDB = sum/float64(s.Judged), math.NaN()
	if spread := progress.StdDev(errors); spread.OK {
		s.SpreadDB = spread.Value
	}
	return s
}

// ParseJudged reads verdicts as JSON: of one return, or of several as an array,
// in which those that could not be judged are left out. The error is one
// sentence.
func ParseJudged(data []byte) ([]Judged, error) {
	var several []Judged
	err := json.Unmarshal(data, &several)
	if err != nil {
		var one Judged
		if json.Unmarshal(data, &one) == nil {
			several, err = []Judged{one}, nil
		}
	}
	several = slices.DeleteFunc(several, func(j Judged) bool { return !j.LineUp.Found || len(j.Rounds) == 0 })
	if err != nil || len(several) == 0 {
		return nil, said.Errorf("series.judged", "there are no verdicts on returns in it; take what markbook judge --json prints")
	}
	return several, nil
}
