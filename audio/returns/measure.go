package returns

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/said"
)

// gap is what a pause between two rounds holds.
type gap struct {
	known    bool
	bands    powers
	spectrum []float64
	bin      float64 // of the spectrum, hertz
	dbfs     float64 // of all frequencies, of a sine that is as strong
}

// quieter returns that of two gaps that holds less, or the one of which something is
// known.
func quieter(a, b gap) gap {
	if b.known && (!a.known || b.dbfs < a.dbfs) {
		return b
	}
	return a
}

// compared is what is kept of a round until all have been compared.
type compared struct {
	frames   []frame
	from, to float64 // seconds of the round between which its level is taken
	mix      int     // which of what went out came back
	signed   float64 // below 0 if it is turned in polarity
}

// measure fills in what is measured of tone and rounds, whose places are known.
// The recording's rate is already that of what was sent.
func (s Series) measure(rec *recording, m *Measured, tone Span, places []place) error {
	// From here on all times are those of what was sent.
	tone = Span{tone.Start * m.Speed, tone.End * m.Speed}
	starts := make([]float64, len(places)) // of the rounds, NaN if not found
	for i, p := range places {
		starts[i] = math.NaN()
		if p.found {
			starts[i] = p.start * m.Speed
		}
	}
	gaps, err := s.gaps(rec, m.Side, tone, starts)
	if err != nil {
		return err
	}
	toneLevel, err := s.measureTone(rec, m, tone, gaps[0])
	if err != nil {
		return err
	}
	all := make([]compared, len(places))
	sounding := make([][]frame, len(places))
	signed := 0.0
	for i, p := range places {
		m.Rounds[i] = unmeasured(p.found)
		if p.found {
			if all[i], err = s.compare(rec, m, i, starts[i], p.byNeighbours, quieter(gaps[i], gaps[i+1])); err != nil {
				return err
			}
		}
		sounding[i] = all[i].frames
		signed += all[i].signed
	}
	m.Turned = signed < 0
	eq := equaliser(sounding)
	for i := range m.Rounds {
		r := &m.Rounds[i]
		if !r.Found || !r.level(all[i], eq, toneLevel) {
			continue
		}
		from := r.StartS * m.Speed
		back, err := rec.span(from+r.Steady.Start, from+r.Steady.End)
		if err != nil {
			return err
		}
		sound, err := s.Sound(i)
		if err != nil {
			return err
		}
		r.read(back, m.Side, mixes(sound)[all[i].mix], rec.rate*m.Speed, m.Tone.LevelDBFS)
	}
	return nil
}

// compare finds out what can be told of one round alone, which begins about a time.
// A round that is held in level and pitch cannot be aligned.
func (s Series) compare(rec *recording, m *Measured, round int, start float64, held bool, noise gap) (compared, error) {
	sound, err := s.Sound(round)
	if err != nil {
		return compared{}, err
	}
	length := s.Rounds[round].Length()
	back, err := rec.span(start-reach, start+length+2*reach)
	if err != nil {
		return compared{}, err
	}
	r, y := &m.Rounds[round], back[m.Side]
	l := lay(sound, y, rec.rate, held)
	r.StartS = (start - reach + l.delay) / m.Speed
	// The recording ends where the file does, and may begin within the round.
	end := min(length-s.Fade, (float64(rec.r.Frames())/rec.rate-start+reach-l.delay)/l.stretch)
	if first := max(0, int(l.delay*rec.rate)); first < len(y) {
		r.Strip = strip(y[first:min(len(y), first+int(length*rec.rate))], rec.rate*m.Speed, m.Speed, m.Tone.LevelDBFS)
	}
	return r.compare(l, noise, s.Fade, end), nil
}

// compare takes what a round and what came back of it have in common between two
// times, the noise beside it taken off.
func (r *Round) compare(l laid, noise gap, from, to float64) compared {
	if noise.known {
		r.NoiseDBFS = noise.dbfs
	}
	all := frames(l.sent, l.back, noise.bands, from, to)
	r.Confidence = l.confidence(all)
	r.DistortionPercent = distortion(l.sent, l.back, noise, from)
	return compared{all, from, to, l.mix, l.signed}
}

// unmeasured is a round of which nothing is known yet.
func unmeasured(found bool) Round {
	none := math.NaN()
	return Round{Found: found, StartS: none, ChangeDB: none, NeedleVU: none, PeakDBFS: none, NoiseDBFS: none, DistortionPercent: none, TrebleDB: none}
}

// level takes the level over time, against that of the tone, and reports whether it
// held over its end.
func (r *Round) level(c compared, eq powers, tone float64) (held bool) {
	r.Confidence /= doubt(eq)
	r.Gain = gains(c.frames, eq, c.from, c.to)
	for k := range r.Gain {
		r.Gain[k].DB -= tone
	}
	r.Steady, r.ChangeDB, held = steady(r.Gain)
	r.Moves = moves(r.Gain)
	r.TrebleDB = treble(c.frames)
	return held
}

// read puts the meters over the steady part as it came back: of two channels the
// higher. In the one that was measured it counts the flat tops that the round, as it
// was sent, does not have.
func (r *Round) read(back [][]float32, side int, sent []float32, rate, reference float64) {
	r.NeedleVU, r.PeakDBFS = math.Inf(-1), math.Inf(-1)
	for _, x := range back {
		reader := meter.NewReader(int(math.Round(rate)))
		reader.Process(x)
		passage := reader.Passage()
		r.NeedleVU = max(r.NeedleVU, passage.Reading-reference)
		r.PeakDBFS = max(r.PeakDBFS, passage.SamplePeak)
	}
	const least = 20 // samples that say nothing yet: a few peaks that noise makes alike
	own := flatTops(sent[int(r.Steady.Start*audio.Rate):min(len(sent), int(r.Steady.End*audio.Rate))])
	if got := flatTops(back[side]); got > 2*own+least {
		r.Clipped = got - own
	}
}

// strip runs needle and peaks over a round as it came back, at a rate, that runs
// at a speed.
func strip(x []float32, rate, speed, reference float64) []StripPoint {
	const every = 0.1
	needle := meter.NewNeedle(int(math.Round(rate)))
	var points []StripPoint
	step := int(every * rate / speed)
	for at := 0; at+step <= len(x); at += step {
		part := x[at : at+step]
		needle.Process(part)
		most := peak(part)
		points = append(points, StripPoint{float64(len(points)+1) * every, needle.Level() - reference, audio.DB(float64(most)) - reference})
	}
	return points
}

// treble returns by how much 4 to 8 kHz came back higher than the octave
// around 1 kHz, in dB; NaN where too little was sent there to tell.
func treble(all []frame) float64 {
	const enough = 1e-4 // of all power: 40 dB below
	var diffs []float64
	for _, s := range all {
		var sent, back [2]float64
		for b := range s.sent {
			switch {
			case b >= bands-2:
				sent[1], back[1] = sent[1]+s.sent[b], back[1]+s.back[b]
			case b == toneBand:
				sent[0], back[0] = sent[0]+s.sent[b], back[0]+s.back[b]
			}
		}
		if least := enough * s.sent.sum(); sent[0] > least && sent[1] > least && back[0] > 0 && back[1] > 0 {
			diffs = append(diffs, db(back[1]/sent[1])-db(back[0]/sent[0]))
		}
	}
	if len(diffs) < 10 {
		return math.NaN()
	}
	return median(diffs)
}

// gaps measures the noise before the first round and after each: gap i lies
// before round i.
func (s Series) gaps(rec *recording, side int, tone Span, starts []float64) ([]gap, error) {
	const (
		margin = 0.3 // seconds kept from what sounds
		least  = 0.5
		most   = 4.0
	)
	gaps := make([]gap, len(starts)+1)
	a := newAnalyser(rec.rate, window)
	end := tone.End
	for i := range gaps {
		next := float64(rec.r.Frames()) / rec.rate
		if i < len(starts) {
			next = starts[i]
		}
		// Where it is not known what lies next to a gap, nothing is said of it.
		from, to := end+margin, min(next-margin, end+margin+most)
		if i < len(starts) {
			end = starts[i] + s.Rounds[i].Length()
		}
		if !(to-from >= least) {
			continue
		}
		x, err := rec.span(from, to)
		if err != nil {
			return nil, err
		}
		gaps[i] = noiseIn(x[side], a)
	}
	return gaps, nil
}

// noiseIn measures what a pause holds.
func noiseIn(x []float32, a *analyser) gap {
	g := gap{bin: a.bin}
	g.spectrum, g.bands, g.known = a.mean(x)
	sum := 0.0
	for _, v := range x {
		sum += float64(v) * float64(v)
	}
	g.dbfs = db(2 * sum / float64(len(x)))
	return g
}

// measureTone measures the line-up tone and returns its level against what was
// sent, in dB.
func (s Series) measureTone(rec *recording, m *Measured, tone Span, noise gap) (float64, error) {
	back, err := rec.span(tone.Start, tone.End)
	if err != nil {
		return 0, err
	}
	sent := toneOf(s.Hertz, s.ToneDBFS, int(tone.Length()*audio.Rate))
	got := resample(back[m.Side], rec.rate, 0, audio.Rate, passCut, len(sent))
	level, part, held := toneLevel(sent, got, noise, s.Fade, tone.Length()-s.Fade)
	if !held {
		return 0, said.Errorf("return.unsteady", "the line-up tone does not hold its level for two seconds at its end; bring it to 0 VU, then leave the desk alone")
	}
	m.Tone = Tone{
		StartS:            tone.Start / m.Speed,
		LevelDBFS:         s.ToneDBFS + level,
		Hertz:             s.Hertz * m.Speed,
		DistortionPercent: distortion(sent, got[int(part.Start*audio.Rate):int(part.End*audio.Rate)], noise, s.Fade),
	}
	return level, nil
}

// toneOf returns n samples of a line-up tone as it is sent.
func toneOf(hertz, dbfs float64, n int) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(audio.Gain(dbfs) * math.Sin(2*math.Pi*hertz*float64(i)/audio.Rate))
	}
	return x
}

// toneLevel returns the level of a tone as it came back, at audio.Rate, against
// what was sent, between two times, and the part over which it held.
func toneLevel(sent, back []float32, noise gap, from, to float64) (level float64, part Span, held bool) {
	flat := powers{}
	for b := range flat {
		flat[b] = 1
	}
	part, level, held = steady(gains(frames(sent, back, noise.bands, from, to), flat, from, to))
	return level, part, held
}

// passCut is up to where a return is compared, in hertz: beyond all bands.
const passCut = 12000.0

// distortion returns the second to fifth harmonic, in percent, of what came back
// of a sound that is a single tone, at audio.Rate, but for its fades in seconds; NaN of
// any other.
func distortion(sent, back []float32, noise gap, fade float64) float64 {
	a := newAnalyser(audio.Rate, fine)
	edge := min(int(fade*audio.Rate), len(sent)/3)
	spectrum, p, _ := a.mean(sent[edge:min(len(sent)-edge, edge+3*audio.Rate)])
	hertz := float64(floats.MaxIdx(spectrum)) * a.bin
	const most = passCut / 5.5
	if hertz < 12*a.bin || hertz > most || around(spectrum, a.bin, hertz, 3*a.bin) < 0.9999*p.sum() {
		return math.NaN()
	}
	got, _, ok := a.mean(back)
	if !ok {
		return math.NaN()
	}
	level := func(f float64) float64 {
		width := max(0.02*f, 3*a.bin)
		return max(0, around(got, a.bin, f, width)-around(noise.spectrum, noise.bin, f, width))
	}
	sum := 0.0
	for k := 2.0; k <= 5; k++ {
		sum += level(k * hertz)
	}
	return 100 * math.Sqrt(sum/level(hertz))
}

// peak returns the greatest magnitude.
func peak(x []float32) (most float32) {
	for _, v := range x {
		most = max(most, v, -v)
	}
	return most
}

// flatTops counts the samples that lie three or more in a row within 0.1 dB of
// the highest of all, on its side.
func flatTops(x []float32) int {
	most := peak(x)
	limit := most * 0.9886 // 0.1 dB
	if float64(most*most) < audioFloor {
		return 0
	}
	count, run := 0, 0
	last := float32(0)
	for _, v := range append(x[:len(x):len(x)], 0) {
		if (v >= limit || v <= -limit) && (run == 0 || (v > 0) == (last > 0)) {
			run++
			last = v
			continue
		}
		if run >= 3 {
			count += run
		}
		run = 0
	}
	return count
}

// clock writes seconds as minutes and seconds.
func clock(seconds float64) string {
	whole := int(seconds + 0.5)
	return fmt.Sprintf("%d:%02d", whole/60, whole%60)
}
