// Package meter holds the meters: a slow needle and a fast lamp, sample peak and
// true peak, loudness, a programme meter and RMS.
//
// Each is a streaming type for one sample rate. Make it, give it samples as float32
// (full scale is 1) with Process, read it at any time:
//
//	needle := meter.NewNeedle(48000)
//	for each block {
//		needle.Process(block)
//		show(needle.Level() - reference) // in VU
//	}
//
// What holds for all of them:
//
//   - However the samples are divided among calls, the result is the same to the bit,
//     on every processor. Nothing is allocated after construction, and memory does not
//     grow with time.
//   - Levels are in dBFS: that of a sine of the same peak, so that a full-scale sine
//     is 0 dBFS (AES17). Silence is -Inf. Loudness is in LUFS.
//   - Samples that are not finite count as silence, and some frames around them too;
//     they leave no trace in a meter. Only a lamp is lit by infinity.
//   - A meter belongs to one goroutine at a time.
//
// # Which meter
//
//	Needle      what a volume indicator shows             one channel
//	Reader      what a trained reader calls over a        one channel
//	            passage, with sample and true peak
//	ReadLoop    the same for a loop that repeats          one channel
//	Lamp        a peak lamp: lit, flicks                  any number of channels
//	LampMap     a lamp over a repeating loop, at any      any number of channels
//	            threshold, at once
//	SamplePeak  IEC 60268-18                              one channel
//	Loudness    ITU-R BS.1770-5, EBU Tech 3341            one to six channels
//	Programme   IEC 60268-10 type IIa                     one channel
//	RMS         with a count of clipped samples           one channel
//
// # The needle
//
// A standard volume indicator (ANSI C16.5-1942, IEC 60268-17) is an average
// responding rectifier on a movement of the second order,
//
//	p" + 2 zeta w p' + w² p = w² (pi/2) |x|
//
// with zeta = 0.8127 and w = 13.512 rad/s, derived in code from 99 % at 300 ms and
// 1.25 % overshoot. A rectifier that works on the samples themselves errs by up to
// 2 dB on high tones, by an amount that depends on their phase; so the signal is
// oversampled 4 times first. The mean of 32 frames' magnitudes then drives the
// movement, which is solved exactly over those 32 frames. A constant on the signal
// is removed first, as a transformer does.
//
// The rectifier is linear. The copper-oxide rectifiers of standard meters had an
// exponent of about 1.2 (from memory), between linear and square. With it a square
// wave would read 0.68 dB above its RMS, here it reads 0.91 dB above, and Gaussian
// noise 0.81 dB below, here 1.05 dB. Sines, and the movement, are the same.
//
// From 44.1 to 192 kHz the needle reads tones from 25 Hz to 10 kHz to 0.1 dB, and to
// 0.21 dB up to 16 kHz, at any phase. It rises in 300 ms and falls in 301 ms. On a
// steady tone of 25 Hz it trembles by 0.01 dB. At sample rates below 44.1 kHz tones
// up to 0.4 of the rate are read to 0.3 dB.
//
// # Cost
//
// On a 2.6 GHz core, a sample at 48 kHz: needle or reader 2 ns, loudness 3 ns, RMS 1 ns,
// lamp and sample peak under 1 ns, programme meter up to 20 ns. On amd64 the
// interpolator uses AVX where the processor has it, with the same results to the bit;
// elsewhere the needle costs about 13.5 ns.
package meter
