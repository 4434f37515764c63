package wavfile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"

	"slowneedle/audio/said"
)

// bufferBytes bounds what a Reader holds of its file at any moment.
const bufferBytes = 1 << 16

// A Reader streams the samples of one WAV or FLAC file. It is not safe for concurrent use.
type Reader struct {
	src    file
	closer io.Closer
	name   string // "" when read from a bare io.ReadSeeker

	layout    layout
	flac      *flacFrames // nil: a WAV file
	pos       int64       // next frame
	buf       []byte
	notFinite int64
}

// Open opens the WAV or FLAC file at path. The error is one sentence that names the file, what is wrong with it
// and what to do about it. Close the Reader when done.
func Open(path string) (*Reader, error) {
	// A pipe is told from its entry: opening one would wait for its writer.
	info, err := os.Stat(path)
	if err != nil {
		return nil, openError(path, err)
	}
	switch {
	case info.IsDir():
		return nil, fmt.Errorf("%s: this is a folder; give the WAV or FLAC files in it", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: this is not a regular file; save the sound to a file first", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, openError(path, err)
	}
	r, err := newReader(f, path)
	if err != nil {
		f.Close()
		return nil, err
	}
	return r, nil
}

// fault is a sentence for people around an error for programs.
type fault struct {
	text string
	err  error
}

func (f fault) Error() string { return f.text }
func (f fault) Unwrap() error { return f.err }

func openError(path string, err error) error {
	return pathError(path, err, "there is no such file; check the name", "you may not read this file; check its permissions",
		"the file cannot be opened")
}

// pathError puts a sentence to an error of the system: one for what is missing, one for what is not allowed, the
// beginning of one for anything else.
func pathError(path string, err error, missing, forbidden, other string) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return fault{path + ": " + missing, fs.ErrNotExist}
	case errors.Is(err, fs.ErrPermission):
		return fault{path + ": " + forbidden, fs.ErrPermission}
	}
	var perr *fs.PathError
	if errors.As(err, &perr) {
		err = perr.Err
	}
	return fmt.Errorf("%s: %s: %w", path, other, err)
}

// NewReader reads a WAV or FLAC file from r, from r's beginning, whatever its present position. The error is one
// sentence without a file name. The Reader keeps using r; closing the Reader closes r if it is an io.Closer.
func NewReader(r io.ReadSeeker) (*Reader, error) { return newReader(r, "") }

func newReader(src io.ReadSeeker, name string) (*Reader, error) {
	r := &Reader{name: name}
	r.closer, _ = src.(io.Closer)
	size, err := src.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, r.wrap(headError(err))
	}
	r.src = file{src, size}
	if magic, _ := r.src.head(0, len(flacMagic)); string(magic) == flacMagic {
		r.layout, r.flac, err = newFLAC(&r.src)
	} else {
		r.layout, err = readLayout(&r.src)
	}
	if err != nil {
		return nil, r.wrap(err)
	}
	return r, nil
}

func (r *Reader) wrap(err error) error {
	if r.name == "" {
		return err
	}
	return fmt.Errorf("%s: %w", r.name, err)
}

// Format returns how the file's samples are stored.
func (r *Reader) Format() Format { return r.layout.format }

// Frames returns the length of the file in frames. If the header lies, it is what is really there.
func (r *Reader) Frames() int64 { return r.layout.frames }

// ClipLevel returns the magnitude at or above which a sample counts as clipped: the largest positive
// code of integer PCM, 1 for float.
func (r *Reader) ClipLevel() float32 {
	if r.layout.format.Float {
		return 1
	}
	return float32(1 - 1/float64(uint64(1)<<(r.layout.format.Bits-1)))
}

// Warnings returns a sentence for each fault of the file that reading has overlooked so far: a file
// shorter than its header says (known from the start), float samples that are no numbers (counted as
// they are read). It returns nil for a sound file.
func (r *Reader) Warnings() []said.Sentence {
	var w []said.Sentence
	if r.layout.short {
		w = append(w, said.New("wav.shorter", "the file is shorter than its header says; only what is there was read"))
	}
	if r.notFinite > 0 {
		w = append(w, said.New("wav.not_finite", "%d samples are not numbers or are infinite; they were read as silence", r.notFinite))
	}
	return w
}

// NotFinite returns how many float samples that are no numbers have been read so far, as silence.
func (r *Reader) NotFinite() int64 { return r.notFinite }

// Read fills the slices of dst, one a channel, with the next frames, as many as the shortest slice holds.
// It returns
//
//	n > 0, nil      n frames were read; fewer than asked for only at the end of the file
//	0, io.EOF       no frames are left
//	0, nil          dst has no room
//	n, another error  n frames are good, then the medium failed or shrank, or dst has the wrong number of channels
//
// Float samples that are not finite are read as 0; see [Reader.Warnings].
func (r *Reader) Read(dst [][]float32) (n int, err error) {
	l := &r.layout
	if len(dst) != l.format.Channels {
		return 0, r.wrap(fmt.Errorf("asked for %d channels, the file has %d", len(dst), l.format.Channels))
	}
	want := len(dst[0])
	for _, ch := range dst[1:] {
		want = min(want, len(ch))
	}
	if want == 0 {
		return 0, nil
	}
	if r.pos >= l.frames {
		return 0, io.EOF
	}
	want = int(min(int64(want), l.frames-r.pos))
	if r.flac != nil {
		n, err = r.flac.read(dst, r.pos, want)
		r.pos += int64(n)
		if err != nil {
			err = r.wrap(err)
		}
		return n, err
	}
	if r.buf == nil {
		r.buf = make([]byte, min(int64(max(bufferBytes/l.frameBytes, 1)), l.frames)*int64(l.frameBytes))
	}
	for n < want {
		part := min((want-n)*l.frameBytes, len(r.buf))
		got, err := r.src.ReadAt(r.buf[:part], l.dataStart+r.pos*int64(l.frameBytes))
		k := got / l.frameBytes
		r.notFinite += l.decode(dst, n, r.buf[:k*l.frameBytes])
		n += k
		r.pos += int64(k)
		if err != nil {
			return n, r.wrap(readError(err))
		}
	}
	return n, nil
}

// readError tells why samples that were there cannot be read.
func readError(err error) error {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return said.Errorf("wav.shrank", "the file became shorter while it was being read; try again")
	}
	return said.Errorf("wav.reading", "reading samples: %w", err)
}

// SeekFrame makes the next Read begin at the given frame, 0 to Frames.
func (r *Reader) SeekFrame(frame int64) error {
	if frame < 0 || frame > r.layout.frames {
		return r.wrap(fmt.Errorf("frame %d is outside the file's %d frames", frame, r.layout.frames))
	}
	r.pos = frame
	return nil
}

// Span returns n frames from a frame on, which need not be in the file, of the first two channels: silence where
// there is no file. It calls pause between slices of the work.
func (r *Reader) Span(from int64, n int, pause func()) ([][]float32, error) {
	const slice = 1 << 14 // frames
	x := NewBlock(min(2, r.layout.format.Channels), n)
	left := make([][]float32, r.layout.format.Channels) // where the next frames go
	others := make([]float32, min(n, slice))
	at, end := max(0, from), min(r.Frames(), from+int64(n))
	if at >= end {
		return x, nil
	}
	if err := r.SeekFrame(at); err != nil {
		return nil, err
	}
	for at < end {
		pause()
		to := min(end, at+slice)
		for c := range left {
			left[c] = others[:to-at]
			if c < len(x) {
				left[c] = x[c][at-from : to-from]
			}
		}
		if _, err := r.Read(left); err != nil {
			return nil, err
		}
		at = to
	}
	return x, nil
}

// Close closes the file, or what NewReader was given if that can be closed.
func (r *Reader) Close() error {
	if r.closer == nil {
		return nil
	}
	c := r.closer
	r.closer = nil
	return c.Close()
}
