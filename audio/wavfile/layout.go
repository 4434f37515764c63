package wavfile

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"io"

	"slowneedle/audio/said"
)

// layout is what the chunks ahead of the samples say, brought down to what is really there.
type layout struct {
	format     Format
	container  int   // bytes of one sample
	frameBytes int   // bytes of one frame
	dataStart  int64 // offset of the first frame
	frames     int64
	short      bool // the header claims more than there is
}

// Format tags (Microsoft, Multiple Channel Audio Data and WAVE Files) and sizes.
const (
	tagPCM        = 0x0001
	tagFloat      = 0x0003
	tagExtensible = 0xFFFE

	chunkHead     = 8
	formTypeBytes = 4
	formatBytes   = 16 // the part of a format chunk that every file has
	extBytes      = 40 // an extensible format chunk
	ds64Bytes     = 28 // a ds64 chunk without its table

	unknownSize  = 0xFFFFFFFF // of a chunk whose size stands in ds64, or was never filled in
	largestDared = 0x7FFF0000 // streaming writers claim about 2 GiB when they avoid unknownSize
	maxChunks    = 10000      // chunks walked before the samples must have come
)

// subFormatTail is what follows the tag in the sub-format of an extensible file.
var subFormatTail = []byte{0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xAA, 0x00, 0x38, 0x9B, 0x71}

var foreign = []struct {
	magic string
	name  said.Sentence
}{
	{"RIFX", said.New("wav.big_endian", "a big-endian WAV file")},
	{"FORM", said.New("wav.aiff", "an AIFF file")},
	{"OggS", said.New("wav.ogg", "an Ogg file")},
	{"ID3", said.New("wav.mp3", "an MP3 file")},
	{"\xFF\xFB", said.New("wav.mp3", "an MP3 file")},
	{"caff", said.New("wav.caf", "a CAF file")},
	{"riff", said.New("wav.wave64", "a Wave64 file")},
}

// file is what a Reader reads from, at any place.
type file struct {
	src  io.ReadSeeker
	size int64 // bytes
}

// ReadAt is that of an [io.ReaderAt], for one goroutine.
func (f *file) ReadAt(b []byte, at int64) (int, error) {
	if _, err := f.src.Seek(at, io.SeekStart); err != nil {
		return 0, err
	}
	return io.ReadFull(f.src, b)
}

// head reads n bytes ahead of the samples, which must be there.
func (f *file) head(at int64, n int) ([]byte, error) {
	b := make([]byte, n)
	if _, err := f.ReadAt(b, at); err != nil {
		return nil, headError(err)
	}
	return b, nil
}

func headError(err error) error { return said.Errorf("wav.header", "reading the header: %w", err) }

// readLayout walks the chunks up to the samples. It reads only bytes that are known to be there, whatever a
// chunk claims.
func readLayout(f *file) (l layout, err error) {
	s, err := f.form()
	if err != nil {
		return l, err
	}
	at := int64(chunkHead + formTypeBytes)
	for range maxChunks {
		if f.size-at < chunkHead {
			if l.frameBytes == 0 {
				return l, said.Errorf("wav.no_format", "the file ends before its format chunk; it is cut short: record or export it again")
			}
			return l, said.Errorf("wav.no_samples", "the file ends before its samples; it is cut short: record or export it again")
		}
		head, err := f.head(at, chunkHead)
		if err != nil {
			return l, err
		}
		id, size := string(head[:4]), binary.LittleEndian.Uint32(head[4:])
		at += chunkHead
		left := f.size - at
		switch {
		case id == "data" && l.frameBytes == 0:
			return l, said.Errorf("wav.order", "the samples come before the format chunk; export the file again as PCM WAV")
		case id == "data":
			claimed := s.samples(size, uint64(left))
			l.dataStart, l.short = at, claimed > uint64(left)
			l.frames = int64(min(claimed, uint64(left))) / int64(l.frameBytes)
			return l, nil
		case int64(size) > left:
			return l, said.Errorf("wav.cut_short", "the chunk %q says it has %d bytes, but only %d are left; the file is cut short: record or export it again",
				printable(id), size, left)
		case id == "fmt " && l.frameBytes == 0:
			b, err := f.head(at, int(min(size, extBytes)))
			if err == nil {
				err = l.takeFormat(b, size)
			}
			if err != nil {
				return l, err
			}
		case id == "ds64" && s.wide && size >= ds64Bytes:
			b, err := f.head(at, ds64Bytes)
			if err != nil {
				return l, err
			}
			s.file, s.data = binary.LittleEndian.Uint64(b), binary.LittleEndian.Uint64(b[8:])
		}
		at += int64(size) + int64(size&1)
	}
	return l, said.Errorf("wav.chunks", "there are more than %d chunks before the samples; export the file again as PCM WAV", maxChunks)
}

// sizes are what the header claims of the file, from its ninth byte on.
type sizes struct {
	file uint64
	data uint64 // of the samples; 0: it stands at their chunk alone
	full uint64 // what there really is of the file
	wide bool   // a ds64 chunk may hold larger ones
}

// samples returns how many bytes of samples there should be, by the size of their chunk and what is left
// of the file.
func (s *sizes) samples(size uint32, left uint64) uint64 {
	switch {
	case size == unknownSize && s.wide && s.data != 0:
		return s.data
	case size == unknownSize, size >= largestDared && uint64(size) > left:
		return left // streamed: the writer could not go back, or put down the largest size it dared
	case size == 0 && s.file != s.full:
		return left // a recorder that was cut off: no size of the file was filled in
	}
	return uint64(size)
}

// form reads the outermost header.
func (f *file) form() (sizes, error) {
	if f.size == 0 {
		return sizes{}, said.Errorf("wav.empty", "the file is empty; record or export it again")
	}
	head, err := f.head(0, int(min(f.size, chunkHead+formTypeBytes)))
	if err != nil {
		return sizes{}, err
	}
	id := string(head[:min(len(head), 4)])
	if id != "RIFF" && id != "RF64" && id != "BW64" {
		for _, other := range foreign {
			if bytes.HasPrefix(head, []byte(other.magic)) {
				return sizes{}, said.Errorf("wav.foreign", "this is %s, not WAV or FLAC; convert it to one of them first", other.name)
			}
		}
		return sizes{}, said.Errorf("wav.not_wav", "this is not a WAV or FLAC file: it does not begin with RIFF, RF64, BW64 or fLaC; convert it to one of them first")
	}
	if len(head) < chunkHead+formTypeBytes {
		return sizes{}, said.Errorf("wav.short_header", "the file ends after %d bytes, inside its header; record or export it again", len(head))
	}
	if form := string(head[chunkHead:]); form != "WAVE" {
		return sizes{}, said.Errorf("wav.not_wave", "this RIFF file holds %q, not WAVE sound; convert it to PCM WAV first", printable(form))
	}
	return sizes{file: uint64(binary.LittleEndian.Uint32(head[4:])), full: uint64(f.size) - chunkHead, wide: id != "RIFF"}, nil
}

// takeFormat takes the beginning of a format chunk of a size.
func (l *layout) takeFormat(b []byte, size uint32) error {
	if size < formatBytes {
		return said.Errorf("wav.format_size", "the format chunk has %d bytes instead of 16 or more; export the file again as PCM WAV", size)
	}
	word := func(at int) int { return int(binary.LittleEndian.Uint16(b[at:])) }
	tag, channels, align, bits := word(0), word(2), word(12), word(14)
	rate := int(binary.LittleEndian.Uint32(b[4:]))
	valid := bits
	if tag == tagExtensible {
		if len(b) < extBytes {
			return said.Errorf("wav.extensible_size", "the extensible format chunk has %d bytes instead of 40; export the file again as PCM WAV", size)
		}
		if !bytes.Equal(b[26:], subFormatTail) {
			return said.Errorf("wav.unknown_coding", "the samples are in an encoding this program does not know; export the file again as PCM WAV")
		}
		tag = word(24)
		if v := word(18); v != 0 {
			valid = v
		}
	}
	switch {
	case tag != tagPCM && tag != tagFloat:
		return said.Errorf("wav.coding", "the samples are encoded as %s; export the file again as PCM WAV", cmp.Or(tagNames[tag], fmt.Sprintf("format %#04x", tag)))
	case channels == 0:
		return said.Errorf("wav.no_channels", "the format chunk says 0 channels; save it as mono or stereo PCM")
	case channels > MaxChannels:
		return said.Errorf("wav.channels", "the format chunk says %d channels; at most %d are read: save it as mono or stereo PCM", channels, MaxChannels)
	case rate < MinRate || rate > MaxRate:
		return said.Errorf("wav.rate", "the format chunk says a sample rate of %d Hz; %d to %d Hz are read: save it at 44100 or 48000 Hz",
			rate, MinRate, MaxRate)
	}
	container := (bits + 7) / 8
	if align != 0 && align != container*channels {
		if align%channels != 0 || align/channels < container {
			return said.Errorf("wav.contradicts", "the format chunk contradicts itself: %d channels of %d bits do not fit in frames of %d bytes; export the file again as PCM WAV",
				channels, bits, align)
		}
		container = align / channels
	}
	if tag == tagFloat {
		if valid = bits; bits != 32 && bits != 64 || container*8 != bits {
			return said.Errorf("wav.float_bits", "the format chunk says float samples of %d bits; save it with 32", bits)
		}
	} else if bits < 1 || container > 4 || valid > container*8 {
		return said.Errorf("wav.bits", "the format chunk says samples of %d bits in %d bytes; save it with 16 or 24 bits", valid, container)
	}
	l.format = Format{SampleRate: rate, Channels: channels, Bits: valid, Float: tag == tagFloat}
	l.container = container
	l.frameBytes = container * channels
	return nil
}

// tagNames are the encodings that are met and not read.
var tagNames = map[int]string{0x0002: "ADPCM", 0x0006: "A-law", 0x0007: "mu-law", 0x0011: "ADPCM", 0x0031: "GSM", 0x0050: "MPEG sound", 0x0055: "MPEG sound"}

// printable returns a chunk name fit for a sentence.
func printable(id string) string {
	b := []byte(id)
	for i, c := range b {
		if c < ' ' || c > '~' {
			b[i] = '?'
		}
	}
	return string(b)
}
