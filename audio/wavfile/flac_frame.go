package wavfile

import (
	"bufio"
	"cmp"
	"io"
	"math/bits"
)

// flacHeader is what stands ahead of the samples of a frame.
type flacHeader struct {
	at, n      int64 // its first sample, and how many
	assignment int   // how its channels are coded
	width      int   // bits of a sample
}

// header reads the header of a frame (RFC 9639, section 9.1), and reports whether it is one
// of this file.
func (f *flacFrames) header(b *bitReader) (h flacHeader, ok bool) {
	if b.read(15) != 0x7FFC { // sync code and a bit that is reserved
		return h, false
	}
	variable := b.read(1) == 1
	sizeCode, rateCode := b.read(4), b.read(4)
	h.assignment = int(b.read(4))
	h.width = [8]int{f.bits, 8, 12, 0, 16, 20, 24, 32}[b.read(3)]
	b.read(1)
	h.at, ok = b.number()
	if !variable {
		h.at *= f.block
	}
	switch {
	case sizeCode == 1:
		h.n = 192
	case sizeCode >= 2 && sizeCode <= 5:
		h.n = 576 << (sizeCode - 2)
	case sizeCode == 6:
		h.n = int64(b.read(8)) + 1
	case sizeCode == 7:
		h.n = int64(b.read(16)) + 1
	case sizeCode >= 8:
		h.n = 256 << (sizeCode - 8)
	}
	switch rateCode {
	case 12:
		b.read(8)
	case 13, 14:
		b.read(16)
	}
	sum := b.crc8
	return h, uint8(b.read(8)) == sum && ok && h.n > 0 && h.n <= f.block && h.width == f.bits
}

// decode decodes the frame that the buffer stands at (RFC 9639, section 9). The error is
// errFLAC, io.ErrUnexpectedEOF where the file ends in it, or that of the medium.
func (f *flacFrames) decode() error {
	b := bitReader{in: f.in}
	h, ok := f.header(&b)
	channels, side := h.assignment+1, -1 // which channel is the difference of the two
	switch h.assignment {
	case 8, 10:
		channels, side = 2, 1
	case 9:
		channels, side = 2, 0
	}
	if !ok || channels != f.channels {
		return b.fault()
	}
	samples := make([][]int64, channels)
	for c := range samples {
		w := h.width
		if c == side {
			w++
		}
		if samples[c] = make([]int64, h.n); !b.subframe(samples[c], w) {
			return b.fault()
		}
	}
	b.held = 0 // to the next byte
	if sum := b.crc16; uint16(b.read(16)) != sum || b.err != nil {
		return b.fault()
	}
	for i := range h.n {
		switch x, y := samples[0], samples[channels-1]; h.assignment {
		case 8: // left, left less right
			y[i] = x[i] - y[i]
		case 9: // left less right, right
			x[i] += y[i]
		case 10: // half of the sum, and the difference
			sum := 2*x[i] | y[i]&1
			x[i], y[i] = (sum+y[i])>>1, (sum-y[i])>>1
		}
	}
	f.samples, f.at, f.n = samples, h.at, h.n
	return nil
}

// fixed are the predictors of the orders 0 to 4 that need no coefficients in the file.
var fixed = [5][]int64{{}, {1}, {2, -1}, {3, -3, 1}, {4, -6, 4, -1}}

// subframe decodes a channel of a frame, whose samples have a width in bits, and reports
// whether that can be.
func (b *bitReader) subframe(x []int64, width int) bool {
	if b.read(1) != 0 {
		return false
	}
	kind, wasted := int(b.read(6)), 0
	if b.read(1) == 1 {
		wasted = b.zeros() + 1
	}
	if width -= wasted; width < 1 {
		return false
	}
	switch {
	case kind == 0:
		v := b.signed(width)
		for i := range x {
			x[i] = v
		}
	case kind == 1:
		for i := range x {
			x[i] = b.signed(width)
		}
	case kind >= 8 && kind <= 12 && kind-8 <= len(x):
		order := kind - 8
		for i := range order {
			x[i] = b.signed(width)
		}
		if !b.residual(x, order) {
			return false
		}
		predict(x, fixed[order], 0)
	case kind >= 32 && kind-31 <= len(x):
		order := kind - 31
		for i := range order {
			x[i] = b.signed(width)
		}
		precision, shift := int(b.read(4))+1, b.signed(5)
		if precision == 16 || shift < 0 {
			return false
		}
		by := make([]int64, order)
		for i := range by {
			by[i] = b.signed(precision)
		}
		if !b.residual(x, order) {
			return false
		}
		predict(x, by, uint(shift))
	default:
		return false
	}
	if wasted > 0 {
		for i := range x {
			x[i] <<= wasted
		}
	}
	return b.err == nil
}

// predict adds to what is left of each sample what those before it predict: each of them
// by its coefficient, the nearest first.
func predict(x, by []int64, shift uint) {
	for i := len(by); i < len(x); i++ {
		sum := int64(0)
		for k, v := range by {
			sum += v * x[i-1-k]
		}
		x[i] += sum >> shift
	}
}

// residual reads what a predictor of an order leaves of the samples behind its first ones.
func (b *bitReader) residual(x []int64, order int) bool {
	method, parts := b.read(2), 1<<b.read(4)
	size := len(x) / parts
	if method > 1 || size*parts != len(x) || size < order {
		return false
	}
	param := 4 + int(method)
	for p := range parts {
		part := x[p*size : (p+1)*size]
		if p == 0 {
			part = part[order:]
		}
		k := int(b.read(param))
		if k == 1<<param-1 { // not coded
			width := int(b.read(5))
			for i := range part {
				part[i] = b.signed(width)
			}
			continue
		}
		for i := range part {
			v := uint64(b.zeros())<<k | b.read(k)
			part[i] = int64(v>>1) ^ -int64(v&1)
		}
		if b.err != nil {
			return false
		}
	}
	return true
}

// bitReader reads numbers of any width, the highest bit first, and sums up the bytes that
// they are in.
type bitReader struct {
	in    *bufio.Reader
	bits  uint64 // the lowest held are not yet read
	held  int
	crc8  uint8
	crc16 uint16
	err   error
}

// read reads a number of at most 56 bits; 0 at the end of the file.
func (b *bitReader) read(width int) uint64 {
	for b.held < width {
		b.more()
	}
	b.held -= width
	return b.bits >> b.held & (1<<width - 1)
}

func (b *bitReader) more() {
	c, err := b.in.ReadByte()
	if err == io.EOF {
		err = io.ErrUnexpectedEOF
	}
	b.err = cmp.Or(b.err, err)
	b.bits = b.bits<<8 | uint64(c)
	b.held += 8
	b.crc8 = crc8Table[b.crc8^c]
	b.crc16 = b.crc16<<8 ^ crc16Table[byte(b.crc16>>8)^c]
}

// signed reads a number in two's complement.
func (b *bitReader) signed(width int) int64 {
	v := b.read(width) << (64 - width)
	return int64(v) >> (64 - width)
}

// zeros counts the zeros ahead of the next one, and reads that too.
func (b *bitReader) zeros() (n int) {
	for b.err == nil {
		left := b.bits & (1<<b.held - 1)
		if left != 0 {
			k := b.held - bits.Len64(left)
			b.held -= k + 1
			return n + k
		}
		n += b.held
		b.held = 0
		b.more()
	}
	return n
}

// number reads a number of up to 36 bits as UTF-8 has them.
func (b *bitReader) number() (v int64, ok bool) {
	head := uint8(b.read(8))
	more := bits.LeadingZeros8(^head)
	if more == 0 {
		return int64(head), true
	}
	if more == 1 || more == 8 {
		return 0, false
	}
	v = int64(head & (0x7F >> more))
	for range more - 1 {
		c := b.read(8)
		if c>>6 != 2 {
			return 0, false
		}
		v = v<<6 | int64(c&0x3F)
	}
	return v, true
}

// fault is why a frame cannot be decoded.
func (b *bitReader) fault() error {
	if b.err != nil {
		return b.err
	}
	return errFLAC
}

// Tables of the checksums, of the polynomials 0x07 and 0x8005 (RFC 9639, sections 9.1.8 and 9.3).
var crc8Table, crc16Table = func() (short [256]uint8, long [256]uint16) {
	for i := range 256 {
		c, d := uint8(i), uint16(i)<<8
		for range 8 {
			c = c<<1 ^ 0x07*(c>>7)
			d = d<<1 ^ 0x8005*(d>>15)
		}
		short[i], long[i] = c, d
	}
	return short, long
}()
