// Package wavfile reads WAV and FLAC files and writes WAV files, as streams.
//
// Reading WAV takes what recorders, editors and stream savers really leave behind: PCM of 8, 16, 24 and
// 32 bits, IEEE float of 32 and 64 bits, plain and extensible format chunks, one to eight channels,
// 1 to 384 kHz, RIFF, RF64 and BW64 containers (EBU Tech 3306, ITU-R BS.2088), broadcast-wave and any
// other extra chunks (EBU Tech 3285), and files whose sizes were never filled in. FLAC (RFC 9639) is read
// with the same limits; of a file that is cut off what is there is read. Memory does not grow with the length of
// the file.
//
// Writing makes 16-bit PCM (with TPDF dither), 24-bit PCM and 32-bit float. A file appears under its
// name only when it is complete.
//
//	r, err := wavfile.Open("take.wav")
//	if err != nil {
//		return err // one sentence for the person at the desk: names the file, the fault and the remedy
//	}
//	defer r.Close()
//	block := wavfile.NewBlock(r.Format().Channels, 4096)
//	for {
//		n, err := r.Read(block)
//		if err == io.EOF {
//			break
//		}
//		if err != nil {
//			return err
//		}
//		use(block, n)
//	}
//
// Samples are float32, one slice a channel; full scale is 1. Integer codes map to code / 2^(bits-1),
// so that the most negative code is -1 and the most positive falls one step short of 1.
package wavfile

// Limits of what is read and written.
const (
	MaxChannels = 8
	MinRate     = 1000   // hertz
	MaxRate     = 384000 // hertz
)

// Format is how the samples of a file are stored.
type Format struct {
	SampleRate int  // hertz
	Channels   int  // 1 to MaxChannels
	Bits       int  // significant bits of a sample: 24 for 24-bit samples kept in 32-bit words
	Float      bool // IEEE float rather than integer PCM
}

// NewBlock returns a block of the given number of channels and frames, for [Reader.Read] and
// [Writer.Write].
func NewBlock(channels, frames int) [][]float32 {
	all := make([]float32, channels*frames)
	block := make([][]float32, channels)
	for c := range block {
		block[c] = all[c*frames : (c+1)*frames : (c+1)*frames]
	}
	return block
}
