package desk

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Result is how a replay ended.
type Result struct {
	Frames  int64
	Last    Snapshot  // the newest at or before the end
	FaderDB []float64 // where each fader ended

	// Of all the frames replayed.
	Flicks     int        // of the lamp
	LitFrames  int64      // for which the lamp was lit, in steps of a snapshot
	Clipped    int64      // samples at or beyond full scale, of the bus channel that has more
	PeakDBFS   [2]float64 // highest sample
	NeedleDBFS [2]float64 // highest level of the needle
	MoveCount  int        // moves that changed a fader
}

// Replay runs a desk without a device for a number of frames and returns how
// it ended. A move takes effect at the first block at or after its position,
// as it did when it was made; with the moves of a desk that played, all
// snapshots are the same again. The medium is left out: meters do not see it.
//
// The error names the wrong field of the Config or the wrong move.
func Replay(c Config, moves []Move, frames int64) (Result, error) {
	return Watch(c, moves, frames, nil)
}

// Watch is Replay with every snapshot shown to a function, which may be nil,
// as it comes, the first at position 0.
func Watch(c Config, moves []Move, frames int64, each func(Snapshot)) (Result, error) {
	d, err := build(c, withMeters)
	if err != nil {
		return Result{}, err
	}
	moves, err = d.inOrder(moves)
	if err != nil {
		return Result{}, err
	}
	low := math.Inf(-1)
	r := Result{
		Frames: max(frames, 0), PeakDBFS: [2]float64{low, low},
		NeedleDBFS: [2]float64{low, low},
	}
	var fresh []Snapshot
	from := int64(-1)
	see := func() {
		fresh = d.log.since(fresh[:0], from)
		for _, s := range fresh {
			if s.At > frames {
				break
			}
			for ch := range 2 {
				r.PeakDBFS[ch] = max(r.PeakDBFS[ch], s.PeakDBFS[ch])
				r.NeedleDBFS[ch] = max(r.NeedleDBFS[ch], s.NeedleDBFS[ch])
			}
			if s.Lit {
				r.LitFrames += s.At - r.Last.At
			}
			r.Last, from = s, s.At
			if each != nil {
				each(s)
			}
		}
	}
	see()
	for d.made < frames {
		moves = d.ask(moves)
		d.next()
		if d.made%snapshotEvery < block {
			see()
		}
	}
	r.Flicks, r.Clipped = r.Last.Flicks, r.Last.Clipped
	for _, s := range d.channels {
		r.FaderDB = append(r.FaderDB, float64(s.at)/10)
	}
	r.MoveCount = len(d.log.allMoves())
	return r, nil
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
// the sound does: ready for a Compare. The error names the
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
	d, err := build(c, withMedium)
	if err != nil {
		return out, err
	}
	moves, err = d.inOrder(moves)
	if err != nil {
		return out, err
	}
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
	}
	for ch := range out {
		out[ch] = d.record[ch][first : first+frames]
	}
	return out, nil
}

// inOrder checks moves and puts them in order of position.
func (d *Desk) inOrder(moves []Move) ([]Move, error) {
	for i, m := range moves {
		if m.Channel < 0 || m.Channel >= len(d.channels) {
			return nil, fmt.Errorf("desk: move %d is of channel %d: there are %d, counted from 0", i, m.Channel, len(d.channels))
		}
		if math.IsNaN(m.FaderDB) {
			return nil, fmt.Errorf("desk: fader_db of move %d is not a number", i)
		}
	}
	moves = slices.Clone(moves)
	slices.SortStableFunc(moves, func(a, b Move) int { return cmp.Compare(a.At, b.At) })
	return moves, nil
}

// ask requests the moves due for the next block and returns the rest.
func (d *Desk) ask(moves []Move) []Move {
	for len(moves) > 0 && moves[0].At <= d.made {
		d.SetFader(moves[0].Channel, moves[0].FaderDB)
		moves = moves[1:]
	}
	return moves
}
