package returns

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"slowneedle/audio"
)

// frame is one spectrum of a round: its powers as it was sent, and as it came
// back less the noise.
type frame struct {
	at         float64 // its middle, in seconds from the start of the round
	sent, back powers
	clear      [bands]bool // the band stands 10 dB or more above the noise
}

// frames takes the spectra of a round and of what came back of it, both at
// audio.Rate and begun together, between two times, where there is signal: not
// more than 40 dB below the loudest as it was sent, and 10 dB or more above the
// noise as it came back.
func frames(sent, back []float32, noise powers, from, to float64) []frame {
	a := newAnalyser(audio.Rate, window)
	var all []frame
	most := 0.0
	for t := from; t+window <= to; t += hop {
		p := int(math.Round(t * audio.Rate))
		f := frame{at: t + window/2, sent: a.look(sent, p), back: a.look(back, p)}
		most = max(most, f.sent.sum())
		if got := f.back.sum(); got < 10*noise.sum() || got < audioFloor/100 {
			continue
		}
		for i := range f.back {
			f.clear[i] = f.back[i] > 10*noise[i]
			f.back[i] = max(0, f.back[i]-noise[i])
		}
		all = append(all, f)
	}
	return slices.DeleteFunc(all, func(f frame) bool { return f.sent.sum() < most/1e4 })
}

// equaliser returns by how much each band came back higher than that of the
// tone, as a ratio of powers, over all rounds: the medians of the differences
// from band to band, in which a frame counts by the weaker band's share of it.
func equaliser(rounds [][]frame) (eq powers) {
	between := func(i, j int) float64 {
		var all []cell
		for _, r := range rounds {
			for _, f := range r {
				weaker := min(f.sent[i], f.sent[j]) / f.sent.sum()
				if weaker > 1.0/30 && f.clear[i] && f.clear[j] {
					all = append(all, cell{db(f.back[j]/f.sent[j]) - db(f.back[i]/f.sent[i]), weaker})
				}
			}
		}
		if len(all) < 50 {
			return 0
		}
		return weighted(all)
	}
	eq[toneBand] = 1
	for _, next := range []int{1, -1} {
		level := 0.0
		for b := toneBand + next; b >= 0 && b < bands; b += next {
			level += between(b-next, b)
			eq[b] = math.Pow(10, level/10)
		}
	}
	if unevenness(eq) < noEqualiser {
		for b := range eq {
			eq[b] = 1
		}
	}
	return eq
}

// noEqualiser is how uneven bands in dB may be that are not equalised.
const noEqualiser = 0.1

// unevenness is how far an equaliser's bands lie from their mean in dB, as a
// standard deviation.
func unevenness(eq powers) float64 {
	for b, v := range eq {
		eq[b] = db(v)
	}
	floats.AddConst(-floats.Sum(eq[:])/bands, eq[:])
	return floats.Norm(eq[:], 2) / math.Sqrt(bands)
}

// doubt is what the confidence is divided by for an equaliser.
func doubt(eq powers) float64 { return 1 + unevenness(eq)/10 }

// The level over time is taken ten times a second from the frames of 400 ms, as
// the median over their bands. The median, for a tape squeezes the strokes, and
// a coder takes its savings in single bands. Each band counts by its share of what
// was sent in its frame: a coder is free with what is hidden beside that.
const (
	gainWindow = 0.4
	gainStep   = 0.1
)

// gains returns the level of a round against what was sent over time, where at
// least a fifth of the frames have signal.
func gains(all []frame, eq powers, from, to float64) []GainPoint {
	const least = gainWindow / hop / 5
	var points []GainPoint
	var cells []cell
	lo, hi := 0, 0
	for k := 0; ; k++ {
		at := from + float64(k)*gainStep + gainWindow/2
		if at+gainWindow/2 > to {
			return points
		}
		for hi < len(all) && all[hi].at < at+gainWindow/2 {
			hi++
		}
		for lo < hi && all[lo].at < at-gainWindow/2 {
			lo++
		}
		cells = cells[:0]
		for _, f := range all[lo:hi] {
			all := f.sent.sum()
			for b, v := range f.sent {
				if v > all/1000 && f.clear[b] {
					cells = append(cells, cell{db(f.back[b] / v / eq[b]), v / all})
				}
			}
		}
		if float64(hi-lo) >= least && len(cells) > 0 {
			points = append(points, GainPoint{at, weighted(cells)})
		}
	}
}

// The last steady part.
const (
	steadyDB      = 0.3
	steadySeconds = 2.0
	mostTremble   = 1.5 // dB
)

// steady returns the last part of a curve over which the level holds, and the
// level there; false if it does not hold over its end.
func steady(curve []GainPoint) (Span, float64, bool) {
	const (
		apart = int(gainWindow / gainStep) // windows that do not overlap
		few   = 10                         // windows in which half may stand elsewhere
	)
	// How many of the last windows hold so many seconds of signal. After a pause one
	// window shows more than its step.
	end, signal := 0, 0.0
	for ; signal < steadySeconds-1e-9 || end < few; end++ {
		if end == len(curve) {
			return Span{}, math.NaN(), false
		}
		signal += gainStep
		if at := len(curve) - 1 - end; at > 0 && curve[at].At-curve[at-1].At > 1.5*gainStep {
			signal += gainWindow - gainStep
		}
	}
	levels := levelsOf(curve)
	// What the level trembles by anyway, beside a trend.
	var steps []float64
	for i := apart; i < len(levels); i++ {
		steps = append(steps, levels[i]-levels[i-apart])
	}
	trend := median(steps)
	for i, v := range steps {
		steps[i] = math.Abs(v - trend)
	}
	sigma := median(steps) / 0.6745 / math.Sqrt2 // of a normal distribution
	width := min(max(steadyDB, 3*sigma), mostTremble)

	first := len(levels) - end
	level := median(levels[first:])
	off := 0
	for _, v := range levels[first:] {
		if math.Abs(v-level) > width {
			off++
		}
	}
	if off > end/4 || math.Abs(median(levels[len(levels)-few:])-level) > width {
		return Span{}, math.NaN(), false
	}
	for first > 0 && math.Abs(median(levels[first-1:first-1+few])-level) <= width {
		first--
	}
	if first > 0 {
		first = min(first+few/2, len(levels)-end) // half of the last few may stand elsewhere
	}
	return Span{curve[first].At - gainWindow/2, curve[len(curve)-1].At + gainWindow/2}, median(levels[first:]), true
}

func levelsOf(curve []GainPoint) []float64 {
	levels := make([]float64, len(curve))
	for i, p := range curve {
		levels[i] = p.DB
	}
	return levels
}

// moves returns where a curve steps by half a decibel or more: the difference of
// the halves of a second.
func moves(curve []GainPoint) []GainPoint {
	const (
		half  = 5 // windows
		least = 0.5
	)
	levels := levelsOf(curve)
	var all []GainPoint
	first, last, best := 0, 0, 0.0 // where the largest step stands, and it
	for i := half; i+half <= len(curve); i++ {
		d := median(levels[i:i+half]) - median(levels[i-half:i])
		switch {
		case math.Abs(d) < least:
		case math.Abs(d) > math.Abs(best):
			first, last, best = i, i, d
		case d == best:
			last = i
		}
		if best != 0 && (i > last+half || i+half == len(curve)) {
			all = append(all, GainPoint{(curve[first-1].At + curve[last].At) / 2, best})
			best = 0
		}
	}
	return all
}

// cell is the level of one band in one frame.
type cell struct{ db, weight float64 }

// weighted returns the median of cells by their weights: where half of the weight
// lies on either side, between the two cells around that place.
func weighted(cells []cell) float64 {
	slices.SortFunc(cells, func(a, b cell) int { return cmp.Compare(a.db, b.db) })
	half := 0.0
	for _, c := range cells {
		half += c.weight / 2
	}
	sum := 0.0 // up to the middle of the cell
	for i, c := range cells {
		middle := sum + c.weight/2
		if middle >= half {
			if i == 0 {
				return c.db
			}
			before := cells[i-1]
			from := sum - before.weight/2
			return before.db + (c.db-before.db)*(half-from)/(middle-from)
		}
		sum += c.weight
	}
	return cells[len(cells)-1].db
}

func median(x []float64) float64 {
	y := slices.Sorted(slices.Values(x))
	n := len(y)
	return (y[(n-1)/2] + y[n/2]) / 2
}
