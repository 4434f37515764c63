package wavfile

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"slowneedle/audio/said"
)

// flacMagic is what a FLAC file begins with (RFC 9639, section 8).
const flacMagic = "fLaC"

// flacFrames are the samples of a FLAC file. Its frames are found by their sync code and
// their two checksums, not by a seek table, which many files do not have.
type flacFrames struct {
	file     *file
	in       *bufio.Reader
	first    int64 // offset of the first frame
	largest  int64 // bytes a frame may have, at most
	block    int64 // samples of every frame but the last, where that is fixed
	channels int
	bits     int

	samples [][]int64 // of the frame decoded last, by channel; nil: none
	at, n   int64     // its first sample, and how many
}

// newFLAC reads what is ahead of the samples of a FLAC file, and finds its last whole frame.
func newFLAC(src *file) (l layout, f *flacFrames, err error) {
	f = &flacFrames{file: src, in: bufio.NewReaderSize(nil, bufferBytes), first: int64(len(flacMagic))}
	f.from(f.first)
	// Blocks of metadata, the first of them the stream's own (RFC 9639, sections 8.1 and 8.2).
	var total int64
	for last := false; !last; {
		b := bitReader{in: f.in}
		last = b.read(1) == 1
		kind, n := b.read(7), int64(b.read(24))
		rest := n
		if l.format.Channels == 0 {
			b.read(16)
			f.block, _, f.largest = int64(b.read(16)), b.read(24), int64(b.read(24))
			l.format = Format{SampleRate: int(b.read(20)), Channels: int(b.read(3)) + 1, Bits: int(b.read(5)) + 1}
			total = int64(b.read(36))
			if rest -= 18; kind != 0 || rest < 0 || b.err != nil || f.block < 16 || l.format.Bits < 4 {
				return l, nil, errFLAC
			}
		}
		if _, err := f.in.Discard(int(rest)); err != nil || b.err != nil {
			return l, nil, errFLAC
		}
		f.first += 4 + n
	}
	if rate := l.format.SampleRate; rate < MinRate || rate > MaxRate {
		return l, nil, said.Errorf("wav.rate_flac", "the file has a sample rate of %d Hz; %d to %d Hz are read: save it at 44100 or 48000 Hz", rate, MinRate, MaxRate)
	}
	f.channels, f.bits = l.format.Channels, l.format.Bits
	if f.largest == 0 { // unknown: as large as if nothing were coded, and a header
		f.largest = f.block*int64(f.channels)*int64(f.bits+1)/8 + 64
	}
	end, err := f.end()
	if err != nil {
		return l, nil, err
	}
	const leastFrame = 10 // bytes: header, one channel of one value, checksum
	if end > f.block*((f.file.size-f.first)/leastFrame) {
		return l, nil, errFLAC // more than so many bytes can hold
	}
	l.frames, l.short = end, end < total
	return l, f, nil
}

var errFLAC = said.Errorf("wav.bad_flac", "the FLAC file is damaged; export it again")

// end returns the number of the sample behind the last whole frame.
func (f *flacFrames) end() (int64, error) {
	for back := 2 * f.largest; ; back *= 8 { // what is behind the last frame may be of any length
		from := max(f.first, f.file.size-back)
		if _, err := f.next(from); err == nil {
			end := f.at + f.n
			for f.decode() == nil {
				end = f.at + f.n
			}
			return end, nil
		}
		if from == f.first {
			return 0, said.Errorf("wav.no_flac_frames", "the FLAC file is cut off before its first samples; export it again")
		}
	}
}

// from puts the buffer at an offset.
func (f *flacFrames) from(at int64) { f.in.Reset(io.NewSectionReader(f.file, at, f.file.size-at)) }

// next decodes the first whole frame that begins at an offset or behind it, and returns where.
func (f *flacFrames) next(from int64) (int64, error) {
	f.from(from)
	for at := from; ; at++ {
		head, err := f.in.Peek(2)
		if err != nil {
			return 0, io.EOF
		}
		if head[0] == 0xFF && head[1]&0xFE == 0xF8 { // RFC 9639, section 9.1
			if f.decode() == nil {
				return at, nil
			}
			f.from(at)
		}
		if _, err := f.in.Discard(1); err != nil {
			return 0, io.EOF
		}
	}
}

// seek decodes the frame that a sample is in. It halves the file until the frame before that
// one is near.
func (f *flacFrames) seek(sample int64) error {
	lo, hi := f.first, f.file.size
	for hi-lo > 4*f.largest {
		mid := lo + (hi-lo)/2
		at, err := f.next(mid)
		switch {
		case err != nil, at >= hi, f.at > sample:
			hi = mid
		default:
			lo = at
		}
	}
	if _, err := f.next(lo); err != nil {
		return errFLAC
	}
	for f.at+f.n <= sample {
		if err := f.decode(); err != nil {
			return err
		}
	}
	if f.at > sample {
		return errFLAC
	}
	return nil
}

// read fills the first n frames of dst with what follows a sample, and returns how many are good.
// After an error it looks for its place again.
func (f *flacFrames) read(dst [][]float32, sample int64, n int) (got int, err error) {
	defer func() {
		if err != nil {
			f.samples = nil
		}
	}()
	if f.samples == nil || sample < f.at || sample > f.at+f.n {
		if err := f.seek(sample); err != nil {
			return 0, err
		}
	}
	scale := 1 / float32(uint64(1)<<(f.bits-1))
	for got < n {
		from := sample + int64(got) - f.at
		if from >= f.n {
			last := f.at + f.n
			switch err := f.decode(); {
			case err == nil && f.at != last:
				return got, errFLAC
			case errors.Is(err, errFLAC):
				return got, fmt.Errorf("%w at %d", err, last)
			case err != nil:
				return got, readError(err)
			}
			continue
		}
		k := min(n-got, int(f.n)-int(from))
		for c := range dst {
			out := dst[c][got : got+k]
			for i, v := range f.samples[c][from:][:k] {
				out[i] = float32(v) * scale
			}
		}
		got += k
	}
	return got, nil
}
