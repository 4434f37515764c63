package sound

import (
	"math"

	"slowneedle/audio"
	"slowneedle/audio/desk"
)

// Column is what the meters showed in one stretch of a round.
type Column struct {
	Peak, Needle float64 // dBFS
	Clipped      bool
	Channels     []float64 // needles of the channels' own, dBFS, where they are kept
}

// History is a round's meters, a column every twentieth of a second. The zero
// value is that of a round that has not begun.
type History struct {
	cols    []Column
	first   int64 // columns that were dropped before these
	last    int64 // position of the newest snapshot
	clipped int64
	buf     []desk.Snapshot
}

// ColumnFrames is how long a column is, in frames.
const ColumnFrames = audio.Rate / 20

const keepColumns = 20 * 600 // ten minutes

// Take adds what a desk has shown since, with the needles of so many channels.
func (h *History) Take(d *desk.Desk, channels int) {
	h.buf = d.Since(h.buf[:0], h.last)
	for _, s := range h.buf {
		needles := make([]float64, 0, channels)
		for i := range channels {
			if c, ok := d.ChannelAt(i, s.At); ok {
				needles = append(needles, c.NeedleDBFS)
			}
		}
		h.Add(s, needles...)
	}
}

// Add adds a snapshot, and what the needles of channels show.
func (h *History) Add(s desk.Snapshot, channels ...float64) {
	i := s.At/ColumnFrames - h.first
	for int64(len(h.cols)) <= i {
		h.cols = append(h.cols, Column{Peak: math.Inf(-1), Needle: math.Inf(-1)})
	}
	if drop := len(h.cols) - keepColumns; drop > 0 {
		h.cols = append(h.cols[:0], h.cols[drop:]...)
		h.first += int64(drop)
		i -= int64(drop)
	}
	if i < 0 {
		return
	}
	c := &h.cols[i]
	c.Peak = math.Max(c.Peak, math.Max(s.PeakDBFS[0], s.PeakDBFS[1]))
	c.Needle = math.Max(s.NeedleDBFS[0], s.NeedleDBFS[1])
	c.Channels = channels
	c.Clipped = c.Clipped || s.Clipped > h.clipped
	h.clipped, h.last = s.Clipped, s.At
}

// Tail are the last columns, n at most, and the position at which the first of
// them begins, in frames from the start of the round.
func (h *History) Tail(n int) (cols []Column, from int64) {
	skip := max(0, len(h.cols)-n)
	return h.cols[skip:], (h.first + int64(skip)) * ColumnFrames
}

// Seconds is how long the round has been.
func (h *History) Seconds() float64 {
	return float64(h.first+int64(len(h.cols))) * ColumnFrames / audio.Rate
}
