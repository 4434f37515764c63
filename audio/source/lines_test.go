package source

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"

	"slowneedle/audio"
)

// unending is a band that never stops: its frequency, and its level below the whole's
// highest in dB. The zero line is none.
type unending struct{ hz, below float64 }

const (
	lineFrames = 16384
	lineHop    = audio.Rate / 10
	lineStay   = 50 // hops: 5 s
	lineLowest = 250.0
)

// bandOf is the band of 1/24 octave, from lineLowest on, in which a bin of a transform of
// lineFrames lies; -1 below.
var bandOf = func() (b [lineFrames/2 + 1]int) {
	for k := range b {
		b[k] = max(-1, int(math.Floor(24*math.Log2(float64(k)*audio.Rate/lineFrames/lineLowest))))
	}
	b[0] = -1
	return
}()

// unbroken looks for a band, up to 20 kHz, that stays within 3 dB for 5 s while the whole
// moves by 10 dB. Room tone is not a line: what lies no higher than 3 dB above roomAt does
// not count.
func unbroken(s *Sound, roomAt func(hz float64) float64) unending {
	for _, x := range s.Channels {
		if l := unbrokenIn(x, roomAt); l != (unending{}) {
			return l
		}
	}
	return unending{}
}

func unbrokenIn(x []float32, roomAt func(hz float64) float64) unending {
	const n, hop, stay = lineFrames, lineHop, lineStay
	fft := fourier.NewFFT(n)
	buf := make([]float64, n)
	var coef []complex128
	bands := int(24 * math.Log2(20000/lineLowest))
	rows := make([][]float64, (len(x)-n)/hop+1)
	// level is that of the bands at a hop, worked out when it is first asked for.
	level := func(at int) []float64 {
		if rows[at] != nil {
			return rows[at]
		}
		for i := range buf {
			buf[i] = float64(x[at*hop+i]) * hann[i]
		}
		coef = fft.Coefficients(coef, buf)
		row := make([]float64, bands)
		for k, c := range coef {
			// As the mean square of the signal: the window has a mean square of 3/8.
			if b := bandOf[k]; b >= 0 && b < bands {
				row[b] += (real(c)*real(c) + imag(c)*imag(c)) * 2 / (n * n * 0.375)
			}
		}
		for b := range row {
			row[b] = 10 * math.Log10(row[b]+1e-15)
		}
		rows[at] = row
		return row
	}
	var whole []float64
	for at := range rows {
		sum := 1e-12 // over the 0.1 s in the middle
		for _, v := range x[at*hop+(n-hop)/2 : at*hop+(n+hop)/2] {
			sum += float64(v) * float64(v) / hop
		}
		whole = append(whole, 10*math.Log10(sum))
	}
	for at := 0; at+stay <= len(rows); at++ {
		whole := whole[at : at+stay]
		if slices.Max(whole)-slices.Min(whole) < 10 {
			continue
		}
		for b := range bands {
			lo, hi := math.Inf(1), math.Inf(-1)
			// Twice a second first: few bands stay even there.
			for _, every := range []int{5, 1} {
				for i := (at + every - 1) / every * every; i < at+stay && hi-lo <= 3; i += every {
					v := level(i)[b]
					lo, hi = min(lo, v), max(hi, v)
				}
			}
			hz := lineLowest * math.Exp2((float64(b)+0.5)/24)
			if hi-lo <= 3 && hi > roomAt(hz)+3 {
				return unending{hz, slices.Max(whole) - hi}
			}
		}
	}
	return unending{}
}

var hann = func() (w [lineFrames]float64) {
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/lineFrames)
	}
	return
}()

// room is the highest level that room tone has in a band of 1/24 octave, in dB as RMS:
// for a sound from the microphone 55 dB below the peak in all, even up to 600 Hz and from
// there falling by 6 dB an octave.
func room(hz float64) float64 {
	const corner = 600.0
	share := hz * (math.Exp2(1.0/48) - math.Exp2(-1.0/48)) / (1 + hz*hz/(corner*corner)) / (corner * math.Pi / 2)
	return PeakDBFS - 55 + 10*math.Log10(share)
}

// No sound that moves has a line that never stops, as if a machine stood in the
// room.
func TestNoLines(t *testing.T) {
	for _, f := range Generated() {
		t.Run(string(f), func(t *testing.T) {
			t.Parallel()
			tell := func(seed int, kind string, l unending) {
				if l != (unending{}) {
					t.Errorf("seed %d, %s: a line at %.0f Hz, %.0f dB below the whole's highest level", seed, kind, l.hz, l.below)
				}
			}
			for seed, m := range survey(f)[:few] {
				tell(seed, m.full, m.line)
			}
			for seed := 3; seed < few; seed += 2 {
				r := Request{Family: f, Seed: uint64(seed), Reserved: seed%4 == 3}
				switch {
				case seed%8 == 5:
					r.Seconds = 40
				case !r.Reserved: // is in the survey
					continue
				}
				s, err := r.Generate()
				if err != nil {
					t.Fatal(err)
				}
				tell(seed, s.Kind, unbroken(s, room))
			}
		})
	}
}

// The test itself: it hears a line that lies 40 dB below bursts of a tone, none in the
// bursts and in room tone, and none where the whole stands still.
func TestLineIsHeard(t *testing.T) {
	for _, c := range []struct {
		name        string
		line, burst float64 // amplitude of the line, how far the tone falls between its bursts
		want        float64
	}{
		{"a line", PeakDBFS - 40, 0, 7000},
		{"none", -200, 0, 0},
		{"the whole stands still", PeakDBFS - 40, 0.5, 0},
	} {
		n := noise(7)
		x := make([]float32, 8*audio.Rate)
		for i := range x {
			at := float64(i) / audio.Rate
			tone := math.Sin(2 * math.Pi * 440 * at)
			if int(at*2)%2 == 1 {
				tone *= c.burst
			}
			x[i] = float32(audio.Gain(PeakDBFS)*tone+audio.Gain(c.line)*math.Sin(2*math.Pi*7000*at)) + 1e-5*float32(n.next())
		}
		if l := unbrokenIn(x, room); math.Abs(l.hz-c.want) > 250 {
			t.Errorf("%s: heard at %.0f Hz", c.name, l.hz)
		}
	}
}
