package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// The reasons of its verdicts.
var (
	codeRideIn   = reason("ride_in", "You kept the needle near {asked} VU for {share} % of the time there was sound.").headed("Well ridden: {share} % of the time in the window.")
	codeRideOut  = reason("ride_out", "You kept the needle near {asked} VU for only {share} % of the time there was sound; follow sooner.").headed("Only {share} % of the time in the window.")
	codeRideOver = reason("ride_over", "The peaks went {room} dB over the ceiling: when the level comes up, pull back first and look afterwards.").headed("Out of headroom.")
	// out, and too low on average
	codeRideLow = reason("ride_low", "You rode it {error} dB too low on average: the needle was near {asked} VU for only {share} % of the time there was sound.").headed("Only {share} % of the time in the window.")
	// out, and too hot on average
	codeRideHigh  = reason("ride_high", "You rode it {error} dB too hot on average: the needle was near {asked} VU for only {share} % of the time there was sound.").headed("Only {share} % of the time in the window.")
	codeRideStill = reason("ride_still", "You never moved the fader: the needle was near {asked} VU for {share} % of the time there was sound.").headed("{share} % of the time in the window.")
	// over the ceiling, and too hot on average
	codeRideOverHigh = reason("ride_over_high", "The peaks went {room} dB over the ceiling: you rode it {error} dB too hot on average.").headed("Out of headroom.")
	// over the ceiling, and never moved
	codeRideStillOver = reason("ride_still_over", "You never moved the fader, and the peaks went {room} dB over the ceiling.").headed("Out of headroom.")
)

// Figures of the riding drill.
const (
	rideSeconds  = 40.0 // how long it runs
	rideTake     = 46.0 // of the takes: whatever their tempo they do not end before
	rideLead     = 6.0  // before the level first moves, which is not judged
	rideReaction = 1.5  // after a jump, or when a part has begun, that are not judged, s
	partSeconds  = 0.5  // in which a part of a take goes over into the next
	rideRight    = 0.75 // share of the time in the window that counts as right
	rideQuiet    = 20.0 // peaks so far below the reading, in dB, count as silence: the scale ends there
	rideStep     = audio.Rate / 100
	leastRide    = 1.0 // narrowest tolerance, dB
)

// rideRule judges a fader over time.
type rideRule struct {
	at0   float64 // reading with fader and curve at 0 dB, VU
	aim   float64 // reading asked for, VU
	start float64 // gain ahead of the fader, dB
	curve []desk.GainPoint
	form  []desk.GainPoint // level of the take's parts against the first; none of a loop
	peaks []float64        // sample peak of each hundredth of a second of the sound, dBFS
	quiet float64          // peak in dBFS below which nothing sounds
}

// makeRide draws the sound's seed, rig (as NewRound does), start gain and the
// curve: one stretch after the other it is drawn whether the level jumps or
// glides, and to where. With the level of the ladder the curve goes from +-6
// to +-10 dB and its stretches from 8 s down to 3 s; each move is at least 2 dB
// more than the tolerance. A generated sound is a take, whose parts are ridden too; a
// recording goes round.
func makeRide(f *draft) error {
	f.settings.TakeSeconds = rideTake
	sound, v, err := f.sound()
	if err != nil {
		return err
	}
	form := f.form(sound, &v)
	e := f.ex
	tolerance := max(f.params.ToleranceDB, leastRide)
	e.Rig = drawRig(f.peaksWish(), v, tolerance, draw{peaks: f.rng.Float64(), tape: 1, rig: f.rng.Float64()})
	if f.settings.Rig != nil {
		e.Rig = *f.settings.Rig
	}
	e.Rig.ToleranceDB = tolerance
	right, _, _ := v.aim(e.Rig)
	asked := math.Floor(10*(v.reading+right-e.Rig.ReferenceDBFS)+1e-6) / 10 // VU, to the tenth that is shown
	right = asked + e.Rig.ReferenceDBFS - v.reading
	reach := max(min(3+0.4*float64(f.level), 10), tolerance+3)
	stretch := max(8-0.25*float64(f.level), 3)
	lowest := 0.0
	for _, p := range form {
		lowest = min(lowest, p.DB)
	}
	aim := f.between(-12, min(0, desk.FaderMax-reach+lowest)) // with the curve at 0; leaves room for its reach on both sides
	x := rideRule{
		at0:   asked - aim,
		aim:   asked,
		start: right - aim,
		curve: []desk.GainPoint{{At: 0, DB: 0}},
		form:  form,
		peaks: f.peaksOf(sound),
		quiet: v.reading - rideQuiet,
	}
	now := 0.0
	for at := rideLead; at < rideSeconds-1; at += stretch {
		to := f.between(-reach, reach)
		if least := tolerance + 2; math.Abs(to-now) < least { // too little to matter
			to = step(now - math.Copysign(least, now))
		}
		glide := min(stretch, rideSeconds-at)
		if f.rng.IntN(2) == 0 {
			glide = 0.02 // a jump, too short to click
		}
		x.curve = append(x.curve,
			desk.GainPoint{At: int64(at * audio.Rate), DB: now},
			desk.GainPoint{At: int64((at + glide) * audio.Rate), DB: to})
		now = to
	}
	e.Channels = []Channel{{Label: "A", Sound: sound, StartGainDB: right - aim, FaderDB: step(aim), Curve: x.curve, UnderReadDB: v.underOfPeak}}
	e.Seconds = rideSeconds
	e.View = View{}
	e.Task = said.New("task.ride", "Keep the needle near %s VU while the level moves, and the peaks below the ceiling.", brief(asked))
	if e.Rig.Soft() {
		e.Task = said.New("task.ride_tape", "Keep the needle near %s VU while the level moves.", brief(asked))
	}
	e.Solution = said.New("solution.ride", "Small early moves beat big late ones: follow a slow change as it goes, and pull back at once when the level jumps up.")
	e.rule = x
	return nil
}

// form reads a take part by part. The level becomes that of the first part, and its peak
// the highest there is with every part brought to the first one's reading. The corners
// that it returns are the readings of the parts against the first.
func (f *draft) form(s *source.Sound, v *level) (form []desk.GainPoint) {
	var first, now float64
	for i, from := range s.Parts {
		to := s.Len()
		if i+1 < len(s.Parts) {
			to = s.Parts[i+1]
		}
		reading, peak := math.Inf(-1), math.Inf(-1)
		for _, ch := range s.Channels {
			f.pause()
			p := meter.ReadLoopInSlices(ch[from:to], audio.Rate, f.settings.Pause)
			reading, peak = max(reading, p.Reading), max(peak, p.SamplePeak)
		}
		if i == 0 {
			first = reading
			v.reading, v.peak = first, peak
		}
		form = append(form, desk.GainPoint{At: int64(from), DB: now})
		now = step(reading - first)
		form = append(form, desk.GainPoint{At: int64(from + partSeconds*audio.Rate), DB: now})
		v.peak = max(v.peak, peak-now)
		v.underOfReading, v.underOfPeak = v.peak-first, v.peak-first
	}
	return form
}

// gainAt is the gain between the corners of a curve, in dB.
func gainAt(curve []desk.GainPoint, at int64) float64 {
	var last desk.GainPoint
	for i, p := range curve {
		if at < p.At && i > 0 {
			return last.DB + float64((p.DB-last.DB)*float64(at-last.At)/float64(p.At-last.At))
		}
		last = p
	}
	return last.DB
}

// moved returns by how much the level lies above where it began: by the curve, and by
// the part of the take that is played.
func (x rideRule) moved(at int64) float64 {
	return gainAt(x.curve, at) + gainAt(x.form, at)
}

// jumpedBefore reports whether the curve jumped, or a part began, within the time to
// react.
func (x rideRule) jumpedBefore(at int64) bool {
	jumped := func(curve []desk.GainPoint, longest int64) bool {
		for i := 1; i < len(curve); i++ {
			from, to := curve[i-1], curve[i]
			if from.DB != to.DB && to.At-from.At <= longest && at >= from.At && at-to.At < int64(rideReaction*audio.Rate) {
				return true
			}
		}
		return false
	}
	return jumped(x.curve, audio.Rate/10) || jumped(x.form, partSeconds*audio.Rate)
}

// peaksOf returns the sample peak of every hundredth of a second of a loop, of
// two channels the higher, in dBFS.
func (f *draft) peaksOf(s *source.Sound) []float64 {
	peaks := make([]float64, (s.Len()+rideStep-1)/rideStep)
	for i := range peaks {
		if i%500 == 0 {
			f.pause()
		}
		top := float32(0)
		for _, ch := range s.Channels {
			top = max(top, meter.Loudest(ch[i*rideStep:min((i+1)*rideStep, len(ch))]))
		}
		peaks[i] = audio.DB(float64(top))
	}
	return peaks
}

// verdict judges every hundredth of a second that sounds, from when the level
// first moves, but for the time to react after a jump. A fader that was locked
// early stays where it is. The points are the share of that time in which the
// reading was within the tolerance, halved with every 2 dB by which a sample that
// was played went over the ceiling. Right is three quarters of the time, no
// sample over, and the fader moved. On tape no headroom is lost: the ceiling is soft.
func (x rideRule) verdict(e *Exercise, t Take) (Verdict, error) {
	fader := e.Channels[0].FaderDB
	next, in, all := 0, 0, 0
	sum, top := 0.0, math.Inf(-1)
	for at := int64(0); at < rideSeconds*audio.Rate; at += rideStep {
		for next < len(t.Moves) && t.Moves[next].At <= at {
			fader = e.Controls[0].settle(t.Moves[next].To)
			next++
		}
		peak := x.peaks[at/rideStep%int64(len(x.peaks))]
		if at < rideLead*audio.Rate || peak < x.quiet || x.jumpedBefore(at) {
			continue
		}
		miss := x.at0 + x.moved(at) + fader - x.aim
		all++
		sum += miss
		if math.Abs(step(miss)) <= e.Rig.ToleranceDB {
			in++
		}
		top = max(top, peak+x.start+gainAt(x.curve, at)+fader)
	}
	if all == 0 { // of a recording that sounds at the wrong moments only
		top = x.quiet + x.start
	}
	over := top - e.Rig.CeilingDBFS
	v := Verdict{
		FaderDB: fader, AimVU: x.aim, UnderReadDB: e.Channels[0].UnderReadDB, HeadroomDB: -over,
		AimDB: step(x.aim - x.at0 - x.moved(rideSeconds*audio.Rate)),
	}
	if all > 0 {
		v.ErrorDB, v.Share = step(sum/float64(all)), float64(1000*in/all)/1000
	}
	v.ReadingVU = x.aim + v.ErrorDB
	lost := max(step(over), 0)
	if e.Rig.Soft() {
		lost = 0
	}
	v.InWindow = v.Share >= rideRight && lost == 0 && len(t.Moves) > 0
	v.Points = int(math.Round(v.Share * float64(Points(lost, false))))
	switch {
	case v.InWindow:
		v.Code = codeRideIn
	case lost > 0 && len(t.Moves) == 0:
		v.Code = codeRideStillOver
	case lost > 0 && v.Share < rideRight && v.ErrorDB > e.Rig.ToleranceDB:
		v.Code = codeRideOverHigh
	case lost > 0:
		v.Code = codeRideOver
	case len(t.Moves) == 0:
		v.Code = codeRideStill
	case v.ErrorDB > e.Rig.ToleranceDB:
		v.Code = codeRideHigh
	case v.ErrorDB < -e.Rig.ToleranceDB:
		v.Code = codeRideLow
	default:
		v.Code = codeRideOut
	}
	return v, nil
}

// show follows the level ten times a second.
func (x rideRule) show(e *Exercise) Take {
	t := Take{LockAt: rideSeconds * audio.Rate}
	last := e.Channels[0].FaderDB
	for at := int64(rideLead * audio.Rate); at < t.LockAt; at += audio.Rate / 10 {
		db := step(x.aim - x.at0 - x.moved(at+audio.Rate/20))
		if db != last {
			t.Moves = append(t.Moves, Move{At: at, To: db})
			last = db
		}
	}
	return t
}

// percent is a share as it is told: what is not yet three quarters is not told as 75 %.
func percent(share float64) float64 { return math.Floor(100*share + 1e-6) }

func (rideRule) figures(e *Exercise, v Verdict) []Figure {
	mean := errorFigure(v)
	mean.Tone = toned(math.Abs(v.ErrorDB) <= e.Rig.ToleranceDB)
	list := []Figure{mean, {Name: said.New("figure.share", "in the window"), Value: percent(v.Share), Unit: UnitPercent, Tone: toned(v.Share >= rideRight)}, askedFigure(v)}
	if !e.Rig.Soft() {
		list = append(list, headroomFigure(v))
	}
	return list
}
