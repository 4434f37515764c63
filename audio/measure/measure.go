// Package measure runs every meter over a recording: the slow needle and what a trained reader calls from
// it, the lamp, sample and true peak, RMS and loudness.
//
//	result, err := measure.File("take.wav", measure.Default(), nil)
//	if err != nil {
//		return err
//	}
//	fmt.Printf("%+.1f VU, under-read %.1f dB\n", result.Reading, result.UnderRead)
//
// The recording is decoded once, in blocks, and the meters work on a block side by side, so that one file
// keeps every core busy. Each meter sees every block in order: the result does not depend on the cores.
package measure

import (
	"encoding/json"
	"io"
	"math"
	"strconv"
	"sync"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/wavfile"
)

// Settings say how the meters are lined up.
type Settings struct {
	ReferenceDBFS float64 // level of 0 VU: a sine of this level reads 0 VU
	LampDBFS      float64 // magnitude at which the lamp lights
}

// Default returns the usual line-up of a digital desk: 0 VU at -18 dBFS (EBU R 68), the lamp at -6 dBFS.
func Default() Settings { return Settings{ReferenceDBFS: -18, LampDBFS: -6} }

// Level is a level in the unit its field says. A level that does not exist, as that of silence, is -Inf or
// NaN, and null in JSON.
type Level float64

// Exists reports whether there is such a level.
func (l Level) Exists() bool { return !math.IsInf(float64(l), 0) && !math.IsNaN(float64(l)) }

// MarshalJSON writes the level with four decimals at most, or null.
func (l Level) MarshalJSON() ([]byte, error) {
	if !l.Exists() {
		return []byte("null"), nil
	}
	rounded := math.Round(float64(l)*1e4) / 1e4
	return strconv.AppendFloat(nil, rounded+0, 'f', -1, 64), nil // +0: no negative zero
}

// UnmarshalJSON reads what MarshalJSON writes; null becomes NaN.
func (l *Level) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*l = Level(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(l))
}

// Levels are those of one channel.
type Levels struct {
	Reading    Level `json:"reading_vu"`       // what a trained reader calls; see meter.Reader
	NeedleMax  Level `json:"needle_max_vu"`    // the needle's greatest deflection
	SamplePeak Level `json:"sample_peak_dbfs"` // AES17: a full-scale sine is 0
	TruePeak   Level `json:"true_peak_dbtp"`   // ITU-R BS.1770-5
	UnderRead  Level `json:"under_read_db"`    // SamplePeak minus Reading, both relative to the reference; 0 for a sine
	RMS        Level `json:"rms_dbfs"`         // AES17: a full-scale sine is 0, so a square wave +3.01
	DC         Level `json:"dc_percent"`       // direct current, of full scale; no needle shows it
}

// Result is what the meters show of a recording. Its levels are those of the channel that decides how far the
// recording can be raised: until the needle reaches 0 VU or the peaks the lamp, the channel that is first.
// Loudness, flicks and clipped samples are those of all channels together. Beyond the layouts and rates of
// meter.NewLoudness there is no loudness.
type Result struct {
	File       string  `json:"file"`
	SampleRate int     `json:"sample_rate"` // hertz
	Channels   int     `json:"channels"`
	Bits       int     `json:"bits"`
	Float      bool    `json:"float"`
	Duration   float64 `json:"duration_s"`

	Levels

	Integrated   Level `json:"loudness_integrated_lufs"` // ITU-R BS.1770-5, gated
	MomentaryMax Level `json:"loudness_momentary_max_lufs"`
	ShortTermMax Level `json:"loudness_short_term_max_lufs"`

	LampFlicks int   `json:"lamp_flicks"`
	Clipped    int64 `json:"clipped_samples"` // at or beyond the largest positive code, in any channel; our own count, AES17 has none

	Decides   int      `json:"deciding_channel"`     // counted from 1
	ByChannel []Levels `json:"by_channel,omitempty"` // of every channel, if there are several

	Warnings []string `json:"-"` // sentences on faults of the file that were overlooked; see wavfile.Reader
}

// File measures the WAV file at path. If progress is not nil it is called now and then, from one goroutine,
// with the frames done so far and those of the whole file. The error is a sentence that names the file.
func File(path string, s Settings, progress func(done, frames int64)) (Result, error) {
	r, err := wavfile.Open(path)
	if err != nil {
		return Result{}, err
	}
	defer r.Close()
	result, err := Stream(r, s, progress)
	result.File = path
	return result, err
}

// blockFrames are read at a time: so many that the wait for the slowest meter of each block costs little (a
// quarter of them costs a seventh of the speed).
const blockFrames = 1 << 16

// Stream measures what is left of r; see File. The Result has no file name.
func Stream(r *wavfile.Reader, s Settings, progress func(done, frames int64)) (Result, error) {
	f := r.Format()
	m := newMeters(r, s)
	tasks := m.tasks()
	// While the meters work on one block the next is read.
	blocks := [2][][]float32{wavfile.NewBlock(f.Channels, blockFrames), wavfile.NewBlock(f.Channels, blockFrames)}
	view := make([][]float32, f.Channels) // what was read of one
	var working sync.WaitGroup
	var done int64
	for turn := 0; ; turn++ {
		b := blocks[turn%2]
		n, err := r.Read(b)
		working.Wait()
		if err == io.EOF {
			break
		}
		if err != nil {
			return Result{}, err
		}
		for c := range b {
			view[c] = b[c][:n]
			if done == 0 {
				m.readers[c].StartFrom(constant(view[c]))
			}
		}
		for _, task := range tasks {
			working.Go(func() { task(view) })
		}
		done += int64(n)
		if progress != nil {
			progress(done, r.Frames())
		}
	}
	result := m.result(s)
	result.SampleRate, result.Channels, result.Bits, result.Float = f.SampleRate, f.Channels, f.Bits, f.Float
	result.Duration = float64(done) / float64(f.SampleRate)
	for _, w := range r.Warnings() {
		result.Warnings = append(result.Warnings, w.String())
	}
	return result, nil
}

// constant is the direct current at the beginning of a recording: the mean under a Hann window, in which
// tones all but cancel.
func constant(x []float32) float64 {
	var sum, weights float64
	for i, v := range x {
		w := 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x)))
		sum += float64(w * float64(v))
		weights += w
	}
	return sum / weights
}

// meters are all the meters over one recording.
type meters struct {
	readers  []*meter.Reader
	rms      []meter.RMS
	lamp     *meter.Lamp
	loudness *meter.Loudness // nil if the layout has no loudness
}

func newMeters(r *wavfile.Reader, s Settings) *meters {
	f := r.Format()
	m := &meters{
		rms:  make([]meter.RMS, f.Channels),
		lamp: meter.NewLamp(f.SampleRate, s.LampDBFS, meter.LampHold),
	}
	for c := range f.Channels {
		m.readers = append(m.readers, meter.NewReader(f.SampleRate))
		m.rms[c].Clip = r.ClipLevel()
	}
	// An error means that there is no loudness for this layout or rate.
	m.loudness, _ = meter.NewLoudness(f.SampleRate, f.Channels)
	return m
}

// tasks returns what is to be done with each block. Tasks share nothing and may run side by side.
func (m *meters) tasks() []func([][]float32) {
	var tasks []func([][]float32)
	if m.loudness != nil {
		tasks = append(tasks, func(b [][]float32) { m.loudness.Process(b...) })
	}
	for c, r := range m.readers {
		tasks = append(tasks, func(b [][]float32) { r.Process(b[c]) })
	}
	return append(tasks, func(b [][]float32) {
		for c := range b {
			m.rms[c].Process(b[c])
		}
		m.lamp.Process(b...)
	})
}

// sineRMS is how far, in dB, the peak of a sine lies above its RMS: AES17 counts
// dBFS from the RMS of a full-scale sine.
var sineRMS = audio.DB(math.Sqrt2)

func (m *meters) result(s Settings) Result {
	none := Level(math.Inf(-1))
	result := Result{
		Integrated: none, MomentaryMax: none, ShortTermMax: none,
		LampFlicks: m.lamp.Flicks(),
	}
	all := make([]Levels, len(m.readers))
	room := math.NaN()
	for c, r := range m.readers {
		p := r.Passage()
		all[c] = Levels{
			Reading:    Level(p.Reading - s.ReferenceDBFS),
			NeedleMax:  Level(p.Max - s.ReferenceDBFS),
			SamplePeak: Level(p.SamplePeak),
			TruePeak:   Level(p.TruePeak),
			UnderRead:  Level(p.UnderRead()),
			RMS:        Level(m.rms[c].Level() + sineRMS),
			DC:         Level(100 * p.Constant),
		}
		if left := min(s.ReferenceDBFS-p.Reading, s.LampDBFS-p.SamplePeak); !(left >= room) {
			room, result.Levels, result.Decides = left, all[c], c+1
		}
		result.Clipped += m.rms[c].Clipped()
	}
	if len(all) > 1 {
		result.ByChannel = all
	}
	if m.loudness != nil {
		result.Integrated = Level(m.loudness.Integrated())
		result.MomentaryMax = Level(m.loudness.MaxMomentary())
		result.ShortTermMax = Level(m.loudness.MaxShortTerm())
	}
	return result
}
