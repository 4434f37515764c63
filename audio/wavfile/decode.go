package wavfile

import (
	"encoding/binary"
	"math"
)

// The samples of integer PCM are written by go-audio/wav, but read here: its reader takes 13 ns a sample,
// these loops 2 ns, and a whole recording is measured in 6 ns a sample.

// A decoder turns whole interleaved frames of frameBytes each into the channels of dst, from frame at
// on, and returns how many samples were not finite.
type decoder func(dst [][]float32, at int, frames []byte, frameBytes int) (notFinite int64)

// decoderFor returns the decoder of a layout. Bits below the significant ones of a container are padding
// by the standard and zero; they are taken as they stand.
func decoderFor(l layout) decoder {
	switch {
	case l.format.Float && l.container == 8:
		return decodeFloat64
	case l.format.Float:
		return decodeFloat32
	}
	switch l.container {
	case 1:
		return decodeInt8
	case 2:
		return decodeInt16
	case 3:
		return decodeInt24
	}
	return decodeInt32
}

// decodeInt8 reads the one unsigned format: 128 is silence.
func decodeInt8(dst [][]float32, at int, b []byte, frameBytes int) int64 {
	for c := range dst {
		out := dst[c][at : at+len(b)/frameBytes]
		for i := range out {
			out[i] = float32(int(b[i*frameBytes+c])-128) * (1.0 / (1 << 7))
		}
	}
	return 0
}

func decodeInt16(dst [][]float32, at int, b []byte, frameBytes int) int64 {
	for c := range dst {
		out := dst[c][at : at+len(b)/frameBytes]
		for i := range out {
			p := b[i*frameBytes+2*c:]
			out[i] = float32(int16(binary.LittleEndian.Uint16(p))) * (1.0 / (1 << 15))
		}
	}
	return 0
}

func decodeInt24(dst [][]float32, at int, b []byte, frameBytes int) int64 {
	for c := range dst {
		out := dst[c][at : at+len(b)/frameBytes]
		for i := range out {
			p := b[i*frameBytes+3*c:][:3]
			out[i] = float32(int32(uint32(p[0])<<8|uint32(p[1])<<16|uint32(p[2])<<24)>>8) * (1.0 / (1 << 23))
		}
	}
	return 0
}

func decodeInt32(dst [][]float32, at int, b []byte, frameBytes int) int64 {
	for c := range dst {
		out := dst[c][at : at+len(b)/frameBytes]
		for i := range out {
			p := b[i*frameBytes+4*c:]
			out[i] = float32(int32(binary.LittleEndian.Uint32(p))) * (1.0 / (1 << 31))
		}
	}
	return 0
}

func decodeFloat32(dst [][]float32, at int, b []byte, frameBytes int) (notFinite int64) {
	const exponent = 0x7F800000
	for c := range dst {
		out := dst[c][at : at+len(b)/frameBytes]
		for i := range out {
			u := binary.LittleEndian.Uint32(b[i*frameBytes+4*c:])
			if u&exponent == exponent {
				u = 0
				notFinite++
			}
			out[i] = math.Float32frombits(u)
		}
	}
	return notFinite
}

func decodeFloat64(dst [][]float32, at int, b []byte, frameBytes int) (notFinite int64) {
	for c := range dst {
		out := dst[c][at : at+len(b)/frameBytes]
		for i := range out {
			v := math.Float64frombits(binary.LittleEndian.Uint64(b[i*frameBytes+8*c:]))
			if !(math.Abs(v) <= math.MaxFloat32) { // not a number included
				v = 0
				notFinite++
			}
			out[i] = float32(v)
		}
	}
	return notFinite
}
