package drills

import (
	"encoding/json"
	"math"
	"slices"
	"strings"

	"slowneedle/audio"
	"slowneedle/audio/chain"
	"slowneedle/audio/desk"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts.
var (
	// the only fader was never moved
	codeStill = reason("still", "You never moved the fader: it stayed at {fader} dB and belongs at {right} dB.")
	// of several channels some were never moved
	codeUntouched = reason("untouched", "You never touched {untouched}.")
)

// Exercise is one round of a drill: sounds on a desk, something asked, and a
// rule that judges the answer.
//
// A screen shows Task before the sound starts, lines a desk up with Desk, shows
// the Controls that are not Fixed, shows or covers meters as View has it, asks
// Ask beside them if it asks anything, and locks without being told to after
// Seconds. The take goes to Judge; Figures has the numbers of its verdict, Parts
// the verdict fader by fader, and Solution tells in a sentence what would have
// been right. ShowMe is a take to demonstrate: play its moves as they are
// stamped. Whether the ladder counts the answer as right is Verdict.InWindow.
//
// After the lock of a chain, Levels has its level diagram.
type Exercise struct {
	Drill    Drill
	Seed     uint64
	Index    int
	Level    int
	Family   source.Family // whose ladder it counts on
	Rig      Rig
	Task     said.Sentence // what is asked, in one or two sentences
	Channels []Channel     // one for each channel of the desk
	Stages   []Stage       // of the chain that the only channel passes through; none in most drills
	// Controls are what a take moves: the faders of the channels, in their order, then
	// the stages.
	Controls []Control
	View     View
	Ask      Ask
	// After is a take that is played once the answer is locked, with the faders where
	// they stand, in place of the first channel's sound; nil if nothing is. What it does
	// is part of the verdict.
	After *source.Sound
	// Seconds is the time allowed, 0 for as long as it takes. Later moves do
	// not count.
	Seconds   float64
	DecidedBy Decider       // what set the aim, in drills that record a source
	Solution  said.Sentence // what was right and why, in one sentence

	rule
}

// rule is what a drill knows of its exercise.
type rule interface {
	// verdict judges a take that is valid and cut off at the time allowed.
	verdict(e *Exercise, t Take) (Verdict, error)
	// figures lists the numbers of a verdict that are the drill's own.
	figures(e *Exercise, v Verdict) []Figure
}

// Channel is one channel of an exercise.
type Channel struct {
	Label       string // "A", "left"
	Sound       *source.Sound
	StartGainDB float64
	FaderDB     float64          // where the fader stands at the start
	Fixed       bool             // the fader is not the learner's
	AimDB       float64          // without meaning if Fixed, or if the level moves
	WindowDB    [2]float64       // the same
	Curve       []desk.GainPoint // a level that moves, see desk.Channel

	// What the meters make of it at fader 0 dB, in drills that record a source.
	ReadingVU      float64
	SamplePeakDBFS float64
	UnderReadDB    float64 // sample peak over the reference, less the reading
}

// Stage is one stage of a chain. See package chain for its levels.
type Stage struct {
	Control          // of its gain
	From     int     // the control ahead of it: a channel's, or a stage's
	HiddenDB float64 // its gain where the setting is 0 dB: a mark that lies
	NoiseDBu float64 // that comes in at its input, over 20 kHz; -Inf for none
	ClipDBu  float64 // the highest peak at its output
}

// View is what of the desk is to be seen.
type View struct {
	NeedleSeconds float64 // the needle is covered after so many seconds; 0 never
	NeedleCovered bool    // from the start
	LampCovered   bool
	TargetCovered bool // neither target nor window are marked: they are to be worked out
	Stereo        bool // two needles, left and right
	PerChannel    bool // each channel has a needle of its own, desk.ChannelSnapshot
	Listen        bool // the learner chooses which channel is heard, Desk.SetListen
	OneAtATime    bool // the sum of the channels is never heard
	Needles       int  // draw so many needles from NeedleAt in place of the desk's
	Procedure     bool // the stages are set one after the other, and their sources not shown
}

// Ask is a question to be answered beside the faders.
type Ask struct {
	Text     string
	Choices  []string // the answer is Take.Choice, an index of these
	Number   bool     // the answer is Take.Number
	Unit     string   // of the number
	Min, Max float64  // it may be
	Step     float64  // in which a control should move it

	right Take // the answer
}

// Part is the verdict on one fader.
type Part struct {
	Label    string  `json:"label"`
	FaderDB  float64 `json:"fader_db"`
	AimDB    float64 `json:"aim_db"`
	ErrorDB  float64 `json:"error_db"` // to 0.1 dB, positive is hot
	InWindow bool    `json:"in_window"`
	Points   int     `json:"points"`
	TargetVU float64 `json:"-"` // what the needle of a step of a line-up is to read
}

// Desk returns the line-up that plays the exercise.
func (e *Exercise) Desk(monitorDB float64) desk.Config {
	c := desk.Config{
		LampDBFS:  e.Rig.LampDBFS,
		LampHold:  lampHold,
		Medium:    e.Rig.Medium,
		Reference: e.Rig.ReferenceDBFS,
		Seed:      e.Seed + uint64(e.Index),
		MonitorDB: monitorDB,
	}
	for _, s := range e.Channels {
		c.Channels = append(c.Channels, desk.Channel{
			Sound: s.Sound, StartGainDB: s.StartGainDB, FaderDB: s.FaderDB, GainCurve: s.Curve,
		})
	}
	for _, s := range e.Stages {
		c.Channels = append(c.Channels, desk.Channel{StartGainDB: s.HiddenDB, FaderDB: s.Start, Stage: &desk.Stage{
			From: s.From, Min: s.Min, Max: s.Max,
			NoiseDBFS: e.dBFS(s.NoiseDBu) + chain.White(audio.Rate),
			ClipDBFS:  e.dBFS(s.ClipDBu),
			LampDBFS:  e.dBFS(s.ClipDBu) - chainRoom,
		}})
	}
	return c
}

// TargetVU is where the needle is asked to be, in VU: the rig's target, in Ride
// it what that gives for the source.
func (e *Exercise) TargetVU() float64 {
	if x, ok := e.rule.(rideRule); ok {
		return x.aim
	}
	return e.Rig.TargetVU
}

// Bytes returns about how much memory the exercise holds.
func (e *Exercise) Bytes() int {
	n := 0
	for _, s := range e.Channels {
		n += 5 * s.Sound.Len() * len(s.Sound.Channels) // samples, and a quarter for what is known of them
	}
	if e.After != nil {
		n += 4 * e.After.Len() * len(e.After.Channels)
	}
	return n
}

// Judge gives the verdict on a take: a pure function of its arguments. Moves
// after the time allowed do not count. The error says in one sentence what is
// wrong with the take.
func (e *Exercise) Judge(t Take) (Verdict, error) {
	if err := e.validate(t); err != nil {
		return Verdict{}, err
	}
	t = e.cut(t)
	v, err := e.verdict(e, t)
	if err != nil {
		return Verdict{}, err
	}
	v.Seconds = float64(t.LockAt) / audio.Rate
	v.MoveCount = len(t.Moves)
	if len(e.Channels) > 0 && e.Channels[0].Curve == nil && len(e.Stages) == 0 && !v.InWindow {
		if v.Untouched = e.untouched(t); v.Untouched != "" && len(e.Channels) > 1 {
			v.Code = codeUntouched
		} else if v.Untouched != "" {
			v.Code = codeStill
		}
	}
	v.finish()
	return v, nil
}

// untouched lists the channels whose faders were never moved, as in "B, D".
func (e *Exercise) untouched(t Take) string {
	var list []string
	for i, c := range e.Controls {
		if !c.Fixed && !slices.ContainsFunc(t.Moves, func(m Move) bool { return m.Control == i }) {
			list = append(list, c.Label)
		}
	}
	return strings.Join(list, ", ")
}

// Parts judges the faders of a valid take one by one; those that are fixed are
// left out. It is empty where no aim stands on a fader.
func (e *Exercise) Parts(t Take) []Part {
	t = e.cut(t)
	if x, ok := e.rule.(alignRule); ok {
		return x.parts(e, t)
	}
	var parts []Part
	for i, s := range e.Channels {
		if s.Fixed || s.Curve != nil {
			continue
		}
		v := s.verdict(e.Setting(t, i))
		parts = append(parts, Part{Label: s.Label, FaderDB: v.FaderDB, AimDB: v.AimDB, ErrorDB: v.ErrorDB, InWindow: v.InWindow, Points: v.Points})
	}
	return parts
}

// verdict is what there is to say of a channel with its fader at a setting, whatever the
// drill.
func (s *Channel) verdict(fader float64) Verdict {
	out := outside(fader, s.WindowDB)
	return Verdict{
		FaderDB: fader, AimDB: s.AimDB, ErrorDB: step(fader - s.AimDB), InWindow: out == 0, Points: Points(out, false),
		UnderReadDB: s.UnderReadDB, ReadingVU: s.ReadingVU + fader, AimVU: s.ReadingVU + s.AimDB,
	}
}

// chosen is the verdict where one of several is to be chosen: the right one is worth 100
// points, another none.
func (e *Exercise) chosen(t Take, right, wrong Code) Verdict {
	v := Verdict{Chosen: e.Ask.Choices[*t.Choice], Part: e.Ask.Choices[*e.Ask.right.Choice], Code: wrong}
	if v.Chosen == v.Part {
		v.InWindow, v.Points, v.Code = true, 100, right
	}
	return v
}

// overall is the verdict on several faders: right if all are, as many points
// as they have on average, and the error of the one that is farthest from its
// window, or from its aim if all are inside.
func (e *Exercise) overall(t Take) Verdict {
	parts := e.Parts(t)
	v := Verdict{InWindow: true}
	sum, worst := 0, -1.0
	for _, p := range parts {
		sum += p.Points
		weight := math.Abs(p.ErrorDB)
		if !p.InWindow {
			v.InWindow = false
			weight += 100
		}
		if weight > worst {
			worst = weight
			v.FaderDB, v.AimDB, v.ErrorDB, v.Part = p.FaderDB, p.AimDB, p.ErrorDB, p.Label
		}
	}
	v.Points = int(math.Round(float64(sum) / float64(len(parts))))
	return v
}

// object is a JSON object.
type object = map[string]any

// MarshalJSON gives what the exercise is and what is right, levels to
// 0.001 dB; the sounds are not part of it. What the drill records stands beside the
// exercise, too.
func (e *Exercise) MarshalJSON() ([]byte, error) {
	j := object{
		"drill": e.Drill.ID, "seed": e.Seed, "index": e.Index, "level": e.Level, "family": e.Family, "rig": e.Rig,
		"reference_dbfs": e.Rig.ReferenceDBFS, "target_vu": e.Rig.TargetVU, "tolerance_db": e.Rig.ToleranceDB,
		"ceiling_dbfs": nil, "lamp_dbfs": e.Rig.LampDBFS, "task": e.Task.String(), "seconds_allowed": e.Seconds,
		"solution": e.Solution.String(),
	}
	if !e.Rig.Soft() {
		j["ceiling_dbfs"] = e.Rig.CeilingDBFS
	}
	if e.Ask.Text != "" {
		j["question"] = e.Ask.Text
	}
	if len(e.Ask.Choices) > 0 {
		j["choices"] = e.Ask.Choices
	}
	channels := []object{}
	for _, s := range e.Channels {
		c := object{"label": s.Label, "family": s.Sound.Family, "kind": s.Sound.Kind, "sound": s.Sound.State(), "start_gain_db": round3(s.StartGainDB)}
		if s.Fixed {
			c["fixed"] = true
		} else if s.Curve == nil {
			c["aim_db"], c["window_db"] = round3(s.AimDB), [2]float64{round3(s.WindowDB[0]), round3(s.WindowDB[1])}
		}
		channels = append(channels, c)
		if e.Drill.Records {
			for _, name := range []string{"kind", "sound", "start_gain_db", "aim_db", "window_db"} {
				j[name] = c[name]
			}
			j["reading_vu"], j["sample_peak_dbfs"], j["under_read_db"] = round3(s.ReadingVU), round3(s.SamplePeakDBFS), round3(s.UnderReadDB)
			j["decided_by"] = e.DecidedBy
		}
	}
	j["channels"] = channels
	var stages []object
	for _, s := range e.Stages {
		c := object{"label": s.Label, "aim_db": round3(s.Aim)}
		if s.Fixed {
			c["fixed"] = true
		}
		if s.HiddenDB != 0 {
			c["hidden_db"] = round3(s.HiddenDB)
		}
		for name, db := range map[string]float64{"noise_dbu": s.NoiseDBu, "clip_dbu": s.ClipDBu} {
			if !math.IsInf(db, 0) {
				c[name] = round3(db)
			}
		}
		stages = append(stages, c)
	}
	if stages != nil {
		j["stages"] = stages
	}
	return json.Marshal(j)
}
