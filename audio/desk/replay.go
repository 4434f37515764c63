package desk

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Replay runs a desk without a device for a number of frames and returns the newest
// snapshot at or before the end. A move takes effect at the first block at or after
// its position, as it did when it was made; with the moves of a desk that played, all
// snapshots are the same again. The medium is left out: meters do not see it.
//
// The error names the wrong field of the Config or the wrong move.
func Replay(c Config, moves []Move, frames int64) (Snapshot, error) {
	return Watch(c, moves, frames, func(Snapshot) {})
}

// Watch is Replay with every snapshot given to a function as it comes, the first at
// position 0.
func Watch(c Config, moves []Move, frames int64, each func(Snapshot)) (last Snapshot, err error) {
	d, moves, err := prepare(c, moves)
	if err != nil {
		return last, err
	}
	d.medium = nil
	d.watch = func(s Snapshot) {
		if s.At <= frames {
			each(s)
			last = s
		}
	}
	d.snapshot(0)
	for d.made < frames {
		moves = d.ask(moves)
		d.next()
	}
	return last, nil
}

// Render returns what the medium recorded in a number of frames, the medium's
// delay taken off, so that sample i is what the meters read as sample i.
// Samples of tape may exceed full scale. The error names the
// wrong field of the Config or the wrong move.
func Render(c Config, moves []Move, frames int64) ([2][]float32, error) {
	return record(c, moves, 0, frames)
}

// RenderLoop returns what the medium recorded of one turn of the first
// channel's loop with all faders where they stand. The medium has settled on
// the end of the loop before, so that the recording repeats as seamlessly as
// the sound does: ready for NewCompare. The error names the
// wrong field of the Config.
func RenderLoop(c Config) ([2][]float32, error) {
	if err := c.check(); err != nil {
		return [2][]float32{}, err
	}
	const settle = 64 * block
	return record(c, nil, settle, int64(c.Channels[0].Sound.Len()))
}

// record returns frames of what the medium gives, after a number of frames
// from the ends of the sounds.
func record(c Config, moves []Move, before, frames int64) (out [2][]float32, err error) {
	d, moves, err := prepare(c, moves)
	if err != nil {
		return out, err
	}
	d.bus = nil
	if frames <= 0 {
		return [2][]float32{{}, {}}, nil
	}
	for _, s := range d.channels {
		n := len(s.sound[0])
		s.phase = n - 1 - (int(before)+n-1)%n
	}
	first := before + int64(d.medium.Latency())
	total := (first + frames + block - 1) / block * block
	for ch := range out {
		d.record[ch] = make([]float32, total)
	}
	for d.made < total {
		moves = d.ask(moves)
		d.next()
		if c.Pause != nil {
			c.Pause()
		}
	}
	for ch := range out {
		out[ch] = d.record[ch][first : first+frames]
	}
	return out, nil
}

// prepare makes a desk that is not heard, and checks moves and puts them in order of
// position.
func prepare(c Config, moves []Move) (*Desk, []Move, error) {
	d, err := build(c)
	if err != nil {
		return nil, nil, err
	}
	d.offline = true
	for i, m := range moves {
		if m.Control < 0 || m.Control >= len(d.channels) {
			return nil, nil, fmt.Errorf("desk: move %d is of channel %d: there are %d, counted from 0", i, m.Control, len(d.channels))
		}
		if math.IsNaN(m.To) {
			return nil, nil, fmt.Errorf("desk: to of move %d is not a number", i)
		}
	}
	moves = slices.Clone(moves)
	slices.SortStableFunc(moves, func(a, b Move) int { return cmp.Compare(a.At, b.At) })
	return d, moves, nil
}

// ask requests the moves due for the next block and returns the rest.
func (d *Desk) ask(moves []Move) []Move {
	for len(moves) > 0 && moves[0].At <= d.made {
		d.SetFader(moves[0].Control, moves[0].To)
		moves = moves[1:]
	}
	return moves
}
