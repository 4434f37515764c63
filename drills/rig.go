package drills

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"slowneedle/audio/medium"
	"slowneedle/audio/said"
)

// Rig is how the desk is lined up and what the medium can take. Its text form
// (String, ParseRig) is what command lines, files and JSON carry.
type Rig struct {
	Name          string      // for people: "digital" or "tape"
	Medium        medium.Kind // digital has a hard ceiling, tape a soft one
	ReferenceDBFS float64     // level of a sine that reads 0 VU
	TargetVU      float64     // where the needle should read
	ToleranceDB   float64     // half the width of the window
	CeilingDBFS   float64     // digital: highest sample peak allowed; tape: the lamp's threshold, see Soft
	LampDBFS      float64     // threshold of the peak lamp
}

// How the lamp follows when nothing else is said.
const (
	lampBelowCeiling   = 3.0 // digital: dB below the ceiling
	lampAboveReference = 6.0 // tape: the lamp lights at +6 VU (common practice)
)

// DigitalRig is the rig of everyday digital work: 0 VU at -18 dBFS (common
// practice, and the alignment level of EBU R 68), target 0 VU, tolerance 1 dB,
// ceiling -3 dBFS, lamp at -6 dBFS.
func DigitalRig() Rig { return digitalRig(-18, -3) }

// FilmRig is DigitalRig with 0 VU at -20 dBFS (SMPTE RP 155).
func FilmRig() Rig { return digitalRig(-20, -3) }

// leastHeadroom is the headroom in dB below which no digital line-up is known.
const leastHeadroom = 9

// digitalRigs lists the digital line-ups that exist and have at least 9 dB of
// headroom, eleven of them: 0 VU at -20 (SMPTE RP 155), -18 (EBU R 68), -16 or
// -14 dBFS (common practice), and a ceiling of -6 or -3 (EBU R 68 permits -9 dBFS
// on a quasi-peak meter, and true peaks 3, now and then 6 dB above that) or -1
// dBFS (EBU R 128, true peak).
func digitalRigs() []Rig {
	var all []Rig
	for _, reference := range []float64{-20, -18, -16, -14} {
		for _, ceiling := range []float64{-6, -3, -1} {
			if rig := digitalRig(reference, ceiling); rig.HeadroomDB() >= leastHeadroom {
				all = append(all, rig)
			}
		}
	}
	return all
}

// TapeRig has 0 VU at -18 dBFS and its lamp at +6 VU, beyond the end of the
// needle's scale (common practice). Its ceiling is soft: the lamp decides.
func TapeRig() Rig { return tapeRig(-18) }

func digitalRig(reference, ceiling float64) Rig {
	return Rig{Name: string(medium.KindDigital), Medium: medium.KindDigital, ReferenceDBFS: reference,
		ToleranceDB: 1, CeilingDBFS: ceiling, LampDBFS: ceiling - lampBelowCeiling}
}

func tapeRig(reference float64) Rig {
	lamp := reference + lampAboveReference
	return Rig{Name: string(medium.KindTape), Medium: medium.KindTape, ReferenceDBFS: reference,
		ToleranceDB: 1, CeilingDBFS: lamp, LampDBFS: lamp}
}

// Soft reports whether the ceiling is soft: on tape nothing clips, and what
// would be the ceiling is where the lamp lights.
func (r Rig) Soft() bool { return r.Medium == medium.KindTape }

// HeadroomDB is the room between the target and the ceiling, in dB. A source
// that under-reads by more than this is decided by its peaks.
func (r Rig) HeadroomDB() float64 { return r.CeilingDBFS - r.ReferenceDBFS - r.TargetVU }

// rigField is one setting of a rig as the text form names it.
type rigField struct {
	key      string
	name     said.Sentence
	unit     string
	min, max float64
	at       func(*Rig) *float64
}

// The settings in the order String prints them.
var rigFields = []rigField{
	{"reference", said.New("rig.reference", "reference"), "dBFS", -40, -6, func(r *Rig) *float64 { return &r.ReferenceDBFS }},
	{"target", said.New("rig.target", "target"), "VU", -20, 3, func(r *Rig) *float64 { return &r.TargetVU }},
	{"tolerance", said.New("rig.tolerance", "tolerance"), "dB", 0.1, 6, func(r *Rig) *float64 { return &r.ToleranceDB }},
	{"ceiling", said.New("rig.ceiling", "ceiling"), "dBFS", -30, -0.1, func(r *Rig) *float64 { return &r.CeilingDBFS }},
	{"lamp", said.New("rig.lamp", "lamp"), "dBFS", -40, -0.1, func(r *Rig) *float64 { return &r.LampDBFS }},
}

// Validate returns nil for a rig that can be worked, or one sentence that says
// which setting is wrong and what it may be.
func (r Rig) Validate() error {
	if r.Medium != medium.KindDigital && r.Medium != medium.KindTape {
		return fmt.Errorf("rig: there is no medium %q; use digital or tape", r.Medium)
	}
	for _, f := range rigFields {
		v := *f.at(&r)
		if math.IsNaN(v) || v < f.min || v > f.max {
			return said.Errorf("rig.range", "rig: %s %s %s is out of range; it may be %s to %s %s",
				f.name, number(v), f.unit, number(f.min), number(f.max), f.unit)
		}
	}
	if r.Soft() && r.CeilingDBFS != r.LampDBFS {
		return fmt.Errorf("rig: a tape rig has no ceiling of its own; leave it at the lamp, %s dBFS", number(r.LampDBFS))
	}
	if r.HeadroomDB() < 1 {
		what := said.New("rig.a_ceiling", "a ceiling of")
		if r.Soft() {
			what = said.New("rig.the_lamp", "the lamp at")
		}
		return said.Errorf("rig.no_room", "rig: %s %s dBFS leaves less than 1 dB of headroom above the target; raise it or lower the reference",
			what, number(r.CeilingDBFS))
	}
	if !r.Soft() && r.LampDBFS > r.CeilingDBFS {
		return said.Errorf("rig.lamp_above", "rig: the lamp at %s dBFS is above the ceiling of %s dBFS; set it at the ceiling or below",
			number(r.LampDBFS), number(r.CeilingDBFS))
	}
	return nil
}

// String is the text form: "digital" or "tape" for the standing rigs, and
// otherwise the settings that differ from them, as in
// "digital:reference=-20,ceiling=-6". The lamp follows 3 dB below a digital
// ceiling, and 6 dB above a tape's reference, unless it is given.
// ParseRig gives the same rig back.
func (r Rig) String() string {
	base := r.follow()
	var parts []string
	for _, f := range rigFields {
		if r.Soft() && f.key == "ceiling" {
			continue
		}
		if v := *f.at(&r); v != *f.at(&base) {
			parts = append(parts, f.key+"="+number(v))
		}
	}
	if len(parts) == 0 {
		return string(r.Medium)
	}
	return string(r.Medium) + ":" + strings.Join(parts, ",")
}

// follow returns the standing rig of r's medium with the lamp where it would
// follow r's own reference and ceiling.
func (r Rig) follow() Rig {
	if r.Soft() {
		base := TapeRig()
		base.LampDBFS = r.ReferenceDBFS + lampAboveReference
		return base
	}
	base := DigitalRig()
	base.LampDBFS = r.CeilingDBFS - lampBelowCeiling
	return base
}

// ParseRig reads the text form of a rig: digital or tape, then after a colon
// any of reference, target, tolerance, ceiling and lamp as name=value, separated
// by commas. The error is one sentence that names the wrong part.
func ParseRig(text string) (Rig, error) {
	kind, rest, listed := strings.Cut(strings.TrimSpace(text), ":")
	var r Rig
	switch medium.Kind(kind) {
	case medium.KindDigital:
		r = DigitalRig()
	case medium.KindTape:
		r = TapeRig()
	default:
		return Rig{}, fmt.Errorf("rig %q: it must begin with digital or tape, as in digital:reference=-20,ceiling=-3", text)
	}
	given := make(map[string]bool)
	if listed {
		for part := range strings.SplitSeq(rest, ",") {
			key, value, _ := strings.Cut(strings.TrimSpace(part), "=")
			if err := r.set(key, value, given); err != nil {
				return Rig{}, fmt.Errorf("rig %q: %w", text, err)
			}
		}
	}
	if !given["lamp"] {
		r.LampDBFS = r.follow().LampDBFS
	}
	if r.Soft() {
		r.CeilingDBFS = r.LampDBFS
	}
	if err := r.Validate(); err != nil {
		return Rig{}, err
	}
	return r, nil
}

func (r *Rig) set(key, value string, given map[string]bool) error {
	if r.Soft() && key == "ceiling" {
		return fmt.Errorf("a tape rig has no ceiling; set its lamp instead")
	}
	for _, f := range rigFields {
		if f.key != key {
			continue
		}
		if given[key] {
			return fmt.Errorf("%s is given twice", key)
		}
		given[key] = true
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s=%s is not a number", key, value)
		}
		*f.at(r) = v
		return nil
	}
	return fmt.Errorf("there is no setting %q; use reference, target, tolerance, ceiling or lamp", key)
}

// MarshalText gives the text form.
func (r Rig) MarshalText() ([]byte, error) {
	if err := r.Validate(); err != nil {
		return nil, err
	}
	return []byte(r.String()), nil
}

// UnmarshalText reads the text form.
func (r *Rig) UnmarshalText(text []byte) error {
	parsed, err := ParseRig(string(text))
	if err != nil {
		return err
	}
	*r = parsed
	return nil
}

// number prints a setting as short as it parses back.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
