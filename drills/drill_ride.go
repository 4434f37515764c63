package drills

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
)

// Figures of the riding drill.
const (
	rideSeconds  = 40.0 // how long it runs
	rideLead     = 6.0  // before the level first moves, which is not judged
	rideReaction = 1.5  // after a jump that are not judged, s
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
	peaks []float64 // sample peak of each hundredth of a second of the loop, dBFS
	quiet float64   // peak in dBFS below which nothing sounds
}

// makeRide draws the sound's seed, rig (as NewRound does), start gain and the
// curve: one stretch after the other it is drawn whether the level jumps or
// glides, and to where. With the level of the ladder the curve goes from +-6
// to +-10 dB and its stretches from 8 s down to 3 s; each move is at least 2 dB
// more than the tolerance.
func makeRide(f *draft) (*Exercise, error) {
	sound, v, err := f.sound()
	if err != nil {
		return nil, err
	}
	e := f.ex
	e.ToleranceDB = max(f.params.ToleranceDB, leastRide)
	e.Rig = drawRig(f.peaksWish(), v, e.ToleranceDB, draw{peaks: f.rng.Float64(), tape: 1, rig: f.rng.Float64()})
	if f.settings.Rig != nil {
		e.Rig = *f.settings.Rig
	}
	e.Rig.ToleranceDB = e.ToleranceDB
	right, _, _ := v.aim(e.Rig)
	asked := math.Floor(10*(v.reading+right-e.Rig.ReferenceDBFS)+1e-6) / 10 // VU, to the tenth that is shown
	right = asked + e.Rig.ReferenceDBFS - v.reading
	reach := max(min(3+0.4*float64(f.level), 10), e.ToleranceDB+3)
	stretch := max(8-0.25*float64(f.level), 3)
	aim := f.between(-12, 0) // with the curve at 0; leaves room for its reach on both sides
	x := rideRule{
		at0:   asked - aim,
		aim:   asked,
		start: right - aim,
		curve: []desk.GainPoint{{At: 0, DB: 0}},
		peaks: peaksOf(sound),
		quiet: v.reading - rideQuiet,
	}
	now := 0.0
	for at := rideLead; at < rideSeconds-1; at += stretch {
		to := f.between(-reach, reach)
		if least := e.ToleranceDB + 2; math.Abs(to-now) < least { // too little to matter
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
	e.View = View{FixedLength: true}
	e.Task = said.New("task.ride", "Keep the needle near %s VU while the level moves, and the peaks below the ceiling.", brief(asked))
	if e.Rig.Soft() {
		e.Task = said.New("task.ride_tape", "Keep the needle near %s VU while the level moves.", brief(asked))
	}
	e.Solution = said.New("solution.ride", "Small early moves beat big late ones: follow a slow change as it goes, and pull back at once when the level jumps up.")
	e.rule = x
	return e, nil
}

// curveAt returns the curve's gain at a position.
func (x rideRule) curveAt(at int64) float64 {
	last := x.curve[0]
	for _, p := range x.curve[1:] {
		if at < p.At {
			return last.DB + float64((p.DB-last.DB)*float64(at-last.At)/float64(p.At-last.At))
		}
		last = p
	}
	return last.DB
}

// jumpedBefore reports whether the curve jumped within the time to react.
func (x rideRule) jumpedBefore(at int64) bool {
	for i, p := range x.curve[1:] {
		jump := p.At-x.curve[i].At < audio.Rate/10
		if jump && at >= x.curve[i].At && at-p.At < int64(rideReaction*audio.Rate) {
			return true
		}
	}
	return false
}

// peaksOf returns the sample peak of every hundredth of a second of a loop, of
// two channels the higher, in dBFS.
func peaksOf(s *source.Sound) []float64 {
	peaks := make([]float64, (s.Len()+rideStep-1)/rideStep)
	for i := range peaks {
		top := float32(0)
		for _, ch := range s.Channels {
			top = max(top, highest(ch[i*rideStep:min((i+1)*rideStep, len(ch))]))
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
		gain := x.curveAt(at) + fader
		miss := x.at0 + gain - x.aim
		all++
		sum += miss
		if math.Abs(step(miss)) <= e.ToleranceDB {
			in++
		}
		top = max(top, peak+x.start+gain)
	}
	over := top - e.Rig.CeilingDBFS
	v := Verdict{
		FaderDB: fader, AimVU: x.aim, UnderReadDB: e.Channels[0].UnderReadDB, HeadroomDB: -over,
		AimDB: step(x.aim - x.at0 - x.curveAt(rideSeconds*audio.Rate)),
	}
	if all > 0 {
		v.ErrorDB, v.Share = step(sum/float64(all)), float64(in)/float64(all)
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
		v.Code = CodeRideIn
	case lost > 0 && len(t.Moves) == 0:
		v.Code = CodeRideStillOver
	case lost > 0 && v.Share < rideRight && v.ErrorDB > e.ToleranceDB:
		v.Code = CodeRideOverHigh
	case lost > 0:
		v.Code = CodeRideOver
	case len(t.Moves) == 0:
		v.Code = CodeRideStill
	case v.ErrorDB > e.ToleranceDB:
		v.Code = CodeRideHigh
	case v.ErrorDB < -e.ToleranceDB:
		v.Code = CodeRideLow
	default:
		v.Code = CodeRideOut
	}
	return v, nil
}

// show follows the curve ten times a second.
func (x rideRule) show(e *Exercise) Take {
	t := Take{LockAt: rideSeconds * audio.Rate}
	last := e.Channels[0].FaderDB
	for at := int64(rideLead * audio.Rate); at < t.LockAt; at += audio.Rate / 10 {
		db := step(x.aim - x.at0 - x.curveAt(at+audio.Rate/20))
		if db != last {
			t.Moves = append(t.Moves, Move{At: at, To: db})
			last = db
		}
	}
	return t
}

func (rideRule) figures(e *Exercise, v Verdict) []Figure {
	mean := errorFigure(v)
	mean.Tone = toned(math.Abs(v.ErrorDB) <= e.ToleranceDB)
	list := []Figure{mean, {Name: said.New("figure.share", "in the window"), Value: 100 * v.Share, Unit: UnitPercent, Tone: toned(v.Share >= rideRight)}, askedFigure(v)}
	if !e.Rig.Soft() {
		list = append(list, headroomFigure(v))
	}
	return list
}
