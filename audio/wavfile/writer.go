package wavfile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"

	goaudio "github.com/go-audio/audio"
	"github.com/go-audio/wav"

	"slowneedle/audio/wholefile"
)

// A Writer streams samples into a new WAV file. The samples go to a file beside the wanted one, which
// takes its name on Close: nobody ever sees half a file. It is not safe for concurrent use.
type Writer struct {
	path   string
	format Format
	file   *wholefile.File
	pcm    *wav.Encoder
	codes  goaudio.IntBuffer // not written yet; a float is a code of 32 bits to the encoder
	data   int64             // bytes of samples given
	dither *rand.Rand
	limit  int64 // size of the file up to which it stays RIFF; lower in tests
	failed error
}

const bufferSamples = 1 << 14 // that a Writer holds at any moment

// ditherSeed makes the dither of every file the same, so that the same samples give the same file.
const ditherSeed = 0x5EED

// Create begins a WAV file at path: 16 or 24-bit PCM or 32-bit float, MinRate to MaxRate, 1 to MaxChannels.
// More than two channels, and 24 bits, are written with an extensible header. Past 4 GiB the file becomes
// RF64 (EBU Tech 3306). Nothing appears at path until Close; an older file there stays until then. The
// error is one sentence that names the file.
func Create(path string, f Format) (*Writer, error) {
	if err := f.writable(); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	file, err := wholefile.Create(path, 0o644)
	if err != nil {
		return nil, createError(path, err)
	}
	w := &Writer{
		path: path, format: f, file: file,
		dither: rand.New(rand.NewPCG(ditherSeed, uint64(f.Channels))),
		limit:  math.MaxUint32,
	}
	if err := w.begin(); err != nil {
		w.Abort()
		return nil, createError(path, err)
	}
	return w, nil
}

// Bytes returns a whole WAV file of 32-bit float samples, for where there are no files to stream into. The
// channels, 1 to MaxChannels, are of one length.
func Bytes(rate int, src [][]float32) []byte {
	w := &Writer{format: Format{SampleRate: rate, Channels: len(src), Bits: 32, Float: true}, limit: math.MaxUint32}
	w.data = int64(4 * len(src) * len(src[0]))
	all := w.header()
	for i := range src[0] {
		for _, ch := range src {
			all = binary.LittleEndian.AppendUint32(all, math.Float32bits(ch[i]))
		}
	}
	return all
}

// begin writes a header of the right length, to be replaced on completion. The
// encoder begins the chunk of samples itself, and no header if it believes to have
// written one. It needs no rate then, of which it would make room for a minute.
func (w *Writer) begin() error {
	header := w.header()
	header = header[:len(header)-chunkHead]
	if _, err := w.file.Write(header); err != nil {
		return err
	}
	f := w.format
	w.codes = goaudio.IntBuffer{
		Format: &goaudio.Format{NumChannels: f.Channels},
		Data:   make([]int, 0, bufferSamples),
	}
	w.pcm = wav.NewEncoder(w.file, 1, f.Bits, f.Channels, tagPCM)
	w.pcm.WrittenBytes = len(header)
	return w.pcm.Write(&w.codes)
}

func createError(path string, err error) error {
	folder := filepath.Dir(path)
	return pathError(path, err, fmt.Sprintf("there is no folder %s; make it first", folder),
		fmt.Sprintf("you may not write to the folder %s; choose another", folder), "the file cannot be written")
}

func (f Format) writable() error {
	switch {
	case f.Channels < 1 || f.Channels > MaxChannels:
		return fmt.Errorf("%d channels cannot be written; 1 to %d can", f.Channels, MaxChannels)
	case f.SampleRate < MinRate || f.SampleRate > MaxRate:
		return fmt.Errorf("a sample rate of %d Hz cannot be written; %d to %d Hz can", f.SampleRate, MinRate, MaxRate)
	case f.Float && f.Bits == 32, !f.Float && (f.Bits == 16 || f.Bits == 24):
		return nil
	}
	return errors.New("only 16 and 24-bit PCM and 32-bit float can be written")
}

// Write appends the frames of src, one slice a channel, all of one length. Integer samples are rounded,
// those of 16 bits after adding triangular dither of two steps' width (TPDF), and limited to full scale.
// Samples that are not finite are written as silence. After an error the Writer only takes Abort and Close.
func (w *Writer) Write(src [][]float32) error {
	if w.failed != nil {
		return w.failed
	}
	if len(src) != w.format.Channels {
		return fmt.Errorf("%s: given %d channels, the file has %d", w.path, len(src), w.format.Channels)
	}
	for _, ch := range src[1:] {
		if len(ch) != len(src[0]) {
			return fmt.Errorf("%s: the channels to be written differ in length", w.path)
		}
	}
	for i := range src[0] {
		if len(w.codes.Data)+len(src) > bufferSamples {
			if err := w.flush(); err != nil {
				return err
			}
		}
		for _, ch := range src {
			w.codes.Data = append(w.codes.Data, w.code(ch[i]))
		}
		w.data += int64(w.format.Channels * w.format.Bits / 8)
	}
	return nil
}

// code returns the code of one sample.
func (w *Writer) code(x float32) int {
	if x-x != 0 { // not a number, or infinite
		x = 0
	}
	switch {
	case w.format.Float:
		return int(int32(math.Float32bits(x)))
	case w.format.Bits == 16:
		dither := w.dither.Float64() - w.dither.Float64()
		return quantise(float64(x*(1<<15))+dither, 1<<15)
	}
	return quantise(float64(x)*(1<<23), 1<<23)
}

func quantise(v, full float64) int {
	return int(max(-full, min(full-1, math.RoundToEven(v))))
}

func (w *Writer) flush() error {
	if err := w.pcm.Write(&w.codes); err != nil {
		w.failed = fmt.Errorf("%s: writing samples: %w", w.path, err)
		return w.failed
	}
	w.codes.Data = w.codes.Data[:0]
	return nil
}

// Close completes the file and gives it its name. If anything failed, now or before, nothing is left
// behind and whatever stood under that name stays.
func (w *Writer) Close() error {
	if w.file == nil {
		return w.failed
	}
	if err := w.complete(); err != nil {
		w.Abort()
		w.failed = err
	}
	w.file = nil
	return w.failed
}

func (w *Writer) complete() error {
	if w.failed != nil {
		return w.failed
	}
	if err := w.flush(); err != nil {
		return err
	}
	header := w.header()
	_, err := w.file.WriteAt(header, 0)
	if err == nil && w.data&1 == 1 {
		_, err = w.file.WriteAt([]byte{0}, int64(len(header))+w.data)
	}
	if err != nil {
		return fmt.Errorf("%s: writing the header: %w", w.path, err)
	}
	if err := w.file.Commit(); err != nil {
		return fmt.Errorf("%s: saving the file: %w", w.path, err)
	}
	return nil
}

// Abort gives up the file and removes what was written. It does nothing after Close, so that it can be deferred.
func (w *Writer) Abort() {
	if w.file == nil {
		return
	}
	w.file.Abort()
	w.file = nil
	w.failed = fmt.Errorf("%s: the file was given up", w.path)
}

// header returns everything ahead of the samples, for the samples written so far. Its length does not
// depend on them: the room for the 64-bit sizes is a JUNK chunk until it is needed (EBU Tech 3306).
func (w *Writer) header() []byte {
	le := binary.LittleEndian
	f := w.format
	frameBytes := f.Channels * f.Bits / 8
	tag := uint16(tagPCM)
	if f.Float {
		tag = tagFloat
	}
	extensible := f.Channels > 2 || !f.Float && f.Bits > 16
	plain := tag
	if extensible {
		plain = tagExtensible
	}
	format, _ := binary.Append(nil, le, struct {
		tag, channels     uint16
		rate, bytesASec   uint32
		frameBytes, width uint16
	}{plain, uint16(f.Channels), uint32(f.SampleRate), uint32(f.SampleRate * frameBytes), uint16(frameBytes), uint16(f.Bits)})
	switch {
	case extensible:
		format, _ = binary.Append(format, le, struct {
			size, bits uint16
			speakers   uint32
			tag        uint16
		}{extBytes - formatBytes - 2, uint16(f.Bits), speakers(f.Channels), tag})
		format = append(format, subFormatTail...)
	case f.Float:
		format = le.AppendUint16(format, 0)
	}

	length := int64(chunkHead+formTypeBytes+chunkHead+ds64Bytes+chunkHead+len(format)) + chunkHead
	if f.Float {
		length += chunkHead + 4
	}
	size := length + w.data + w.data&1 - chunkHead
	frames := w.data / int64(frameBytes)
	wide := size > w.limit

	id, room, sizes := "RIFF", "JUNK", make([]byte, ds64Bytes)
	if wide {
		id, room = "RF64", "ds64"
		le.PutUint64(sizes, uint64(size))
		le.PutUint64(sizes[8:], uint64(w.data))
		le.PutUint64(sizes[16:], uint64(frames))
	}
	h := le.AppendUint32([]byte(id), size32(size, wide))
	h = append(h, "WAVE"...)
	h = appendChunk(h, room, sizes)
	h = appendChunk(h, "fmt ", format)
	if f.Float {
		h = appendChunk(h, "fact", le.AppendUint32(nil, size32(frames, wide)))
	}
	h = append(h, "data"...)
	return le.AppendUint32(h, size32(w.data, wide))
}

func appendChunk(h []byte, id string, body []byte) []byte {
	h = append(h, id...)
	h = binary.LittleEndian.AppendUint32(h, uint32(len(body)))
	return append(h, body...)
}

func size32(n int64, wide bool) uint32 {
	if wide {
		return unknownSize
	}
	return uint32(n)
}

// speakers returns the channel mask: the usual layouts of 1 to 8 channels (front centre; stereo; with
// centre; quadraphonic; 5.0; 5.1; 6.1; 7.1).
func speakers(channels int) uint32 {
	return [...]uint32{0x4, 0x3, 0x7, 0x33, 0x37, 0x3F, 0x70F, 0x63F}[channels-1]
}
