package source

import (
	"errors"
	"math"
	"math/rand/v2"
	"path"
	"slices"
	"strings"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/audio/wavfile"
)

// Limits of a learner's own recordings.
const (
	MinOwnRate    = 8000   // hertz
	MaxOwnRate    = 192000 // hertz
	MinOwnSeconds = 1
	MaxOwnSeconds = 30 * 60 // of a longer recording the beginning counts
)

const (
	seamSeconds = 0.05  // crossfade at the seam
	quietDBFS   = -60.0 // 50 ms whose RMS is below this are silence
	levelDC     = 0.001 // a magnitude that is no silence
)

// Place is where in a recording a passage is, in the recording's own frames.
type Place struct {
	At     int64 `json:"at"`
	Frames int64 `json:"frames"`
}

// FromRecording makes a loop from a passage of a learner's recording: Choose,
// then Cut. If pause is not nil, it is called between slices of the work.
func FromRecording(r *wavfile.Reader, name string, seed uint64, pause func()) (*Sound, error) {
	at, err := Choose(r, name, seed, pause)
	if err != nil {
		return nil, err
	}
	return Cut(r, name, at, pause)
}

// Choose finds a passage that has a reading. A recording of more than 16 s gives
// one of 10 to 16 s, chosen by the seed among those that are at least half sound; a
// shorter one, down to MinOwnSeconds, is taken whole. Of a recording only the first
// MaxOwnSeconds are looked at.
//
// Errors are one sentence that begins with the last element of name: the sample rate
// lies outside MinOwnRate to MaxOwnRate, the recording is too short, it holds nothing
// but silence, a constant level or numbers that are none, or reading failed.
func Choose(r *wavfile.Reader, name string, seed uint64, pause func()) (Place, error) {
	o, err := check(r, pause)
	if err != nil {
		return Place{}, named(name, err)
	}
	at, err := o.choose(rand.New(rand.NewPCG(seed, stream(Own))))
	if err != nil {
		return Place{}, named(name, o.why(err))
	}
	return at, nil
}

// Cut makes a loop of a passage.
//
// The loop is at audio.Rate, mono as mono, stereo as stereo; of more channels
// the first two are taken. At the seam the last 50 ms of the passage, at most a
// tenth of it, are crossfaded into its beginning with equal power (sine and
// cosine), so that the loop is that much shorter than the passage. A constant level
// (DC) is taken out, and the peak of the higher channel brought to PeakDBFS: how
// loud the recording was is not part of the round.
//
// Kind is the last element of name. Errors are those of Choose, or that the passage
// lies outside the recording.
func Cut(r *wavfile.Reader, name string, at Place, pause func()) (*Sound, error) {
	o, err := check(r, pause)
	if err != nil {
		return nil, named(name, err)
	}
	if at.At < 0 || at.Frames < MinOwnSeconds*o.rate || at.Frames > (MaxTake+1)*o.rate || at.At > r.Frames()-at.Frames {
		return nil, named(name, said.Errorf("own.place", "it has no passage from %.1f to %.1f s; take the recording that the passages were chosen from",
			float64(at.At)/float64(o.rate), float64(at.At+at.Frames)/float64(o.rate)))
	}
	channels, err := o.cut(at)
	if err != nil {
		return nil, named(name, o.why(err))
	}
	return &Sound{Family: Own, Kind: base(name), Channels: channels}, nil
}

// Recording is one of a learner's own.
type Recording struct {
	Name string
	Open func() (*wavfile.Reader, error)
}

// Passages returns what drills.Settings asks for: recordings take turns, and a seed
// chooses a passage. If pause is not nil, it is called between slices of the work.
func Passages(all []Recording, pause func()) func(turn int, seed uint64) (*Sound, error) {
	return func(turn int, seed uint64) (*Sound, error) {
		rec := all[turn%len(all)]
		r, err := rec.Open()
		if err != nil {
			return nil, err
		}
		defer r.Close()
		return FromRecording(r, rec.Name, seed, pause)
	}
}

func base(name string) string { return path.Base(strings.ReplaceAll(name, `\`, "/")) }

func named(name string, err error) error { return said.Errorf("named", "%s: %w", base(name), err) }

// own is a recording of the learner's own.
type own struct {
	*wavfile.Reader
	rate  int64
	pause func()
	level bool // something above levelDC has been read
}

// check makes sure that a recording can be used.
func check(r *wavfile.Reader, pause func()) (*own, error) {
	if pause == nil {
		pause = func() {}
	}
	o := &own{Reader: r, rate: int64(r.Format().SampleRate), pause: pause}
	if o.rate < MinOwnRate || o.rate > MaxOwnRate {
		return nil, said.Errorf("own.rate", "its sample rate is %d Hz; save it at %d to %d Hz", o.rate, MinOwnRate, MaxOwnRate)
	}
	if n := o.Frames(); n < MinOwnSeconds*o.rate {
		return nil, said.Errorf("own.short", "it lasts %.1f s; a round needs at least %d s", float64(n)/float64(o.rate), MinOwnSeconds)
	}
	return o, nil
}

var errSilent = said.Errorf("own.silent", "it holds nothing but silence; choose a recording with sound in it")

// why puts an error of reading into a sentence; what is no number was read as silence.
func (o *own) why(err error) error {
	switch {
	case !errors.Is(err, errSilent):
		return said.Errorf("own.reading", "a passage could not be read: %w", err)
	case o.level:
		return said.Errorf("own.constant", "it holds nothing but a constant level (DC); choose a recording with sound in it")
	case o.NotFinite() > 0:
		return said.Errorf("own.no_numbers", "its samples are not numbers; export it again")
	}
	return errSilent
}

// cut reads a passage and makes it a loop.
func (o *own) cut(at Place) ([][]float32, error) {
	in, err := o.around(at.At, at.Frames)
	if err != nil {
		return nil, err
	}
	whole := int(at.Frames * audio.Rate / o.rate)
	seam := min(frames(seamSeconds), whole/10)
	var top float32
	var channels [][]float32
	for _, x := range in {
		y := resample(x, int(o.rate), audio.Rate, whole, o.pause)
		sum := 0.0
		for _, v := range y {
			sum += float64(v)
		}
		// Ahead of the seam, where a constant on both sides would add up to more than itself.
		mean := float32(sum / float64(len(y)))
		for i := range y {
			y[i] -= mean
		}
		y = closeSeam(y, whole-seam, seam)
		for _, v := range y {
			top = max(top, v, -v)
		}
		channels = append(channels, y)
		o.pause()
	}
	if top < 1e-6 { // what rounding leaves of a constant level
		return nil, errSilent
	}
	g := float32(audio.Gain(PeakDBFS) / float64(top))
	for _, x := range channels {
		scale(x, g)
	}
	return channels, nil
}

// choose finds a passage.
func (o *own) choose(rng *rand.Rand) (Place, error) {
	total := min(o.Frames(), MaxOwnSeconds*o.rate)
	seam := frames(seamSeconds)
	if total*audio.Rate/o.rate <= 16*audio.Rate {
		s, err := o.soundIn(0, total)
		if err == nil && s == 0 {
			err = errSilent
		}
		return Place{0, total}, err
	}
	n := frames(10 + 6*rng.Float64())
	long := min(total, (int64(n+seam)*o.rate+audio.Rate-1)/audio.Rate)
	var best Place
	most := 0.0
	for range 8 {
		at := Place{rng.Int64N(total - long + 1), long}
		s, err := o.soundIn(at.At, long)
		if err != nil || s >= 0.5 {
			return at, err
		}
		if s > most {
			best, most = at, s
		}
	}
	if most > 0 {
		return best, nil
	}
	// Mostly silence: look through it in steps of half a second, from a place
	// drawn, for the first sound, and take what is around it.
	step := o.rate / 2
	count := (total + step - 1) / step
	off := rng.Int64N(count)
	for i := range count {
		at := (off + i) % count * step
		s, err := o.soundIn(at, min(step, total-at))
		if err != nil {
			return best, err
		}
		if s > 0 {
			return Place{max(0, min(at-o.rate, total-long)), long}, nil
		}
	}
	return best, errSilent
}

// soundIn returns which part of a passage is sound, 0 to 1.
func (o *own) soundIn(at, n int64) (float64, error) {
	from, to := max(0, at-o.side()), min(o.Frames(), at+n+o.side())
	in, err := o.read(from, to-from)
	if err != nil {
		return 0, err
	}
	return sounding(in, int(o.rate)), nil
}

// read reads n frames from a frame on, and notes whether there is a level in them.
func (o *own) read(from, n int64) ([][]float32, error) {
	in, err := o.Span(from, int(n), o.pause)
	for _, x := range in {
		o.level = o.level || slices.ContainsFunc(x, func(v float32) bool { return v > levelDC || v < -levelDC })
	}
	return in, err
}

// around reads frames at..at+n and as much on both sides as the resampler looks at.
func (o *own) around(at, n int64) ([][]float32, error) {
	side := o.side()
	return o.read(at-side, n+2*side)
}

// side is how many frames the resampler looks at on either side of a passage.
func (o *own) side() int64 { return int64(reach(int(o.rate), audio.Rate)) }

// sounding returns which part of channels is sound, 0 to 1. A constant level is none.
func sounding(channels [][]float32, rate int) float64 {
	win := rate / 20
	limit := sq(audio.Gain(quietDBFS))
	loud, all := 0, 0
	for at := 0; at+win <= len(channels[0]); at += win {
		all++
		for _, x := range channels {
			sum, squares := 0.0, 0.0
			for _, v := range x[at : at+win] {
				sum += float64(v)
				squares += float64(v) * float64(v)
			}
			if squares/float64(win)-sq(sum/float64(win)) > limit {
				loud++
				break
			}
		}
	}
	if all == 0 {
		return 0
	}
	return float64(loud) / float64(all)
}

// closeSeam makes a loop of n frames out of n+seam: what follows the loop's
// end fades out over its beginning.
func closeSeam(x []float32, n, seam int) []float32 {
	for i := range seam {
		s, c := math.Sincos((float64(i) + 0.5) / float64(seam) * math.Pi / 2)
		x[i] = float32(s*float64(x[i]) + c*float64(x[n+i]))
	}
	return x[:n:n]
}
