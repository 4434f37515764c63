package meter

import (
	"sort"

	"slowneedle/audio"
)

// LampMap knows what a Lamp does over a repeating loop at any threshold. For a loop
// of 16 s making one takes a fraction of a millisecond and asking it a few
// microseconds: fast enough to look through all settings of a fader. It keeps the
// loop's samples, which must not change, and may be asked from several goroutines
// at once.
type LampMap struct {
	channels [][]float32
	frames   int
	rate     int
	hold     int
	cells    []float32 // greatest magnitude of each cell of the loop
}

// busySeconds is the length of the window of Busiest and LitMost.
const busySeconds = 3

const cellFrames = 512

// LampCount is what a lamp does over one turn of a loop in its repeating state:
// what a Lamp that has been running for a turn already does in the next.
type LampCount struct {
	Flicks   int     // lightings up in a turn; 0 if it stays dark, and if it stays lit
	Busiest  int     // the most of them that begin within any three seconds, turn after turn
	LitShare float64 // share of the time it is lit, 0 to 1
	LitMost  float64 // the greatest share it is lit of any three seconds, turn after turn
}

// NewLampMap takes a loop, one slice a channel, all equally long, with its sample
// rate in hertz and the lamp's hold in seconds.
func NewLampMap(rate int, holdSeconds float64, channels ...[]float32) *LampMap {
	m := &LampMap{channels: channels, frames: shortest(channels), rate: rate, hold: int(holdFrames(rate, holdSeconds))}
	m.cells = make([]float32, (m.frames+cellFrames-1)/cellFrames)
	for i := range m.cells {
		from := i * cellFrames
		for _, ch := range channels {
			m.cells[i] = max(m.cells[i], loudest(ch[from:min(from+cellFrames, m.frames)]))
		}
	}
	return m
}

// At returns what a lamp with that threshold, in dBFS, does over the loop. For the
// loop raised by g dB ask for the lamp's threshold less g.
func (m *LampMap) At(thresholdDBFS float64) LampCount {
	t := atLeast(audio.Gain(thresholdDBFS))
	var room [256]flash
	flashes := m.flashes(t, room[:0])
	if len(flashes) == 0 {
		return LampCount{}
	}
	// Close the circle: the last flash may reach round into the first.
	last := len(flashes) - 1
	if flashes[0].from+m.frames-flashes[last].to <= m.hold+1 {
		if last == 0 {
			return LampCount{LitShare: 1, LitMost: 1}
		}
		flashes[last].to = flashes[0].to + m.frames
		flashes = flashes[1:]
	}
	lit := 0
	for i, f := range flashes {
		flashes[i].before = lit
		lit += m.length(f)
	}
	return LampCount{
		Flicks:   len(flashes),
		Busiest:  m.busiest(flashes),
		LitShare: float64(lit) / float64(m.frames),
		LitMost:  m.most(flashes, lit),
	}
}

// Reaches reports whether the loop, over and over again, reaches a threshold in dBFS
// from one frame to another, which is not looked at any more.
func (m *LampMap) Reaches(thresholdDBFS float64, from, to int64) bool {
	t, frames := atLeast(audio.Gain(thresholdDBFS)), int64(m.frames)
	to = min(to, from+frames)
	for from < to {
		at := from % frames
		end := min(frames, at+to-from)
		if int64(m.next(int(at), t)) < end {
			return true
		}
		from += end - at
	}
	return false
}

// next returns the first frame from one on that reaches a magnitude, the number of
// frames if none does.
func (m *LampMap) next(i int, t float32) int {
	for i < m.frames {
		if i%cellFrames == 0 {
			i += cellFrames * first(m.cells[i/cellFrames:], t)
		}
		end := min((i/cellFrames+1)*cellFrames, m.frames)
		found := end
		for _, ch := range m.channels {
			if i < found {
				found = i + first(ch[i:found], t)
			}
		}
		if found < end {
			return found
		}
		i = end
	}
	return m.frames
}

// last returns the last frame that reaches a magnitude, from one that does to another.
func (m *LampMap) last(from, to int, t float32) int {
	for i := min(to, m.frames-1); i > from; {
		cell := i / cellFrames
		begin := max(cell*cellFrames, from+1)
		found := begin - 1
		if m.cells[cell] >= t {
			for _, ch := range m.channels {
				found += 1 + final(ch[found+1:i+1], t)
			}
		}
		if found >= begin {
			return found
		}
		i = begin - 1
	}
	return from
}

// first returns where in samples the first is that reaches a magnitude, their number if
// none does.
func first(x []float32, t float32) int {
	for i, v := range x {
		if abs32(v) >= t {
			return i
		}
	}
	return len(x)
}

// final returns where in samples the last is that reaches a magnitude, -1 if none does.
func final(x []float32, t float32) int {
	for i := len(x) - 1; i >= 0; i-- {
		if abs32(x[i]) >= t {
			return i
		}
	}
	return -1
}

// flash is one lighting of the lamp: the first and the last frame that reach the
// threshold, and how many frames of the turn the flashes before it are lit.
type flash struct{ from, to, before int }

// flashes appends the flashes of one turn, as if the loop stood alone.
func (m *LampMap) flashes(t float32, all []flash) []flash {
	for i := m.next(0, t); i < m.frames; i = m.next(i+1, t) {
		if n := len(all) - 1; n >= 0 && i-all[n].to <= m.hold+1 {
			i = m.last(i, all[n].to+m.hold+1, t)
			all[n].to = i
			continue
		}
		all = append(all, flash{from: i, to: i})
	}
	return all
}

// busiest returns the most flashes that begin within three seconds.
func (m *LampMap) busiest(flashes []flash) int {
	window := busySeconds * m.rate
	begin := func(i int) int { return flashes[i%len(flashes)].from + i/len(flashes)*m.frames }
	most, end := 0, 0
	for i := range flashes {
		for begin(end)-begin(i) < window {
			end++
		}
		most = max(most, end-i)
	}
	return most
}

// most returns the greatest share of three seconds that is lit. A window that
// holds the most begins where a flash begins or ends where one ends: anywhere
// else it can be moved without holding less. lit is the time lit in a turn.
func (m *LampMap) most(flashes []flash, lit int) float64 {
	window := busySeconds * max(m.rate, 1)
	turns := window/m.frames + 1 // so that what is asked of lies behind the first flash
	// before returns how many frames are lit ahead of one, from some turns ago on.
	before := func(at int) int {
		at += turns*m.frames - flashes[0].from
		rest := at%m.frames + flashes[0].from
		i := sort.Search(len(flashes), func(i int) bool { return flashes[i].from > rest }) - 1
		return at/m.frames*lit + flashes[i].before + min(rest-flashes[i].from, m.length(flashes[i]))
	}
	best := 0
	for _, f := range flashes {
		begin, end := f.from, f.from+m.length(f)
		litBegin := turns*lit + f.before
		best = max(best, before(begin+window)-litBegin, litBegin+m.length(f)-before(end-window))
	}
	return float64(best) / float64(window)
}

// length is how many frames a flash is lit.
func (m *LampMap) length(f flash) int { return f.to - f.from + 1 + m.hold }
