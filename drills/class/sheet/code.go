package sheet

import (
	"fmt"
	"math/big"
	"slices"
	"strings"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/testform"
)

// alphabet holds the symbols of a code by value.
const alphabet = "0123456789ACDEFGHJKMNPQRTVWXY"

const (
	field29 = int64(len(alphabet))
	checks  = 2
)

// alike maps what is not in the alphabet to what it looks like.
var alike = map[rune]rune{'I': '1', 'L': '1', 'O': '0', 'Z': '2', 'S': '5', 'B': '8', 'U': 'V'}

// drillNames gives each drill its number in a code. The order never changes.
var drillNames = []string{drills.SetTake, drills.LineUp, drills.LampCount, drills.CallUnder,
	drills.MatchEar, drills.Ride, drills.WholeDesk, drills.TrustIt, drills.Soundcheck, drills.Chain, drills.OddOne, drills.Alignment}

// formDrill stands in place of a drill's number in the code of a test form, whose
// number of rounds counts which form it is.
const formDrill = sizeDrill - 1

// codeRecorded takes the place of codeVersion where rounds are made of recordings.
const codeRecorded = codeVersion + 1

// codeVersion is the version of a code's form and of the rules its rounds are made
// by.
const codeVersion = 1

// Sizes of the fields of a code, the number of values each may have.
const (
	sizeVersion   = 4 // of codeVersion
	sizeDrill     = 16
	sizeRounds    = MaxRounds
	sizeLevel     = ladder.Top - ladder.Bottom + 1
	sizeRig       = 4                 // drawn, digital, film, tape
	sizeSeed      = 2 * (MaxSeed + 1) // exams have the upper half
	sizeTolerance = 61
	sizeTime      = 2 + MaxTime/TimeStep
	sizeCover     = 3 + MaxCover
)

// What a rig of the teacher's own may be in a sheet: whole decibels for
// reference and target, half decibels for ceiling and lamp.
type rigStep struct {
	name    said.Sentence
	unit    string
	min     float64
	step    float64
	size    int64
	at      func(*drills.Rig) *float64
	notTape bool
}

var rigSteps = []rigStep{
	{said.New("rig.reference", "reference"), "dBFS", -40, 1, 35, func(r *drills.Rig) *float64 { return &r.ReferenceDBFS }, false},
	{said.New("rig.target", "target"), "VU", -20, 1, 24, func(r *drills.Rig) *float64 { return &r.TargetVU }, false},
	{said.New("rig.ceiling", "ceiling"), "dBFS", -30, 0.5, 60, func(r *drills.Rig) *float64 { return &r.CeilingDBFS }, true},
	{said.New("rig.lamp", "lamp"), "dBFS", -40, 0.5, 80, func(r *drills.Rig) *float64 { return &r.LampDBFS }, false},
}

// index returns which of its steps a setting stands on.
func (f rigStep) index(v float64) (int64, error) {
	n := (v - f.min) / f.step
	i := int64(n)
	if float64(i) != n || i < 0 || i >= f.size {
		most := f.min + f.step*float64(f.size-1)
		return 0, said.Errorf("sheet.rig_step", "its %s is %v %s; in a sheet it may be %v to %v %s in steps of %v", f.name, v, f.unit, f.min, most, f.unit, f.step)
	}
	return i, nil
}

// checkRig returns what a sheet cannot carry of a rig.
func checkRig(r drills.Rig) error {
	for _, f := range rigSteps {
		if f.notTape && r.Soft() {
			continue
		}
		if _, err := f.index(*f.at(&r)); err != nil {
			return err
		}
	}
	return nil
}

// standingRigs are those that short codes carry, by number less one.
func standingRigs() []drills.Rig {
	return []drills.Rig{drills.DigitalRig(), drills.FilmRig(), drills.TapeRig()}
}

// standingRig is a rig's number among the fields: 0 for none, and for one of the
// teacher's own.
func standingRig(r *drills.Rig) int64 {
	if r == nil {
		return 0
	}
	return int64(slices.Index(standingRigs(), *r) + 1)
}

// number is the fields of a code as one number in mixed radix; the first put is
// the least significant.
type number struct {
	value, scale big.Int
	reading      bool // the fields are taken out, see next
}

func (n *number) put(v, size int64) {
	if n.scale.Sign() == 0 {
		n.scale.SetInt64(1)
	}
	n.value.Add(&n.value, new(big.Int).Mul(&n.scale, big.NewInt(v)))
	n.scale.Mul(&n.scale, big.NewInt(size))
}

func (n *number) take(size int64) int64 {
	var rest big.Int
	n.value.QuoRem(&n.value, big.NewInt(size), &rest)
	return rest.Int64()
}

// next puts a field's value, or takes it out of a number that is read.
func (n *number) next(v, size int64) int64 {
	if n.reading {
		return n.take(size)
	}
	n.put(v, size)
	return v
}

// signed is next for a field of which a few numbers below 0 stand behind the others; most
// is the greatest.
func (n *number) signed(v, most, size int64) int64 {
	if v = n.next((v+size)%size, size); v > most {
		v -= size
	}
	return v
}

// The lengths of codes.
const (
	lenPlain = 12
	lenSet   = 16
	lenRig   = 20
)

// fields goes through the fields of a code of so many characters in their order. It puts
// the sheet's, or sets the sheet to what is read. The error is that no sheet of this
// version has them.
func (s *Sheet) fields(n *number, length int) error {
	version, seed := int64(codeVersion), int64(s.Seed)
	if s.Recorded {
		version = codeRecorded
	}
	if s.Exam {
		seed += MaxSeed + 1
	}
	drill, families, rounds := int64(slices.Index(drillNames, s.Drill)), familyBits(s.Families)-1, int64(s.Rounds-1)
	if s.Form != "" {
		drill, families, rounds = formDrill, 0, int64(slices.Index(testform.Forms, s.Form))
	}
	version = n.next(version, sizeVersion)
	if version > codeRecorded {
		return said.Errorf("code.newer", "class code: it was made by a later version of the program")
	}
	seed = n.next(seed, sizeSeed)
	s.Recorded, s.Seed, s.Exam = version == codeRecorded, uint32(seed%(MaxSeed+1)), seed > MaxSeed
	drill = n.next(drill, sizeDrill)
	if drill != formDrill && drill >= int64(len(drillNames)) {
		return said.Errorf("code.newer_drill", "class code: its drill is of a later version of the program")
	}
	families, rounds = n.next(families, familyBits(nil)), n.next(rounds, sizeRounds)
	if drill == formDrill {
		if rounds < int64(len(testform.Forms)) {
			s.Form = testform.Forms[rounds]
		}
		return nil
	}
	s.Drill, s.Families, s.Rounds = drillNames[drill], bitFamilies(families+1), int(rounds)+1
	s.Level = int(n.next(int64(s.Level-ladder.Bottom), sizeLevel)) + ladder.Bottom
	if rig := n.next(standingRig(s.Rig), sizeRig); rig > 0 {
		s.Rig = &standingRigs()[rig-1]
	}
	if length >= lenSet {
		s.ToleranceDB = float64(n.next(int64(s.ToleranceDB*10+0.5), sizeTolerance)) / 10
		s.Time = TimeStep * Time(n.signed(int64(s.Time/TimeStep), MaxTime/TimeStep, sizeTime))
		s.Cover = Cover(n.signed(int64(s.Cover), MaxCover, sizeCover))
	}
	if length == lenRig {
		s.Rig = n.rig(s.Rig)
	}
	return nil
}

// rig goes through the fields of a rig of the teacher's own, and returns it.
func (n *number) rig(r *drills.Rig) *drills.Rig {
	own, soft := drills.DigitalRig(), int64(0)
	if !n.reading {
		own = *r
	}
	if own.Soft() {
		soft = 1
	}
	if soft = n.next(soft, 2); n.reading && soft == 1 {
		own = drills.TapeRig()
	}
	for _, f := range rigSteps {
		if f.notTape && own.Soft() {
			n.next(0, f.size)
			continue
		}
		i, _ := f.index(*f.at(&own)) // Canonical checked it
		*f.at(&own) = f.min + f.step*float64(n.next(i, f.size))
	}
	if own.Soft() {
		own.CeilingDBFS = own.LampDBFS
	}
	return &own
}

// Code returns the sheet's class code in groups of four, "K3F0 9A2C 77VQ". The
// error is Canonical's.
func (s Sheet) Code() (string, error) {
	s, err := s.Canonical()
	if err != nil {
		return "", err
	}
	length := lenPlain
	switch {
	case s.Form != "":
	case s.Rig != nil && standingRig(s.Rig) == 0:
		length = lenRig
	case s.ToleranceDB != 0 || s.Time != 0 || s.Cover != 0:
		length = lenSet
	}
	var n number
	if err := s.fields(&n, length); err != nil {
		return "", err
	}
	return n.write(length), nil
}

// write writes the number as a code of so many characters.
func (n *number) write(length int) string {
	digits := make([]int64, length)
	for i := length - checks - 1; i >= 0; i-- {
		digits[i] = n.take(field29)
	}
	scramble(digits, 1)
	setChecks(digits)
	return group(digits)
}

// ParseCode reads a class code as people write it. The error says what is wrong
// with it and, where that can be told, where to look.
func ParseCode(text string) (Sheet, error) {
	digits, err := readDigits(text)
	if err == nil {
		err = verify(digits)
	}
	if err != nil {
		return Sheet{}, fmt.Errorf("class code: %w", err)
	}
	written := group(digits)
	scramble(digits, -1)
	n := number{reading: true}
	for _, d := range digits[:len(digits)-checks] {
		n.value.Mul(&n.value, big.NewInt(field29))
		n.value.Add(&n.value, big.NewInt(d))
	}
	var s Sheet
	if err := s.fields(&n, len(digits)); err != nil {
		return Sheet{}, err
	}
	// The code must be the sheet's own; this also refuses what is left over.
	if back, err := s.Code(); err != nil || back != written {
		return Sheet{}, said.Errorf("code.no_sheet", "class code: no sheet has this code; ask for it again")
	}
	return s.Canonical()
}

// Tidy writes a code that ParseCode accepts in its groups of four.
func Tidy(text string) (string, error) {
	s, err := ParseCode(text)
	if err != nil {
		return "", err
	}
	return s.Code()
}

// readDigits gives the values of a code's characters.
func readDigits(text string) ([]int64, error) {
	if len(text) > 200 {
		return nil, said.Errorf("code.too_long", "it is much too long; a code has %d, %d or %d characters", lenPlain, lenSet, lenRig)
	}
	var digits []int64
	for _, r := range strings.ToUpper(text) {
		if strings.ContainsRune(" -\t\r\n.\u00a0\u2010\u2011\u2012\u2013\u2014\u2212", r) {
			continue
		}
		if a, ok := alike[r]; ok {
			r = a
		}
		d := strings.IndexRune(alphabet, r)
		if d < 0 {
			return nil, said.Errorf("code.character", "%q does not occur in any code", r)
		}
		digits = append(digits, int64(d))
	}
	if n := len(digits); n != lenPlain && n != lenSet && n != lenRig {
		return nil, said.Errorf("code.length", "it has %d {character|characters}; a code has %d, %d or %d", n, lenPlain, lenSet, lenRig)
	}
	return digits, nil
}

// sums returns the two checks less what they should be: 0, 0 for a code. What
// they should be depends on the length, so that a code with characters left out
// or zeros added is none.
func sums(digits []int64) (plain, placed int64) {
	plain, placed = int64(len(digits)), 7
	for i, d := range digits {
		plain += d
		placed += d * int64(i+1)
	}
	return plain % field29, placed % field29
}

// setChecks sets the last two digits.
func setChecks(digits []int64) {
	n := int64(len(digits))
	digits[n-2], digits[n-1] = 0, 0
	plain, placed := sums(digits)
	// a + b = -plain and (n-1)a + nb = -placed, so b = (n-1)plain - placed.
	b := mod((n-1)*plain - placed)
	digits[n-1] = b
	digits[n-2] = mod(-plain - b)
}

// verify returns an error if digits are no code, and where one wrong character stands or
// that two were swapped if that would explain it.
func verify(digits []int64) error {
	plain, placed := sums(digits)
	if plain == 0 && placed == 0 {
		return nil
	}
	if plain == 0 {
		return said.Errorf("code.swapped", "two characters may be swapped")
	}
	for i := range digits {
		if mod(plain*int64(i+1)) == placed {
			return said.Errorf("code.mistyped_at", "there is a typing error; look at character %d of group %d first", i%4+1, i/4+1)
		}
	}
	return said.Errorf("code.mistyped", "there is a typing error")
}

func mod(v int64) int64 { return (v%field29 + field29) % field29 }

// scramble adds fixed numbers to the digits before the checks, or subtracts
// them with -1, so that plain sheets do not become rows of zeros, in which one
// loses count.
func scramble(digits []int64, sign int64) {
	x := int64(3)
	for i := range len(digits) - checks {
		x = x * 11 % 8191
		digits[i] = mod(digits[i] + sign*x)
	}
}

func group(digits []int64) string {
	var b strings.Builder
	for i, d := range digits {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteByte(alphabet[d])
	}
	return b.String()
}

// familyBits has a bit for each family of a list; an empty list is all.
func familyBits(list []source.Family) int64 {
	bits := int64(0)
	for i, f := range source.Generated() {
		if len(list) == 0 || slices.Contains(list, f) {
			bits |= 1 << i
		}
	}
	return bits
}

func bitFamilies(bits int64) []source.Family {
	if bits == familyBits(nil) {
		return nil
	}
	var list []source.Family
	for i, f := range source.Generated() {
		if bits&(1<<i) != 0 {
			list = append(list, f)
		}
	}
	return list
}
