package sheet

import (
	"fmt"
	"slices"
	"strconv"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/testform"
)

// maxIndex is the largest index of a round in a test form on recordings.
const maxIndex = 9999

// drawnPerThree is how many rounds are drawn for each three that the forms need.
const drawnPerThree = 9

// NewForms makes the test forms A, B and C of a set on a teacher's recordings, which
// content opens. All rounds are passages of these, which take turns. Rounds
// are drawn with the set as their seed, and testform.Match chooses from them. The error
// says which recording cannot be used, or is Canonical's.
func NewForms(set uint32, recordings []Recording, content Content) (forms []Sheet, err error) {
	n := len(recordings)
	if n == 0 {
		return nil, errNoRecordings
	}
	s, err := Sheet{Seed: set, Form: testform.A, Recorded: true, Content: content}.Canonical()
	if err != nil {
		return nil, err
	}
	s.Recordings = recordings
	group := func(i int) string { return strconv.Itoa(i % n) }
	settings, passages := s.Settings(0), s.passages(nil)
	drawn := make(map[string][]testform.Drawn)
	for turn, r := range recordings {
		sounds := make([]*source.Sound, len(r.Passages))
		settings.Passages = func(_ int, seed uint64) (sound *source.Sound, err error) {
			i := seed % uint64(len(sounds))
			if sounds[i] == nil {
				sounds[i], err = passages(turn, seed)
			}
			return sounds[i], err
		}
		for i := range drawnPerThree * ((testform.Rounds + n - 1 - turn) / n) {
			e, err := drills.NewExercise(s.Drill, uint64(set), turn+i*n, s.Level, settings)
			if err != nil {
				return nil, fmt.Errorf("sheet: %w", err)
			}
			drawn[group(turn)] = append(drawn[group(turn)], testform.DrawnAs(e))
		}
	}
	rows, err := testform.Match(drawn, group)
	if err != nil {
		return nil, err
	}
	for i, form := range testform.Forms {
		s.Form, s.Index = form, rows[i][:]
		if _, err := s.Canonical(); err != nil {
			return nil, err
		}
		forms = append(forms, s)
	}
	return forms, nil
}

// SameSet reports whether two test forms are of one set, so that they are equivalent.
func (s Sheet) SameSet(t Sheet) bool {
	return s.Seed == t.Seed && slices.EqualFunc(s.Recordings, t.Recordings, func(a, b Recording) bool { return a.SHA256 == b.SHA256 })
}

// checkForm returns what is wrong with a test form. One on recordings that is from a code
// has neither these nor rounds.
func (s Sheet) checkForm() error {
	if !s.Recorded {
		if _, err := testform.Index(int(s.Seed), s.Form, 0); err != nil {
			return wrong("form", "%w", err)
		}
		if len(s.Index) > 0 {
			return wrong("index", "only a form on recordings lists its rounds; leave it out")
		}
		return nil
	}
	distinct := make(map[int]bool)
	for _, i := range s.Index {
		if i < 0 || i > maxIndex {
			return wrong("index", "there is %d; they may be 0 to %d", i, maxIndex)
		}
		distinct[i] = true
	}
	switch {
	case !slices.Contains(testform.Forms, s.Form):
		return wrong("form", "there is no form %.10q; there are A, B and C", s.Form)
	case s.Seed > MaxSeed:
		return wrong("seed", "%d is out of range; it may be 0 to %d", s.Seed, MaxSeed)
	case len(s.Recordings) > testform.Rounds:
		return wrong("recordings", "there are %d; a test form has at most %d", len(s.Recordings), testform.Rounds)
	case len(s.Recordings)+len(s.Index) > 0 && (len(distinct) != testform.Rounds || len(s.Index) != testform.Rounds):
		return wrong("index", "there are %d; a test form has %d, each of them once", len(distinct), testform.Rounds)
	}
	if err := checkRecordings(s.Recordings); err != nil {
		return wrong("recordings", "%w", err)
	}
	return nil
}
