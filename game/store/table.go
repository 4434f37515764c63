package store

import (
	"math"
	"slices"

	"slowneedle/assets"
	"slowneedle/audio/desk"
	"slowneedle/audio/input"
	"slowneedle/game/page"
	"slowneedle/game/words"
)

// Setting is one row of the table of settings: all that is known of it.
type Setting struct {
	Key   string                                    // of its name, "settings.KEY"
	MyRig bool                                      // of the learner's own rig
	Value func(s *Settings, w *words.Speech) string // as it is shown
	Step  func(s *Settings, by int)                 // nil: it follows from the others, or must be asked for
	// Ask finds out what there is to choose from, which may take seconds, and returns
	// the Step to take then; nil: nothing has to be found out.
	Ask  func() (step func(s *Settings, by int), err error)
	mend func(s *Settings) // brings it into its range; nil: it has none
}

// SettingsTable has a row for each setting on the settings screen, those of the
// learner's own rig last. A new setting is a field of settings and a row here.
var SettingsTable = []Setting{
	oneOf("theme", func(s *Settings) *string { return &s.Theme }, []string{ThemeSlate, ThemePaper}, func(w *words.Speech, v string) string { return w.Say("theme." + v) }),
	number("text", func(s *Settings) *float64 { return &s.TextPercent }, 100, 150, 25, percent),
	oneOf("language", func(s *Settings) *string { return &s.Language }, assets.Languages(), func(w *words.Speech, _ string) string { return w.Say("language.name") }),
	number("monitor", func(s *Settings) *float64 { return &s.MonitorDB }, desk.MonitorMin, desk.MonitorMax, 1, monitorDB),
	onOff("red_arc", func(s *Settings) *bool { return &s.RedArc }),
	onOff("less_flash", func(s *Settings) *bool { return &s.LessFlash }),
	onOff("hear_needle", func(s *Settings) *bool { return &s.HearNeedle }),
	onOff("less_motion", func(s *Settings) *bool { return &s.LessMotion }),
	oneOf("practice", func(s *Settings) *string { return &s.Length }, []string{LengthShort, LengthNormal, LengthLong}, func(w *words.Speech, v string) string { return w.Say("practice." + v) }),
	oneOf("feedback", func(s *Settings) *string { return &s.Feedback }, []string{FeedbackEvery, FeedbackThird, FeedbackEnd}, func(w *words.Speech, v string) string { return w.Say("feedback." + v) }),
	onOff("estimate", func(s *Settings) *bool { return &s.Estimate }),
	{Key: "input", Value: func(s *Settings, w *words.Speech) string { return s.InputLabel(w) }, Ask: askInputs},
	ofMyRig(number("reference", func(s *Settings) *float64 { return &s.MyRig.ReferenceDBFS }, -24, -9, 1, dbfs)),
	ofMyRig(number("target", func(s *Settings) *float64 { return &s.MyRig.TargetVU }, -6, 3, 0.5, vu)),
	ofMyRig(number("tolerance", func(s *Settings) *float64 { return &s.MyRig.ToleranceDB }, 0.5, 3, 0.5, plusMinusDB)),
	ofMyRig(number("ceiling", func(s *Settings) *float64 { return &s.MyRig.CeilingDBFS }, -12, -1, 1, dbfs)),
	ofMyRig(number("lamp", func(s *Settings) *float64 { return &s.MyRig.LampDBFS }, -20, -1, 1, dbfs)),
	ofMyRig(Setting{Key: "headroom", Value: func(s *Settings, w *words.Speech) string {
		return w.Say("unit.db", w.ShortSigned(s.MyRig.HeadroomDB()))
	}}),
}

// InputLabel names the line input.
func (s *Settings) InputLabel(w *words.Speech) string {
	switch {
	case s.Input == "":
		return w.Say("settings.input_none")
	case page.Browser:
		return w.Say("settings.input_browser")
	}
	return s.InputName
}

// Fixed reports whether a setting cannot be changed: it follows from the others.
func (s Setting) Fixed() bool { return s.Step == nil && s.Ask == nil }

// askInputs lists the line inputs; a step goes to another of them, or to none. Where the
// system lists none, there is none.
func askInputs() (step func(s *Settings, by int), err error) {
	devices, err := input.Devices()
	all := append([]input.Device{{}}, devices...)
	return func(s *Settings, by int) {
		now := slices.IndexFunc(all, func(d input.Device) bool { return d.ID == s.Input })
		next := Cycle(all, all[max(0, now)], by)
		s.Input, s.InputName = next.ID, next.Name
	}, err
}

// How the numbers of the table are written.
func percent(w *words.Speech, v float64) string     { return w.Say("unit.percent", w.Number(v, 0)) }
func monitorDB(w *words.Speech, v float64) string   { return w.Say("unit.db", w.Short(v)) }
func dbfs(w *words.Speech, v float64) string        { return w.Say("unit.dbfs", w.Short(v)) }
func vu(w *words.Speech, v float64) string          { return w.Say("unit.vu", w.ShortSigned(v)) }
func plusMinusDB(w *words.Speech, v float64) string { return "± " + w.Say("unit.db", w.Short(v)) }

// number is a setting from lo to hi, changed by steps; what is outside falls
// back to its default.
func number(key string, at func(*Settings) *float64, lo, hi, size float64, show func(*words.Speech, float64) string) Setting {
	return Setting{
		Key:   key,
		Value: func(s *Settings, w *words.Speech) string { return show(w, *at(s)) },
		Step: func(s *Settings, by int) {
			v := at(s)
			*v = math.Max(lo, math.Min(hi, math.Round((*v+float64(by)*size)*10)/10))
		},
		mend: func(s *Settings) {
			if v := at(s); !(*v >= lo && *v <= hi) {
				d := DefaultSettings()
				*v = *at(&d)
			}
		},
	}
}

// onOff is a setting that is on or off.
func onOff(key string, at func(*Settings) *bool) Setting {
	return Setting{
		Key: key,
		Value: func(s *Settings, w *words.Speech) string {
			if *at(s) {
				return w.Say("settings.on")
			}
			return w.Say("settings.off")
		},
		Step: func(s *Settings, _ int) { *at(s) = !*at(s) },
	}
}

// oneOf is a setting that has one of several values; past the last comes the
// first, which also stands for one that is unknown.
func oneOf(key string, at func(*Settings) *string, all []string, show func(*words.Speech, string) string) Setting {
	return Setting{
		Key:   key,
		Value: func(s *Settings, w *words.Speech) string { return show(w, *at(s)) },
		Step:  func(s *Settings, by int) { *at(s) = Cycle(all, *at(s), by) },
		mend: func(s *Settings) {
			if !slices.Contains(all, *at(s)) {
				d := DefaultSettings()
				*at(s) = *at(&d)
			}
		},
	}
}

// ofMyRig is a setting of the learner's own rig. A step that leaves a rig no
// round can be made in is not taken; the lamp gives way to the ceiling.
func ofMyRig(row Setting) Setting {
	row.MyRig = true
	if step := row.Step; step != nil {
		row.Step = func(s *Settings, by int) {
			before := s.MyRig
			step(s, by)
			s.MyRig.LampDBFS = math.Min(s.MyRig.LampDBFS, s.MyRig.CeilingDBFS)
			if s.MyRig.Validate() != nil {
				s.MyRig = before
			}
		}
	}
	return row
}

// Cycle is the value by steps behind one of a list; past the end it begins
// again. A value that is not in the list stands before the first.
func Cycle[T comparable](all []T, now T, by int) T {
	n := len(all)
	return all[((slices.Index(all, now)+by)%n+n)%n]
}
