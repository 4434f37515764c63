// Package sheet holds a teacher's fixed series of rounds and its class code.
//
// A sheet is everything that the rounds of a class follow from: drill,
// families, rig, number of rounds, tolerance, time, covers and seed. Its file
// is one JSON object:
//
//	{
//	  "format": "slowneedle sheet 2",
//	  "drill": "take",                 which drill, by the names of drills.Drills
//	  "families": ["voice","struck"],  left out: all of the drill, in turn
//	  "rig": "digital:reference=-20",  left out: drawn for each round
//	  "rounds": 10,                    1 to 50
//	  "level": 6,                      of the ladder, 1 to 24
//	  "tolerance_db": 1.5,             left out: the level's
//	  "time": "45 s",                  or "none"; left out: the level's
//	  "cover": "after 8 s",            when the needle is covered, or "always" or
//	                                   "never"; left out: the level's
//	  "recordings": [{"name": "choir.flac", "sha256": "...", "passages": [{"at": 0, "frames": 480000}]}],
//	                                   left out: sounds are generated
//	  "seed": 4711,                    0 to 8388607
//	  "exam": true                     left out: its rounds follow from the seed
//	}
//
// The rounds of an exam do not follow from its sheet: the class server draws a
// seed for each and gives it to a learner when it is to be played (Drawn). The
// sheet's seed then only tells exams apart.
//
// A test form (package testform) is a sheet too. Its file has nothing but
//
//	{
//	  "format": "slowneedle sheet 2",
//	  "form": "A",                     A, B or C
//	  "seed": 3                        which set of forms, 0 to 7
//	}
//
// unless its rounds are passages of a teacher's recordings. Then it has these as well,
// and the seed, 0 to 8388607, tells the teacher's sets apart:
//
//	"recordings": [...],             1 to 20, as above
//	"index": [31, 4, ...]            of each of its 20 rounds, see NewForms
//
// What a file may hold is only what a class code can carry, so that each stands
// for the other.
//
// # Class codes
//
// A code is 12, 16 or 20 characters, written in groups of four:
//
//	12  drill, families, rounds, level, one of the standing rigs or none, seed
//	16  and tolerance, time and covers
//	20  and a rig of the teacher's own
//
// The shortest that carries the sheet is the sheet's code; a longer one for the
// same sheet is refused, so that every sheet has one code and every code one
// sheet. The fields are the digits of one number in mixed radix, which is then
// written in base 29.
//
// The alphabet leaves out what a hand on a whiteboard makes alike: I and L (1),
// O (0), Z (2), S (5), B (8) and U (V). Reading takes them for what they look
// like, and small letters, spaces and hyphens as they come.
//
// 29 is a prime, so the characters are the elements of a field, and the last
// two are chosen so that the sum of all, and the sum of each times its place
// (from 1), come out right modulo 29: a Reed-Solomon code with distance 3
// (I. S. Reed, G. Solomon, "Polynomial Codes over Certain Finite Fields", J.
// SIAM 8, 300, 1960). It catches every one or two wrong characters, so also
// every swap of two, wherever they stand. Of other errors 1 in 841 gets by.
package sheet

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/strict"
	"slowneedle/drills/testform"
)

// Format is the first field of every sheet file.
const Format = "slowneedle sheet 2"

// What a sheet may ask for.
const (
	MaxRounds    = 50
	MaxSeed      = 1<<23 - 1
	MaxTolerance = 6.0 // dB
	MaxTime      = 300 // s
	TimeStep     = 5   // s
	MaxCover     = 30  // s
	MaxFile      = 64 << 10
)

// Sheet is a fixed series of rounds. Its zero value is not usable; New makes
// one that is.
type Sheet struct {
	Drill       string
	Families    []source.Family // in teaching order; none stands for all of the drill
	Rig         *drills.Rig     // nil: drawn for each round
	Rounds      int
	Level       int     // of the ladder
	ToleranceDB float64 // 0: the level's
	Time        Time
	Cover       Cover
	Seed        uint32
	Exam        bool
	Seeds       []uint64 // of an exam's rounds, 0 where it is not known; in no file and no code
	// Form is set if the sheet is a test form of the set that Seed numbers. All
	// else follows from that; see NewForm. One on a teacher's recordings has the Index of
	// each of its rounds as well; see NewForms.
	Form  testform.Form
	Index []int
	// Recorded is set if the rounds are passages of a teacher's recordings, which a file
	// lists and a code does not. Content opens them, see Folder; it is in no file and no code.
	Recorded   bool
	Recordings []Recording
	Content    Content
}

// Time is how long a round may take, in seconds; NoLimit for as long as one
// likes; 0 for what the level says.
type Time int

// NoLimit is the Time of rounds that may take as long as one likes.
const NoLimit Time = -TimeStep

// Cover is the seconds after which the needle is covered; Never or Always; 0
// for what the level says.
type Cover int

// The two Covers that are not a number of seconds.
const (
	Never  Cover = -1
	Always Cover = -2
)

// New returns a sheet of ten rounds of the main drill on the lowest level with
// everything else drawn.
func New(seed uint32) Sheet {
	return Sheet{Drill: drills.SetTake, Rounds: 10, Level: ladder.Bottom, Seed: seed}
}

// NewForm returns the sheet of a test form. The error names a form or a set that
// there is not.
func NewForm(set uint32, form testform.Form) (Sheet, error) {
	return Sheet{Seed: set, Form: form}.Canonical()
}

// file is a sheet as its JSON has it. One of a test form has nothing but Form, Seed,
// Recordings and Index.
type file struct {
	Format      string          `json:"format"`
	Form        testform.Form   `json:"form,omitempty"`
	Drill       string          `json:"drill,omitempty"`
	Families    []source.Family `json:"families,omitempty"`
	Rig         string          `json:"rig,omitempty"`
	Rounds      int             `json:"rounds,omitempty"`
	Level       int             `json:"level,omitempty"`
	ToleranceDB float64         `json:"tolerance_db,omitempty"`
	Time        string          `json:"time,omitempty"`
	Cover       string          `json:"cover,omitempty"`
	Seed        uint32          `json:"seed"`
	Exam        bool            `json:"exam,omitempty"`
	Recordings  []Recording     `json:"recordings,omitempty"`
	Index       []int           `json:"index,omitempty"`
}

// form is what of a file belongs to a test form.
func (f file) form() file {
	return file{Format: f.Format, Form: f.Form, Seed: f.Seed, Recordings: f.Recordings, Index: f.Index}
}

// Parse reads a sheet file. The error is one sentence that names the field.
func Parse(data []byte) (s Sheet, err error) {
	err = s.UnmarshalJSON(data) // before s is read
	return s, err
}

// UnmarshalJSON reads a sheet as Parse does.
func (s *Sheet) UnmarshalJSON(data []byte) error {
	if len(data) > MaxFile {
		return fmt.Errorf("sheet: it has %d bytes; a sheet has at most %d", len(data), MaxFile)
	}
	var f file
	if err := strict.DecodeFormat(data, &f, Format); err != nil {
		return fmt.Errorf("sheet: %w", err)
	}
	if f.Form != "" && !reflect.DeepEqual(f, f.form()) {
		return errors.New("sheet: form: a test form has a seed, and on recordings these and the index; leave out the rest")
	}
	t := Sheet{Drill: f.Drill, Families: f.Families, Rounds: f.Rounds, Level: f.Level, ToleranceDB: f.ToleranceDB, Seed: f.Seed, Exam: f.Exam,
		Form: f.Form, Recordings: f.Recordings, Index: f.Index}
	if f.Rig != "" {
		rig, err := drills.ParseRig(f.Rig)
		if err != nil {
			return fmt.Errorf("sheet: rig: %w", err)
		}
		t.Rig = &rig
	}
	var err error
	if t.Time, err = ParseTime(f.Time); err != nil {
		return fmt.Errorf("sheet: time: %w", err)
	}
	if t.Cover, err = ParseCover(f.Cover); err != nil {
		return fmt.Errorf("sheet: cover: %w", err)
	}
	if t, err = t.Canonical(); err == nil {
		*s = t
	}
	return err
}

// MarshalJSON gives the canonical form on one line.
func (s Sheet) MarshalJSON() ([]byte, error) {
	s, err := s.Canonical()
	if err != nil {
		return nil, err
	}
	if s.Recorded && len(s.Recordings) == 0 {
		return nil, errNoRecordings
	}
	f := file{Format: Format, Form: s.Form, Drill: s.Drill, Families: s.Families, Rounds: s.Rounds, Level: s.Level, ToleranceDB: s.ToleranceDB,
		Time: s.Time.String(), Cover: s.Cover.String(), Seed: s.Seed, Exam: s.Exam, Recordings: s.Recordings, Index: s.Index}
	if s.Form != "" {
		f = f.form()
	} else if s.Rig != nil {
		f.Rig = s.Rig.String()
	}
	return json.Marshal(f)
}

// File gives the canonical form as a file for people.
func (s Sheet) File() ([]byte, error) {
	text, err := s.MarshalJSON()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = json.Indent(&b, text, "", "  ")
	b.WriteByte('\n')
	return b.Bytes(), err
}

// Hash is the SHA-256 of the canonical form, in hexadecimal.
func (s Sheet) Hash() (string, error) {
	text, err := s.MarshalJSON()
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:]), nil
}

// Canonical returns the one form of all sheets that give the same rounds: of a test
// form, form and set with all that follows from them; else
// families in teaching order and left out if they are all of the drill, the
// rig's tolerance moved to the sheet. The error is one
// sentence that names the field which is wrong or finer than a code can carry.
func (s Sheet) Canonical() (Sheet, error) {
	s.Recorded = s.Recorded || len(s.Recordings) > 0
	if s.Form != "" {
		if err := s.checkForm(); err != nil {
			return Sheet{}, err
		}
		rig := drills.DigitalRig()
		return Sheet{Drill: drills.SetTake, Rig: &rig, Rounds: testform.Rounds, Level: testform.Level,
			ToleranceDB: testform.ToleranceDB, Seed: s.Seed, Form: s.Form,
			Recorded: s.Recorded, Recordings: s.Recordings, Index: s.Index, Content: s.Content}, nil
	}
	if len(s.Index) > 0 {
		return Sheet{}, wrong("index", "only a form on recordings lists its rounds; leave it out")
	}
	drill, ok := drills.DrillByID(s.Drill)
	if !ok {
		return Sheet{}, wrong("drill", "there is no drill %.30q; use one of %s", s.Drill, strings.Join(drillNames, ", "))
	}
	families, err := orderFamilies(drill, s.Families)
	if err != nil {
		return Sheet{}, wrong("families", "%w", err)
	}
	s.Families = families
	if err := s.setRig(drill); err != nil {
		return Sheet{}, err
	}
	tenths := math.Round(s.ToleranceDB * 10)
	if !(s.ToleranceDB >= 0 && s.ToleranceDB <= MaxTolerance) || math.Abs(tenths-s.ToleranceDB*10) > 1e-6 {
		return Sheet{}, wrong("tolerance_db", "%v dB; it may be 0.1 to %v dB in steps of 0.1 dB", s.ToleranceDB, MaxTolerance)
	}
	s.ToleranceDB = tenths / 10
	if err := checkRecordings(s.Recordings); err != nil {
		return Sheet{}, wrong("recordings", "%w", err)
	}
	return s, s.check(drill)
}

// wrong is the error of a field that cannot be as it is.
func wrong(field, format string, a ...any) error {
	return fmt.Errorf("sheet: %s: %w", field, fmt.Errorf(format, a...))
}

// check returns what is wrong with the numbers of a sheet and how they go together.
func (s Sheet) check(drill drills.Drill) error {
	switch {
	case s.Rounds < 1 || s.Rounds > MaxRounds:
		return wrong("rounds", "%d is out of range; it may be 1 to %d", s.Rounds, MaxRounds)
	case s.Level < ladder.Bottom || s.Level > ladder.Top:
		return wrong("level", "%d is out of range; it may be %d to %d", s.Level, ladder.Bottom, ladder.Top)
	case s.Seed > MaxSeed:
		return wrong("seed", "%d is out of range; it may be 0 to %d", s.Seed, MaxSeed)
	case s.Time < NoLimit || s.Time > MaxTime || s.Time%TimeStep != 0:
		return wrong("time", "%d s; it may be %d to %d s in steps of %d s", int(s.Time), TimeStep, MaxTime, TimeStep)
	case s.Cover < Always || s.Cover > MaxCover:
		return wrong("cover", "after %d s; it may be after 1 to %d s", int(s.Cover), MaxCover)
	case s.Time != 0 && drill.FixedLength:
		return wrong("time", "%s has a length of its own; leave it out", drill.Name)
	case s.Cover != 0 && drill.FixedCover:
		return wrong("cover", "%s says itself what is covered; leave it out", drill.Name)
	case s.Recorded && !drill.OnRecordings():
		return wrong("recordings", "%s is not played on recordings", drill.Name)
	case s.Recorded && (s.Exam || s.Families != nil):
		return wrong("recordings", "a sheet on recordings has no families and is no exam")
	}
	return nil
}

// setRig brings the rig to its one form, and moves its tolerance to the sheet. The error
// is that the drill is not played on it, or that a sheet cannot carry it.
func (s *Sheet) setRig(drill drills.Drill) error {
	if s.Rig == nil {
		return nil
	}
	err := s.Rig.Validate()
	if err != nil {
		return wrong("rig", "%w", err)
	}
	rig, err := drills.ParseRig(s.Rig.String()) // as its text form has it, whatever its name
	if err != nil {
		return wrong("rig", "%w", err)
	}
	if drill.TapeOnly && !rig.Soft() {
		return wrong("rig", "%s is played on tape, not on a %s rig", drill.Name, rig.Medium)
	}
	if own := rig.ToleranceDB; own != standingTolerance {
		if s.ToleranceDB != 0 && s.ToleranceDB != own {
			return wrong("tolerance_db", "it is %v, but the rig says %v; give one of them", s.ToleranceDB, own)
		}
		s.ToleranceDB, rig.ToleranceDB = own, standingTolerance
	}
	if err := checkRig(rig); err != nil {
		return wrong("rig", "%w", err)
	}
	s.Rig = &rig
	return nil
}

// standingTolerance is that of a rig which says nothing of it, in dB.
const standingTolerance = 1.0

// orderFamilies puts families in teaching order; all of a drill's become none.
func orderFamilies(drill drills.Drill, list []source.Family) ([]source.Family, error) {
	given := make(map[source.Family]bool)
	for _, f := range list {
		if !slices.Contains(drill.Families, f) {
			return nil, fmt.Errorf("%.30q is no family of %s; use some of %s", f, drill.Name, joinFamilies(drill.Families))
		}
		if given[f] {
			return nil, fmt.Errorf("%s is given twice", f)
		}
		given[f] = true
	}
	if len(given) == 0 || len(given) == len(drill.Families) {
		return nil, nil
	}
	return slices.DeleteFunc(source.Generated(), func(f source.Family) bool { return !given[f] }), nil
}

func joinFamilies(list []source.Family) string {
	var names []string
	for _, f := range list {
		names = append(names, string(f))
	}
	return strings.Join(names, ", ")
}

// setting writes a number as text, and reads it: 0 is empty, some numbers are words, and
// the others stand in a phrase.
type setting struct {
	words  map[string]int
	phrase string // with %d
	takes  string // what may be written, for an error
}

var (
	times  = setting{map[string]int{"": 0, "none": int(NoLimit)}, "%d s", `a time; write none, or seconds as in "45 s"`}
	covers = setting{map[string]int{"": 0, "never": int(Never), "always": int(Always)}, "after %d s", `a cover; write never, always, or seconds as in "after 8 s"`}
)

func (s setting) write(v int) string {
	for word, n := range s.words {
		if n == v {
			return word
		}
	}
	return fmt.Sprintf(s.phrase, v)
}

func (s setting) read(text string) (int, error) {
	if n, ok := s.words[text]; ok {
		return n, nil
	}
	before, after, _ := strings.Cut(s.phrase, "%d")
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimPrefix(text, before), after))
	if err != nil || n <= 0 {
		return 0, fmt.Errorf("%.30q is not %s", text, s.takes)
	}
	return n, nil
}

// String is "none", "45 s", or empty for what the level says.
func (t Time) String() string { return times.write(int(t)) }

// ParseTime reads what Time.String writes.
func ParseTime(text string) (Time, error) {
	n, err := times.read(text)
	return Time(n), err
}

// String is "never", "always", "after 8 s", or empty for what the level says.
func (c Cover) String() string { return covers.write(int(c)) }

// ParseCover reads what Cover.String writes.
func ParseCover(text string) (Cover, error) {
	n, err := covers.read(text)
	return Cover(n), err
}
