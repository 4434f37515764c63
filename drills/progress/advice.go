package progress

import (
	"math"
	"time"

	"slowneedle/audio/source"
)

// Code names the sentence that gives the reason for an Advice; the interface
// has the words. The numbers it needs are beside it in Advice.
type Code string

// The reasons, with the sentence each stands for.
const (
	Begin   Code = "begin"   // "Begin with this one." The book is empty
	TooHot  Code = "hot"     // "On struck sources you stop 3 dB too hot."           DB
	TooCold Code = "cold"    // "On struck sources you stop 3 dB too cold."          DB
	Uneven  Code = "uneven"  // "On struck sources you scatter by 3 dB."             DB
	Rusty   Code = "rusty"   // "You have not set struck sources for 12 days."       Days
	Unknown Code = "unknown" // "Only 4 takes on struck sources yet."                Takes
	Missed  Code = "missed"  // "On this drill 55 % of your answers are right."      Share
	Onward  Code = "onward"  // "Level 7 on struck sources is next."                 Level
)

// Advice is what to practise next and why.
type Advice struct {
	Drill  string
	Family source.Family
	Level  int // of the ladder
	Code   Code
	DB     float64 // size of the bias or spread
	Days   int     // since the last take
	Takes  int     // so far
	Share  float64 // of right answers
	Need   float64 // what the rule weighed, dB
}

// Figures of the rule; see Next.
const (
	recentTakes  = 30
	unknownDB    = 2.0
	rustPerDay   = 0.1
	rustMost     = 2.0
	rustyDays    = 7
	tiredPerTake = 0.1
	tiredMost    = 2.0
	tiredWithin  = time.Hour
	clearBiasDB  = 0.5
	clearSpread  = 1.0
	missedDB     = 4.0
)

// Next says which of the choices to practise next. The first of the choices
// comes first when nothing is known. ok is false if there are no choices.
//
// The rule: each choice (a drill and a family) has a need in dB, and the
// greatest need wins; of equals the earlier choice. The need is
//
//	the rms error of the newest 30 takes (bias and spread together), or, in a
//	drill without an error in dB, 4 dB times the share of wrong answers,
//	or 2 dB while there are fewer than MinTakes takes,
//	plus 0.1 dB for every whole day since the last take, at most 2 dB,
//	less 0.1 dB for each of its takes in the last hour, at most 2 dB.
//
// So the weak come before the strong, what has long been left comes back, and
// nobody is sent to the same thing all evening. The reason given is the first
// that holds: too few takes; a bias of 0.5 dB or more whose interval excludes
// zero and that is at least half the spread (unless the days without practice
// weigh more than the error); seven days or more without practice, if they
// weigh more than half the error; a spread of 1 dB or more; in a drill without
// an error, the share of right answers; or else the next level.
func (b *Book) Next(choices []Key, now time.Time) (advice Advice, ok bool) {
	for _, k := range choices {
		k.Rig = ""
		a := b.weigh(k, now)
		if !ok || a.Need > advice.Need+1e-9 {
			advice, ok = a, true
		}
	}
	if ok && b.count == 0 {
		advice.Code = Begin
	}
	return advice, ok
}

// weigh gives the need of one choice and the reason for it.
func (b *Book) weigh(k Key, now time.Time) Advice {
	all := b.points(k, 0)
	s := b.Summary(k, recentTakes)
	a := Advice{Drill: k.Drill, Family: k.Family, Level: b.Ladder(k).Now(), Takes: len(all)}
	rust := 0.0
	if len(all) > 0 {
		a.Days = max(int(now.Sub(s.Last)/(24*time.Hour)), 0)
		rust = min(rustPerDay*float64(a.Days), rustMost)
	}
	tired := 0
	for i := len(all) - 1; i >= 0 && now.Sub(all[i].at()) < tiredWithin; i-- {
		tired++
	}
	weak := 0.0
	switch {
	case s.BiasDB.OK:
		weak = math.Hypot(s.BiasDB.Value, s.SpreadDB.Value)
	case s.InWindow.OK:
		weak = missedDB * (1 - s.InWindow.Value)
	default:
		weak = unknownDB
	}
	a.Need = weak + rust - min(tiredPerTake*float64(tired), tiredMost)
	a.Code, a.DB, a.Share = reason(s, a.Days, weak, rust)
	return a
}

func reason(s Summary, days int, weak, rust float64) (code Code, db, share float64) {
	bias, spread := s.BiasDB.Value, s.SpreadDB.Value
	share = s.InWindow.Value
	switch {
	case s.Takes < MinTakes:
		return Unknown, 0, share
	case days >= rustyDays && rust > weak:
		return Rusty, 0, share
	case s.BiasDB.Excludes(0) && math.Abs(bias) >= clearBiasDB && 2*math.Abs(bias) >= spread:
		if bias > 0 {
			return TooHot, bias, share
		}
		return TooCold, -bias, share
	case days >= rustyDays && 2*rust > weak:
		return Rusty, 0, share
	case s.SpreadDB.OK && spread >= clearSpread:
		return Uneven, spread, share
	case !s.BiasDB.OK && s.InWindow.OK:
		return Missed, 0, share
	}
	return Onward, 0, share
}
