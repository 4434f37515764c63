package returns

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"

	"slowneedle/audio"
	"slowneedle/audio/said"
)

// place is where a round lies in the recording.
type place struct {
	found bool
	start float64 // seconds of the recording
	alike float64 // coefficient of correlation there, as best has it
	// byNeighbours means that it holds its level and pitch, so that the rounds
	// around it place it.
	byNeighbours bool
}

// How a round is found.
const (
	alikeEnough = 0.5 // coefficient of correlation: of the right place 0.8 and more, of a wrong one up to 0.4
	// Where it should be if nothing was cut or paused, and around there, it need
	// not be as much alike as elsewhere: music repeats.
	exact, near = 0.15, 3.0 // seconds off
	farBetter   = 0.1       // by how much a place must be more alike than a nearer one
)

// place finds the rounds in the channel in which the tone is louder. Those that
// cannot be told by their shape are placed by what is around them, if that
// agrees.
func (s Series) place(spectra []powers, tone Span, speed float64) ([]place, error) {
	c := newCorrelator(spectra)
	places := make([]place, len(s.Rounds))
	means := make([]powers, len(s.Rounds))
	// Where the series as a whole begins in the recording, as the last thing
	// found tells it.
	origin := (tone.Start+tone.End)/2 - (s.Tone.Start+s.Tone.End)/2/speed
	first := origin
	floor := -s.Tone.End // the recorder may have been late
	some := false        // round has a shape to be told by
	for i, span := range s.Rounds {
		sound, err := s.Sound(i)
		if err != nil {
			return nil, err
		}
		for mix, x := range mixes(sound) {
			s.Step()
			all := spectraOf(x, audio.Rate*speed)
			if mix == 0 {
				means[i] = meanOf(all)
			}
			shape := shapeOf(all)
			if shape.flat() {
				continue
			}
			some = true
			at, alike := c.best(shape, floor, origin+span.Start/speed)
			if alike >= alikeEnough && alike > places[i].alike {
				places[i] = place{found: true, start: at, alike: alike}
			}
		}
		if places[i].found {
			origin = places[i].start - span.Start/speed
			floor = places[i].start + span.Length()/speed - 1
		}
	}
	found := func(p place) bool { return p.found }
	if !some || slices.ContainsFunc(places, found) {
		s.neighbours(spectra, places, means, first, speed)
	}
	if !slices.ContainsFunc(places, found) {
		return nil, said.Errorf("return.other", "the tone is there, but none of the rounds is one of this series; take the answer sheet that belongs to it")
	}
	return places, nil
}

// neighbours places the rounds that have not been found where those before and
// after agree that they should be, if there is a sound like theirs.
func (s Series) neighbours(spectra []powers, places []place, means []powers, origin, speed float64) {
	const agree = 0.3 // seconds
	for i := range places {
		if places[i].found {
			if !places[i].byNeighbours {
				origin = places[i].start - s.Rounds[i].Start/speed
			}
			continue
		}
		after := origin
		for j := i + 1; j < len(places); j++ {
			if places[j].found {
				after = places[j].start - s.Rounds[j].Start/speed
				break
			}
		}
		if math.Abs(after-origin) > agree {
			continue
		}
		start := origin + s.Rounds[i].Start/speed
		if resembles(spectra, means[i], start, start+s.Rounds[i].Length()/speed) {
			places[i] = place{found: true, start: start, byNeighbours: true}
		}
	}
}

// mixes returns what may come back of a sound in one channel: both sides
// together, the left, the right; of one that is the same on both sides only
// that.
func mixes(sound [][]float32) [][]float32 {
	if len(sound) == 1 {
		return sound
	}
	mid := make([]float32, len(sound[0]))
	same := true
	for i, l := range sound[0] {
		r := sound[1][i]
		same = same && l == r
		mid[i] = (l + r) / 2
	}
	if same {
		return [][]float32{mid}
	}
	return [][]float32{mid, sound[0], sound[1]}
}

// meanOf returns the mean powers of spectra.
func meanOf(all []powers) (mean powers) {
	for _, p := range all {
		floats.AddScaled(mean[:], 1/float64(len(all)), p[:])
	}
	return mean
}

// resembles reports whether a stretch of the recording holds a sound whose bands
// stand to each other as those wanted.
func resembles(spectra []powers, want powers, from, to float64) bool {
	lo, hi := max(0, int(from/hop)), min(int(to/hop), len(spectra))
	if hi-lo < int((to-from)/hop/2) {
		return false
	}
	got := meanOf(spectra[lo:hi])
	like := 0.0
	for b := range got {
		like += math.Sqrt(got[b] * want[b])
	}
	return got.sum() > audioFloor && like > 0.9*math.Sqrt(got.sum()*want.sum())
}

// shape is how the bands of a sound move, in dB, the slow changes that a hand
// on a fader makes taken out. Bands that do not move are 0.
type shape [bands][]float64

// shapeOf returns the shape of spectra over time.
func shapeOf(all []powers) (sh shape) {
	const (
		depth = 40 // dB below the loudest that count
		slow  = 40 // spectra on either side that a mean is taken over: 0.85 s
		most  = 10 // dB: beginnings and ends are not all there is
	)
	loudest := 0.0
	for _, p := range all {
		for _, v := range p {
			loudest = max(loudest, v)
		}
	}
	for b := range sh {
		x := make([]float64, len(all))
		sums := make([]float64, len(all)+1)
		for i, p := range all {
			x[i] = db(max(p[b], loudest*math.Pow(10, -depth/10), audioFloor*1e-2))
			sums[i+1] = sums[i] + x[i]
		}
		sh[b] = make([]float64, len(x))
		for i := range x {
			lo, hi := max(0, i-slow), min(len(x), i+slow+1)
			sh[b][i] = min(max(x[i]-(sums[hi]-sums[lo])/float64(hi-lo), -most), most)
		}
	}
	return sh
}

// like returns how much of the movement of two shapes of one length is the same: their
// coefficient of correlation, 0 if one of them does not move.
func (sh shape) like(other shape) float64 {
	ab, aa, bb := 0.0, 0.0, 0.0
	for b := range sh {
		ab += floats.Dot(sh[b], other[b])
		aa += floats.Dot(sh[b], sh[b])
		bb += floats.Dot(other[b], other[b])
	}
	if aa == 0 || bb == 0 {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

// flat reports whether nothing moves by which the sound could be placed: the bands
// change by less than a decibel in the middle.
func (sh shape) flat() bool {
	most := 0.0
	for _, x := range sh {
		edge := min(94, len(x)/4) // spectra, up to 2 s
		inner := x[edge : len(x)-edge]
		most = max(most, floats.Dot(inner, inner)/float64(len(inner)))
	}
	return !(most >= 1)
}

// correlator compares shapes with a recording's, by fast convolution.
type correlator struct {
	n, size int
	fft     *fourier.FFT
	spectra [bands][]complex128
	energy  []float64 // summed from the start
}

func newCorrelator(spectra []powers) *correlator {
	c := &correlator{n: len(spectra), size: powerOfTwo(2 * len(spectra)), energy: make([]float64, len(spectra)+1)}
	c.fft = fourier.NewFFT(c.size)
	for b, x := range shapeOf(spectra) {
		c.spectra[b] = c.transform(x)
		for i, v := range x {
			c.energy[i+1] += v * v
		}
	}
	for i := range c.n {
		c.energy[i+1] += c.energy[i]
	}
	return c
}

func (c *correlator) transform(x []float64) []complex128 {
	buf := make([]float64, c.size)
	copy(buf, x)
	return c.fft.Coefficients(nil, buf)
}

// best returns where from a time on a shape is most alike to the recording, and
// how much: the coefficient of correlation, more or less by farBetter for where
// it is expected.
func (c *correlator) best(sh shape, from, expected float64) (at, alike float64) {
	own := 0.0
	product := make([]complex128, c.size/2+1)
	for b, x := range sh {
		own += floats.Dot(x, x)
		for i, v := range c.transform(x) {
			product[i] += c.spectra[b][i] * complex(real(v), -imag(v))
		}
	}
	r := c.fft.Sequence(nil, product)
	length := len(sh[0])
	for i := max(int(math.Floor(from/hop)), -length/2); i < c.n-length/2; i++ { // half of it at least
		e := c.energy[min(c.n, i+length)] - c.energy[max(0, i)]
		if e < own/20 { // too little is there to be told by
			continue
		}
		v := r[(i+c.size)%c.size] / float64(c.size) / math.Sqrt(e*own)
		here := float64(i) * hop
		switch off := math.Abs(here - expected); {
		case off > near:
			v -= farBetter
		case off < exact:
			v += farBetter
		}
		if v > alike {
			at, alike = here, v
		}
	}
	return at, alike
}

// lineUp returns the tone that the rounds were lined up on: the last before the
// first round that was found. A tone after that, if it is not one of the
// rounds, begins a second recording.
func (s Series) lineUp(tones []toneRun, places []place, speed float64) (Span, error) {
	last := tones[0].Span
	first := math.Inf(1)
	for _, p := range places {
		if p.found {
			first = min(first, p.start)
		}
	}
	for _, t := range tones[1:] {
		middle := (t.Start + t.End) / 2
		if middle < first {
			last = t.Span
			continue
		}
		isRound := false
		for i, p := range places {
			isRound = isRound || p.found && middle > p.start && middle < p.start+s.Rounds[i].Length()/speed
		}
		if !isRound {
			return Span{}, said.Errorf("return.two", "there are two recordings in it, one from %s and one from %s; cut it into two files",
				clock(tones[0].Start), clock(t.Start))
		}
	}
	return last, nil
}
