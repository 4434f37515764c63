package source

import (
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"path"
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
)

// FromRecording makes a loop from a passage of a learner's recording. A
// recording of more than 16 s gives a passage of 10 to 16 s, chosen by the seed
// among those that are at least half sound; a shorter one, down to
// MinOwnSeconds, is taken whole. Only the passage is read, of at most the first
// MaxOwnSeconds.
//
// The loop is at audio.Rate, mono as mono, stereo as stereo; of more channels
// the first two are taken. At the seam the 50 ms that follow the passage (of a
// whole recording: its last 50 ms, at most a tenth) are crossfaded into its
// beginning with equal power (sine and cosine), so that the loop is that much
// shorter than the recording. The peak of the higher channel is brought to
// PeakDBFS: how loud the recording was is not part of the round.
//
// Kind is the last element of name. Errors are one sentence that begins with
// it: the sample rate lies outside MinOwnRate to MaxOwnRate, the recording is
// too short, it holds nothing but silence, or reading failed.
func FromRecording(r *wavfile.Reader, name string, seed uint64) (*Sound, error) {
	base := path.Base(strings.ReplaceAll(name, `\`, "/"))
	fail := func(err error) (*Sound, error) { return nil, said.Errorf("named", "%s: %w", base, err) }
	rate := r.Format().SampleRate
	if rate < MinOwnRate || rate > MaxOwnRate {
		return fail(said.Errorf("own.rate", "its sample rate is %d Hz; save it at %d to %d Hz", rate, MinOwnRate, MaxOwnRate))
	}
	total := min(r.Frames(), int64(MaxOwnSeconds*rate))
	if total < int64(MinOwnSeconds*rate) {
		return fail(said.Errorf("own.short", "it lasts %.1f s; a round needs at least %d s", float64(total)/float64(rate), MinOwnSeconds))
	}
	rng := rand.New(rand.NewPCG(seed, stream(Own)))
	in, n, seam, err := choose(r, rng, total)
	switch {
	case errors.Is(err, errSilent):
		return fail(errSilent)
	case err != nil:
		return fail(said.Errorf("own.reading", "a passage could not be read: %w", err))
	}
	s := &Sound{Family: Own, Kind: base, Channels: make([][]float32, len(in.ch))}
	var top float32
	tops := make([]float32, len(in.ch))
	var todo []func()
	for c := range in.ch {
		todo = append(todo, func() {
			x := resample(in.ch[c], in.lead, rate, audio.Rate, n+seam)
			s.Channels[c] = closeSeam(x, n, seam)
			for _, v := range s.Channels[c] {
				tops[c] = max(tops[c], v, -v)
			}
		})
	}
	together(todo...)
	for _, t := range tops {
		top = max(top, t)
	}
	if top == 0 {
		return fail(errSilent)
	}
	g := float32(audio.Gain(PeakDBFS) / float64(top))
	for _, x := range s.Channels {
		scale(x, g)
	}
	return s, nil
}

var errSilent = said.Errorf("own.silent", "it holds nothing but silence; choose a recording with sound in it")

// passage is a part of a recording at its own rate, with what lies around it.
type passage struct {
	ch   [][]float32
	lead int // frames ahead of the passage's first
}

// choose finds a passage and returns it with the length of the loop and of the
// seam at audio.Rate.
func choose(r *wavfile.Reader, rng *rand.Rand, total int64) (in passage, n, seam int, err error) {
	rate := int64(r.Format().SampleRate)
	whole := int(total * audio.Rate / rate)
	seam = frames(seamSeconds)
	if whole <= 16*audio.Rate {
		seam = min(seam, whole/10)
		in, err = around(r, 0, total)
		if err == nil && sounding(in, int(rate)) == 0 {
			err = errSilent
		}
		return in, whole - seam, seam, err
	}
	n = frames(10 + 6*rng.Float64())
	long := min(total, (int64(n+seam)*rate+audio.Rate-1)/audio.Rate)
	var best passage
	most := 0.0
	for range 8 {
		in, err = around(r, rng.Int64N(total-long+1), long)
		if err != nil {
			return in, 0, 0, err
		}
		if s := sounding(in, int(rate)); s > most {
			best, most = in, s
		}
		if most >= 0.5 {
			return best, n, seam, nil
		}
	}
	// Mostly silence: look through it in steps of half a second, from a place
	// drawn, for the first sound, and take what is around it.
	if most == 0 {
		step := rate / 2
		count := (total + step - 1) / step
		off := rng.Int64N(count)
		for i := range count {
			at := (off + i) % count * step
			in, err = around(r, at, min(step, total-at))
			if err != nil {
				return in, 0, 0, err
			}
			if sounding(in, int(rate)) > 0 {
				best, err = around(r, max(0, min(at-rate, total-long)), long)
				return best, n, seam, err
			}
		}
		return in, 0, 0, errSilent
	}
	return best, n, seam, nil
}

// around reads frames at..at+n and as much on both sides as the resampler
// looks at, where the recording has it. Only the first two channels are kept.
func around(r *wavfile.Reader, at, n int64) (passage, error) {
	f := r.Format()
	side := int64(reach(f.SampleRate, audio.Rate))
	from := max(0, at-side)
	to := min(r.Frames(), at+n+side)
	p := passage{lead: int(at - from), ch: make([][]float32, min(2, f.Channels))}
	if err := r.SeekFrame(from); err != nil {
		return p, err
	}
	all := wavfile.NewBlock(f.Channels, int(to-from))
	got, err := r.Read(all)
	if err != nil && err != io.EOF {
		return p, err
	}
	for c := range p.ch {
		p.ch[c] = all[c][:got]
	}
	return p, nil
}

// sounding returns which part of a passage is sound, 0 to 1.
func sounding(p passage, rate int) float64 {
	win := rate / 20
	limit := sq(audio.Gain(quietDBFS))
	loud, all := 0, 0
	for at := 0; at+win <= len(p.ch[0]); at += win {
		all++
		for _, x := range p.ch {
			sum := 0.0
			for _, v := range x[at : at+win] {
				sum += float64(v) * float64(v)
			}
			if sum/float64(win) > limit {
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
