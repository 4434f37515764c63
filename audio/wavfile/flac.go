package wavfile

import (
	"bufio"
	"errors"
	"fmt"
	"io"

	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"

	"slowneedle/audio/said"
)

// flacMagic is what a FLAC file begins with (RFC 9639, section 8).
const flacMagic = "fLaC"

// flacFrames are the samples of a FLAC file. Its frames are found by their sync code and
// their two checksums, not by a seek table, which many files do not have.
type flacFrames struct {
	src         io.ReadSeeker
	in          *bufio.Reader
	first, size int64 // offsets of the first frame, and of the end of the file
	largest     int64 // bytes a frame may have, at most
	block       int64 // samples of every frame but the last, where that is fixed
	channels    int
	scale       float32

	now *frame.Frame // decoded last
	at  int64        // its first sample
}

// newFLAC reads what is ahead of the samples of a FLAC file, and finds its last whole frame.
func newFLAC(src io.ReadSeeker) (l layout, f *flacFrames, err error) {
	defer func() {
		if recover() != nil { // the decoder, on what no encoder writes
			err = errFLAC
		}
	}()
	size, err := src.Seek(0, io.SeekEnd)
	if err == nil {
		_, err = src.Seek(0, io.SeekStart)
	}
	if err != nil {
		return l, nil, said.Errorf("wav.length", "the length of the file cannot be found: %w", err)
	}
	if _, err := src.Seek(int64(len(flacMagic)), io.SeekStart); err != nil {
		return l, nil, errFLAC
	}
	block, err := meta.Parse(src)
	if err != nil {
		return l, nil, errFLAC
	}
	info, ok := block.Body.(*meta.StreamInfo)
	if !ok || info.NChannels > MaxChannels || info.BitsPerSample == 0 {
		return l, nil, errFLAC
	}
	if rate := int(info.SampleRate); rate < MinRate || rate > MaxRate {
		return l, nil, said.Errorf("wav.rate_flac", "the file has a sample rate of %d Hz; %d to %d Hz are read: save it at 44100 or 48000 Hz", rate, MinRate, MaxRate)
	}
	f = &flacFrames{src: src, in: bufio.NewReaderSize(src, bufferBytes), size: size, largest: int64(info.FrameSizeMax),
		block: int64(info.BlockSizeMax), channels: int(info.NChannels), scale: 1 / float32(uint64(1)<<(info.BitsPerSample-1))}
	if f.first, err = f.start(); err != nil {
		return l, nil, err
	}
	if f.largest == 0 { // unknown: as large as if nothing were coded, and a header
		f.largest = f.block*int64(f.channels)*int64(info.BitsPerSample+1)/8 + 64
	}
	end, err := f.end()
	if err != nil {
		return l, nil, err
	}
	l.format = Format{SampleRate: int(info.SampleRate), Channels: f.channels, Bits: int(info.BitsPerSample)}
	l.frames, l.short = end, end < int64(info.NSamples)
	return l, f, nil
}

var errFLAC = said.Errorf("wav.bad_flac", "the FLAC file is damaged; export it again")

// start returns where the first frame begins: behind the metadata.
func (f *flacFrames) start() (int64, error) {
	if _, err := f.src.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	f.in.Reset(f.src)
	at := int64(len(flacMagic))
	for skip := at; ; {
		if _, err := f.in.Discard(int(skip)); err != nil {
			return 0, errFLAC
		}
		head, err := f.in.Peek(4)
		if err != nil {
			return 0, errFLAC
		}
		skip = 4 + int64(head[1])<<16 + int64(head[2])<<8 + int64(head[3])
		at += skip
		if head[0]&0x80 != 0 { // the last block of metadata
			return at, nil
		}
	}
}

// end returns the number of the sample behind the last whole frame.
func (f *flacFrames) end() (int64, error) {
	for back := 2 * f.largest; ; back *= 8 { // what is behind the last frame may be of any length
		from := max(f.first, f.size-back)
		if _, err := f.next(from); err == nil {
			end := f.at + int64(f.now.BlockSize)
			for f.decode() == nil {
				end = f.at + int64(f.now.BlockSize)
			}
			return end, nil
		}
		if from == f.first {
			return 0, said.Errorf("wav.no_flac_frames", "the FLAC file is cut off before its first samples; export it again")
		}
	}
}

// next decodes the first whole frame that begins at an offset or behind it, and returns where.
func (f *flacFrames) next(from int64) (int64, error) {
	if _, err := f.src.Seek(from, io.SeekStart); err != nil {
		return 0, err
	}
	f.in.Reset(f.src)
	for at := from; ; at++ {
		head, err := f.in.Peek(2)
		if err != nil {
			return 0, io.EOF
		}
		if head[0] == 0xFF && head[1]&0xFE == 0xF8 { // RFC 9639, section 9.1
			if f.decode() == nil {
				return at, nil
			}
			if _, err := f.src.Seek(at, io.SeekStart); err != nil {
				return 0, err
			}
			f.in.Reset(f.src)
		}
		if _, err := f.in.Discard(1); err != nil {
			return 0, io.EOF
		}
	}
}

// decode decodes the frame that the buffer stands at.
func (f *flacFrames) decode() (err error) {
	defer func() {
		if recover() != nil { // the decoder, on what no encoder writes
			err = errFLAC
		}
	}()
	now, err := frame.Parse(f.in)
	if err != nil {
		return err
	}
	if len(now.Subframes) != f.channels {
		return errFLAC
	}
	f.now, f.at = now, int64(now.Num)
	if now.HasFixedBlockSize {
		f.at *= f.block
	}
	return nil
}

// seek decodes the frame that a sample is in. It halves the file until the frame before that
// one is near.
func (f *flacFrames) seek(sample int64) error {
	lo, hi := f.first, f.size
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
	for f.at+int64(f.now.BlockSize) <= sample {
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
func (f *flacFrames) read(dst [][]float32, sample int64, n int) (got int, err error) {
	if f.now == nil || sample < f.at || sample > f.at+int64(f.now.BlockSize) {
		if err := f.seek(sample); err != nil {
			return 0, err
		}
	}
	for got < n {
		from := sample + int64(got) - f.at
		if from >= int64(f.now.BlockSize) {
			last := f.at + int64(f.now.BlockSize)
			switch err := f.decode(); {
			case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
				return got, said.Errorf("wav.shrank", "the file became shorter while it was being read; try again")
			case err == nil && f.at != last:
				return got, errFLAC
			case err != nil:
				return got, fmt.Errorf("%w at %d", errFLAC, last)
			}
			continue
		}
		k := min(n-got, int(f.now.BlockSize)-int(from))
		for c := range dst {
			out := dst[c][got : got+k]
			for i, v := range f.now.Subframes[c].Samples[from:][:k] {
				out[i] = float32(v) * f.scale
			}
		}
		got += k
	}
	return got, nil
}

// isFLAC reports whether a file begins as a FLAC file does.
func isFLAC(src io.ReadSeeker) bool {
	var head [len(flacMagic)]byte
	if _, err := src.Seek(0, io.SeekStart); err != nil {
		return false
	}
	_, err := io.ReadFull(src, head[:])
	return err == nil && string(head[:]) == flacMagic
}
