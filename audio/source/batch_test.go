package source

import (
	"math"
	"runtime"
	"strings"
	"sync"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/meter"
	"slowneedle/audio/source/figures"
)

// batch is sounds that several tests look at, each made once: the first seeds of a
// family at a difficulty, as loops or as takes of so many seconds.
type batch struct {
	family     Family
	difficulty Difficulty
	seconds    float64
	count      int
}

var batches sync.Map // of batch: func() []made

func survey(f Family) []made {
	n := 500
	if testing.Short() {
		n = 160
	}
	return batch{family: f, count: n}.made()
}

func hardest(f Family) []made { return batch{f, Difficulty{1, 1, 1}, 0, 60}.made() }

func takes(f Family) []made {
	n := 40
	if testing.Short() {
		n = 20
	}
	return batch{f, Difficulty{}, 60, n}.made()
}

func (b batch) made() []made {
	do, _ := batches.LoadOrStore(b, sync.OnceValue(b.make))
	return do.(func() []made)()
}

// make makes a batch on all processors, each a stretch of its seeds.
func (b batch) make() []made {
	all := make([]made, b.count)
	n := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for w := range n {
		wg.Go(func() {
			var last []float32
			for seed := w*b.count/n - 1; seed < (w+1)*b.count/n; seed++ {
				if seed < 0 {
					continue
				}
				s, err := Request{Family: b.family, Seed: uint64(seed), Difficulty: b.difficulty, Seconds: b.seconds}.Generate()
				if err != nil {
					panic(err)
				}
				if seed >= w*b.count/n {
					all[seed] = b.look(s, seed, last)
				}
				last = s.Channels[0]
			}
		})
	}
	wg.Wait()
	return all
}

// made is what the tests look at of one generated sound.
type made struct {
	kind     string // without its manner
	full     string
	frames   int
	channels int
	peak     float64 // dBFS
	softest  float64 // peak of the softest 20 ms of a channel, dBFS
	raw      bool
	finite   bool
	print    uint64 // of the samples
	figures  figures.Figures
	growth   float64 // of a take: by how much it peaks higher after its first 12 s, dB
	ending   float64 // the peak of its last 0.1 s against that of all, dB

	// Of plain loops only.
	under      float64 // of the whole loop, by package meter
	seam       joint
	like       float64 // correlation with the sound of the seed before
	modulation []float64
	// Of two channels, the sides against the middle, what their sum loses against
	// their power, and the left against the right, dB.
	width, loss, balance float64
	// Of the first few only.
	clicked  joint // with a click on the seam
	line     unending
	drift    float64
	silence  float64
	unevenly float64
}

// few is how many sounds of a survey are looked at more closely.
const few = 48

func (b batch) look(s *Sound, seed int, last []float32) made {
	m := made{full: s.Kind, frames: s.Len(), channels: len(s.Channels), raw: s.Raw, finite: true, figures: measured(s)}
	m.kind, _, _ = strings.Cut(s.Kind, ", ")
	m.print = 14695981039346656037
	for _, x := range s.Channels {
		for _, v := range x {
			m.print = (m.print ^ uint64(math.Float32bits(v))) * 1099511628211
			if v-v != 0 {
				m.finite = false
			}
		}
	}
	m.peak, m.softest = audio.DB(peak(s, 0, s.Len())), math.Inf(1)
	const step = audio.Rate / 50
	for _, x := range s.Channels {
		for at := 0; at+step <= len(x); at += step {
			m.softest = min(m.softest, audio.DB(magnitude(x[at:at+step])))
		}
	}
	if b.seconds > 0 {
		m.growth = audio.DB(peak(s, 12*audio.Rate, s.Len()) / peak(s, 0, 12*audio.Rate))
		m.ending = audio.DB(peak(s, s.Len()-audio.Rate/10, s.Len())) - m.peak
	}
	if b.seconds > 0 || b.difficulty != (Difficulty{}) {
		return m
	}
	x := s.Channels[0]
	reading := math.Inf(-1)
	for _, x := range s.Channels {
		reading = max(reading, meter.ReadLoop(x, audio.Rate).Reading)
	}
	m.under = m.peak - reading
	m.seam = seam(x)
	m.like = correlation(x, last)
	m.modulation = modulation(x)
	if len(s.Channels) == 2 {
		if other := seam(s.Channels[1]); other.fault() != "" {
			m.seam = other
		}
		m.width, m.loss, m.balance = stereo(x, s.Channels[1])
	}
	if seed < few {
		m.clicked = seam(clicked(x))
		m.line = unbroken(s, room)
		m.drift, m.silence, m.unevenly = drift(x), silence(x), unevenness(x)
	}
	return m
}

// measured measures a sound over as long a passage as recordings are measured over,
// or all of it if it is shorter.
func measured(s *Sound) figures.Figures {
	var ch [][]float32
	for _, x := range s.Channels {
		ch = append(ch, x[:min(len(x), figures.Seconds*audio.Rate)])
	}
	return figures.Of(ch...)
}

// peak is the highest magnitude of a stretch of a sound.
func peak(s *Sound, from, to int) float64 {
	top := 0.0
	for _, x := range s.Channels {
		top = max(top, magnitude(x[from:to]))
	}
	return top
}

// magnitude is the highest of x.
func magnitude(x []float32) float64 {
	var top float32
	for _, v := range x {
		if v > top {
			top = v
		} else if -v > top {
			top = -v
		}
	}
	return float64(top)
}

func correlation(x, y []float32) float64 {
	var xy, xx, yy float64
	for i := range min(len(x), len(y)) {
		a, b := float64(x[i]), float64(y[i])
		xy, xx, yy = xy+a*b, xx+a*a, yy+b*b
	}
	return xy / (math.Sqrt(xx*yy) + 1e-12)
}

func stereo(x, y []float32) (width, loss, balance float64) {
	var mid, side, left, right float64
	for i := range x {
		l, r := float64(x[i]), float64(y[i])
		mid, side = mid+(l+r)*(l+r)/2, side+(l-r)*(l-r)/2
		left, right = left+l*l, right+r*r
	}
	return 10 * math.Log10(side/mid), 10 * math.Log10((left+right)/mid), 10 * math.Log10(left/right)
}
