package returns

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

// Reach is how far a round may lie off the place where it is expected, in seconds.
const Reach = reach

// Line is a line-up tone that comes back while it goes out; the rounds that follow
// are measured against it.
type Line struct {
	Tone  Tone
	Side  int // the channel in which it is louder
	level float64
	noise gap
}

// LineUp measures a tone of a frequency in hertz, sent at a level in dBFS, in the last
// seconds of what comes back, at audio.Rate. It reports whether nothing but the tone is
// there, and holds its level over all of them.
func LineUp(back [][]float32, hertz, dbfs float64) (*Line, bool) {
	l := &Line{}
	var power [2]float64
	for ch, x := range back {
		for _, v := range x {
			power[ch] += 2 * float64(v) * float64(v) / float64(len(x))
		}
		if power[ch] > power[l.Side] {
			l.Side = ch
		}
	}
	y := back[l.Side]
	if power[l.Side] < audioFloor {
		return nil, false
	}
	const often = 10 // a second that it is looked for other sound beside the tone
	a := newAnalyser(audio.Rate, window)
	for at := 0; at+a.n <= len(y); at += audio.Rate / often {
		p := a.look(y, at)
		if f := a.pureTone(p.sum()); math.Abs(f/hertz-1) > 0.01 {
			return nil, false
		}
	}
	sent := toneOf(hertz, dbfs, len(y))
	level, part, held := toneLevel(sent, y, gap{}, 0, float64(len(y))/audio.Rate)
	if !held || part.Start > 0.2 {
		return nil, false
	}
	l.level = level
	l.Tone = Tone{LevelDBFS: dbfs + level, Hertz: hertz, DistortionPercent: distortion(sent, y, gap{}, 0)}
	return l, true
}

// Quiet takes what comes back while nothing goes out as the noise.
func (l *Line) Quiet(back [][]float32) {
	l.noise = noiseIn(back[l.Side], newAnalyser(audio.Rate, window))
}

// Find returns at which frame of what comes back a short sound begins, and how much
// of the waveform is that sound, 0 to 1.
func (l *Line) Find(sent []float32, back [][]float32) (at int, alike float64) {
	r := l.correlation(sent, back)
	best := farthest(r, 0, len(r))
	return best, math.Abs(r[best])
}

// Shift is Find where it is known at which frame the sound should begin: there, unless
// the waveform is clearly more alike elsewhere, as after a gap in one of the streams.
func (l *Line) Shift(sent []float32, back [][]float32, expected int) (at int) {
	const clearly = 0.1
	r := l.correlation(sent, back)
	best := farthest(r, 0, len(r))
	if math.Abs(r[best]) < math.Abs(r[expected])+clearly {
		return expected
	}
	return best
}

func (l *Line) correlation(sent []float32, back [][]float32) []float64 {
	x, y := make([]float64, len(sent)), make([]float64, len(back[l.Side]))
	for i, v := range sent {
		x[i] = float64(v)
	}
	for i, v := range back[l.Side] {
		y[i] = float64(v)
	}
	return correlate(fourier.NewFFT(powerOfTwo(len(y))), x, y)
}

// Round measures a stretch of a round, both at audio.Rate. What came back begins
// Reach before the place where the stretch is expected, and ends 2·Reach after it.
func (l *Line) Round(sent, back [][]float32) Round {
	r := unmeasured(true)
	y := back[l.Side]
	at := lay(sent, y, audio.Rate, shapeOf(spectraOf(mixes(sent)[0], audio.Rate)).flat())
	x := at.sent
	r.StartS = at.delay - reach
	c := r.compare(at, l.noise, 0, float64(len(x))/audio.Rate)
	first := max(0, int(at.delay*audio.Rate))
	r.Strip = strip(y[first:min(len(y), first+len(x))], audio.Rate, 1, l.Tone.LevelDBFS)
	if r.level(c, equaliser([][]frame{c.frames}), l.level) {
		from, to := first+int(r.Steady.Start*audio.Rate), min(len(y), first+int(r.Steady.End*audio.Rate))
		part := make([][]float32, len(back))
		for ch := range back {
			part[ch] = back[ch][from:to]
		}
		r.read(part, l.Side, x, audio.Rate, l.Tone.LevelDBFS)
	}
	return r
}
