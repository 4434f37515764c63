package returns

import (
	"math"

	"slowneedle/audio/wavfile"
)

// recording is what came back, read piece by piece. Its rate is in samples a
// second of what went out, once the speed is known.
type recording struct {
	r    *wavfile.Reader
	rate float64
	step func() // called while it is read
}

// span returns one or two channels from one time to another, in seconds. Beyond the
// ends there is silence.
func (rec *recording) span(from, to float64) ([][]float32, error) {
	first := int(math.Round(from * rec.rate))
	return rec.r.Span(int64(first), max(0, int(math.Round(to*rec.rate))-first), rec.step)
}

// hop is how far apart the spectra of a scan are, in seconds.
const hop = window / 2

// silent is the level in dB below which there is no signal.
const silent = -70.0

// scan is the spectrum of a recording over time.
type scan struct {
	channels [][]powers
	tone     []float64 // frequency of a tone near 1 kHz that outweighs all else, else 0
	loudest  float64   // of all spectra, dB
}

// scan reads the recording from end to end.
func (rec *recording) scan() (*scan, error) {
	a := newAnalyser(rec.rate, window)
	const frames = 64 // spectra for which is read at once
	step := hop * rec.rate
	sc := &scan{channels: make([][]powers, min(2, rec.r.Format().Channels)), loudest: math.Inf(-1)}
	for first := 0; ; first += frames {
		from := int(float64(first) * step)
		if from+a.n > int(rec.r.Frames()) {
			return sc, nil
		}
		x, err := rec.r.Span(int64(from), int(frames*step)+a.n+1, rec.step)
		if err != nil {
			return nil, err
		}
		for i := range frames {
			at := int(float64(first+i)*step) - from
			hertz, most := 0.0, audioFloor
			for ch := range x {
				p := a.look(x[ch], at)
				sc.channels[ch] = append(sc.channels[ch], p)
				if level := p.sum(); level > most {
					hertz, most = a.pureTone(level), level
				}
			}
			sc.tone = append(sc.tone, hertz)
			sc.loudest = max(sc.loudest, db(most))
		}
	}
}

// audioFloor is the power below which a spectrum is silence.
var audioFloor = math.Pow(10, silent/10)

// side returns the channel in which a stretch is louder, and whether the other
// lies 20 dB or more below.
func (sc *scan) side(s Span) (ch int, alone bool) {
	if len(sc.channels) == 1 {
		return 0, false
	}
	var level [2]float64
	for ch := range level {
		for i := int(s.Start / hop); i < int(s.End/hop) && i < len(sc.channels[ch]); i++ {
			level[ch] += sc.channels[ch][i].sum()
		}
	}
	if level[1] > level[0] {
		ch = 1
	}
	return ch, level[ch] > 100*level[1-ch]
}

// spectraOf returns the bands of a sound over time, as a scan has them.
func spectraOf(x []float32, rate float64) []powers {
	a := newAnalyser(rate, window)
	var all []powers
	for i := 0; ; i++ {
		at := int(float64(i) * hop * rate)
		if at+a.n > len(x) {
			return all
		}
		all = append(all, a.look(x, at))
	}
}
