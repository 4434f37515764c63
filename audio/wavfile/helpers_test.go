package wavfile_test

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"
	"os/exec"
	"testing"

	"slowneedle/audio/wavfile"
)

// program runs a reference program and returns what it printed. The tests need sox and ffmpeg.
func program(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %q: %v\n%s", name, args, err, errs.Bytes())
	}
	return out.Bytes()
}

// doubles splits interleaved little-endian float64 samples into channels.
func doubles(raw []byte, channels int) [][]float64 {
	out := make([][]float64, channels)
	for i := 0; (i+1)*8 <= len(raw); i++ {
		v := math.Float64frombits(binary.LittleEndian.Uint64(raw[8*i:]))
		out[i%channels] = append(out[i%channels], v)
	}
	return out
}

// readAll reads what is left of r in blocks of an odd size.
func readAll(t testing.TB, r *wavfile.Reader) [][]float32 {
	t.Helper()
	block := wavfile.NewBlock(r.Format().Channels, 777)
	out := make([][]float32, len(block))
	for {
		n, err := r.Read(block)
		for c := range out {
			out[c] = append(out[c], block[c][:n]...)
		}
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

func open(t testing.TB, path string) *wavfile.Reader {
	t.Helper()
	r, err := wavfile.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { r.Close() })
	return r
}

// compare fails unless got equals want to within tolerance.
func compare(t testing.TB, got [][]float32, want [][]float64, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d channels, want %d", len(got), len(want))
	}
	for c := range got {
		if len(got[c]) != len(want[c]) {
			t.Fatalf("channel %d: %d frames, want %d", c, len(got[c]), len(want[c]))
		}
		for i := range got[c] {
			if d := math.Abs(float64(got[c][i]) - want[c][i]); !(d <= tolerance) {
				t.Fatalf("channel %d, frame %d: %v, want %v", c, i, got[c][i], want[c][i])
			}
		}
	}
}

// file builds WAV files chunk by chunk, right or wrong.
type file struct{ bytes.Buffer }

// form begins a file; the size is put in by done unless it is given.
func form(id string, size uint32) *file {
	f := &file{}
	f.WriteString(id)
	f.u32(size)
	f.WriteString("WAVE")
	return f
}

func (f *file) u16(v ...uint16) *file {
	for _, v := range v {
		f.Write(binary.LittleEndian.AppendUint16(nil, v))
	}
	return f
}

func (f *file) u32(v ...uint32) *file {
	for _, v := range v {
		f.Write(binary.LittleEndian.AppendUint32(nil, v))
	}
	return f
}

func (f *file) u64(v ...uint64) *file {
	for _, v := range v {
		f.Write(binary.LittleEndian.AppendUint64(nil, v))
	}
	return f
}

// chunk appends a chunk of the right size, padded.
func (f *file) chunk(id string, body []byte) *file {
	f.lying(id, uint32(len(body)), body)
	if len(body)%2 == 1 {
		f.WriteByte(0)
	}
	return f
}

// lying appends a chunk that claims a size.
func (f *file) lying(id string, size uint32, body []byte) *file {
	f.WriteString(id)
	f.u32(size)
	f.Write(body)
	return f
}

// format appends a plain format chunk.
func (f *file) format(tag, channels uint16, rate uint32, align, bits uint16) *file {
	var b file
	b.u16(tag, channels).u32(rate, rate*uint32(align)).u16(align, bits)
	return f.chunk("fmt ", b.Bytes())
}

// extensible appends an extensible format chunk.
func (f *file) extensible(sub, channels uint16, rate uint32, align, bits, valid uint16) *file {
	var b file
	b.u16(0xFFFE, channels).u32(rate, rate*uint32(align)).u16(align, bits, 22, valid).u32(0).u16(sub)
	b.WriteString("\x00\x00\x00\x00\x10\x00\x80\x00\x00\xAA\x00\x38\x9B\x71")
	return f.chunk("fmt ", b.Bytes())
}

// done puts the true size into the outermost header.
func (f *file) done() []byte {
	b := f.Bytes()
	binary.LittleEndian.PutUint32(b[4:], uint32(len(b)-8))
	return b
}
