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
	sounding := make([][]frame, len(places))
	ends := make([]float64, len(places))
	mix := make([]int, len(places)) // which of what went out came back
	signed := 0.0
	for i, p := range places {
		r := &m.Rounds[i]
		*r = unmeasured(p.found)
		if !p.found {
			continue
		}
		sound, err := s.Sound(i)
		if err != nil {
			return err
		}
		length := s.Rounds[i].Length()
		back, err := rec.span(starts[i]-reach, starts[i]+length+2*reach)
		if err != nil {
			return err
		}
		l := lay(sound, back[m.Side], rec.rate, p.byNeighbours)
		mix[i] = l.mix
		signed += l.signed
		r.StartS = (starts[i] - reach + l.delay) / m.Speed
		noise := quieter(gaps[i], gaps[i+1])
		if noise.known {
			r.NoiseDBFS = noise.dbfs
		}
		// The recording ends where the file does, and may begin within the round.
		ends[i] = min(length-s.Fade, (float64(rec.r.Frames())/rec.rate-starts[i]+reach-l.delay)/l.stretch)
		sounding[i] = frames(l.sent, l.back, noise.bands, s.Fade, ends[i])
		r.Confidence = l.confidence(sounding[i])
		r.DistortionPercent = s.distortion(l.sent, l.back, noise)
		y := back[m.Side]
		if first := max(0, int(l.delay*rec.rate)); first < len(y) {
			r.Strip = strip(y[first:min(len(y), first+int(length*rec.rate))], rec.rate*m.Speed, m.Speed, m.Tone.LevelDBFS)
		}
	}
	m.Turned = signed < 0
	eq := equaliser(sounding)
	for i := range m.Rounds {
		r := &m.Rounds[i]
		if !r.Found {
			continue
		}
		r.Confidence /= doubt(eq)
		if !r.level(sounding[i], eq, s.Fade, ends[i], toneLevel) {
			continue
		}
		from := r.StartS * m.Speed
		back, err := rec.span(from+r.Steady.Start, from+r.Steady.End)
		if err != nil {
			return err
		}
		r.read(back, rec.rate*m.Speed, m.Tone.LevelDBFS)
		sound, err := s.Sound(i)
		if err != nil {
			return err
		}
		r.clip(mixes(sound)[mix[i]], back[m.Side])
	}
	return nil
}

// unmeasured is a round of which nothing is known yet.
func unmeasured(found bool) Round {
	none := math.NaN()
	return Round{Found: found, StartS: none, ChangeDB: none, NeedleVU: none, PeakDBFS: none, NoiseDBFS: none, DistortionPercent: none, TrebleDB: none}
}

// level takes the level over time from the frames between two times, against that
// of the tone, and reports whether it held over its end.
func (r *Round) level(sounding []frame, eq powers, from, to, tone float64) (held bool) {
	r.Gain = gains(sounding, eq, from, to)
	for k := range r.Gain {
		r.Gain[k].DB -= tone
	}
	r.Steady, r.ChangeDB, held = steady(r.Gain)
	r.Moves = moves(r.Gain)
	r.TrebleDB = treble(sounding)
	return held
}

// clip counts the flat tops of the steady part, as it came back, that a round, as it
// was sent, does not have.
func (r *Round) clip(x, back []float32) {
	sent := flatTops(x[int(r.Steady.Start*audio.Rate):min(len(x), int(r.Steady.End*audio.Rate))])
	if got := flatTops(back); got > 2*sent+clippedLeast {
		r.Clipped = got - sent
	}
}

// read puts the meters over the steady part: of two channels the higher.
func (r *Round) read(back [][]float32, rate, reference float64) {
	r.NeedleVU, r.PeakDBFS = math.Inf(-1), math.Inf(-1)
	for _, x := range back {
		reader := meter.NewReader(int(math.Round(rate)))
		reader.Process(x)
		passage := reader.Passage()
		r.NeedleVU = max(r.NeedleVU, passage.Reading-reference)
		r.PeakDBFS = max(r.PeakDBFS, passage.SamplePeak)
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
	a := newAnalyser(rec.rate)
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
	sent := s.tone(int(tone.Length() * audio.Rate))
	got := resample(back[m.Side], rec.rate, 0, audio.Rate, passCut, len(sent))
	level, part, held := s.toneLevel(got, noise, s.Fade, tone.Length()-s.Fade)
	if !held {
		return 0, said.Errorf("return.unsteady", "the line-up tone does not hold its level for two seconds at its end; bring it to 0 VU, then leave the desk alone")
	}
	m.Tone = Tone{
		StartS:            tone.Start / m.Speed,
		LevelDBFS:         s.ToneDBFS + level,
		Hertz:             s.Hertz * m.Speed,
		DistortionPercent: s.distortion(sent, got[int(part.Start*audio.Rate):int(part.End*audio.Rate)], noise),
	}
	return level, nil
}

// tone returns n samples of the line-up tone as it was sent.
func (s Series) tone(n int) []float32 {
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(audio.Gain(s.ToneDBFS) * math.Sin(2*math.Pi*s.Hertz*float64(i)/audio.Rate))
	}
	return x
}

// toneLevel returns the level of the tone as it came back, at audio.Rate, against
// what was sent, between two times, and the part over which it held.
func (s Series) toneLevel(back []float32, noise gap, from, to float64) (level float64, part Span, held bool) {
	flat := powers{}
	for b := range flat {
		flat[b] = 1
	}
	part, level, held = steady(gains(frames(s.tone(len(back)), back, noise.bands, from, to), flat, from, to))
	return level, part, held
}

// passCut is up to where a return is compared, in hertz: beyond all bands.
const passCut = 12000.0

// distortion returns the second to fifth harmonic, in percent, of what came back
// of a sound that is a single tone, at audio.Rate; NaN of any other.
func (s Series) distortion(sent, back []float32, noise gap) float64 {
	a := newAnalyser(audio.Rate)
	fade := min(int(s.Fade*audio.Rate), len(sent)/3)
	spectrum, p, _ := a.mean(sent[fade:min(len(sent)-fade, fade+3*audio.Rate)])
	hertz := float64(floats.MaxIdx(spectrum)) * a.bin
	const most = passCut / 5.5
	if hertz < 4*a.bin || hertz > most || around(spectrum, a.bin, hertz, 3*a.bin) < 0.9999*p.sum() {
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

// clippedLeast is how many samples in flat tops say nothing yet: a few peaks that
// noise makes alike.
const clippedLeast = 20

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
