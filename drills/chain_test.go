package drills

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// chainFigures is what these tests know of a desk: the figures of the design's table,
// typed once more, and arithmetic of their own.
type chainFigures struct{ ein, channel, fader, bus, converter, input, full float64 }

var chainSteps = []struct {
	level int
	chainFigures
}{
	{1, chainFigures{-124, -68, -92, -84, -88, 0, 24}},
	{8, chainFigures{-125, -70, -90, -80, -88, -4, 24}},
	{14, chainFigures{-126, -72, -90, -76, -84, -4, 18}},
	{ladder.Top, chainFigures{-126, -72, -90, -76, -84, -4, 18}},
}

// gains are those of pad, preamp, fader, bus and recorder.
type gains [5]float64

// at returns the signal-to-noise ratio and the level at the recorder, and the least
// headroom on the way.
func (k chainFigures) at(source, peaks float64, set gains) (snr, end, room float64) {
	pow := func(db float64) float64 { return math.Pow(10, db/10) }
	noise := 0.0
	end, room = source, math.Inf(1)
	for i, s := range []struct{ in, clip float64 }{
		{0, k.input}, {pow(k.ein), 20}, {pow(k.channel), 20}, {pow(k.fader) + pow(k.bus), 20}, {pow(k.converter), k.full},
	} {
		noise = (noise + s.in) * pow(set[i])
		end += set[i]
		room = min(room, s.clip-end-peaks)
	}
	return end - 10*math.Log10(noise), end, room
}

// chainSeen is what there is to see of a chain: its source, and what its best
// setting is said to be.
func chainSeen(t *testing.T, e *Exercise) (source, peaks float64, best gains) {
	t.Helper()
	nodes, _ := e.Levels(Take{})
	for i, s := range e.Stages {
		best[i] = s.Aim + s.HiddenDB
	}
	return nodes[0].LevelDBu, nodes[0].PeakDBu - nodes[0].LevelDBu, best
}

// Over 150 draws a step: the best setting is the highest ratio that any has with 6
// dB of headroom at the level asked for. What is right, 3 dB of headroom and a
// ratio within 2 dB, is one connected region, with the pad in one position,
// 5 to 7 dB of gain wide; 8 dB too little gain, made up at the fader, costs 4 to 8 dB, 12
// dB 8 to 12; a needless pad at least 8 and mostly 11 to 17; 12 dB too much clips. The right gain of
// the preamplifier varies by 8 dB and more, so that none is right throughout.
func TestChainOverManyDraws(t *testing.T) {
	draws := 150
	if testing.Short() {
		draws = 15
	}
	type heard struct { // made once for all steps: what counts of a sound is how far it peaks above its reading
		*source.Sound
		level
	}
	sounds := make([]heard, draws)
	for i := range sounds {
		f := chainDraft(11, i, 8)
		s, v, err := f.sound()
		for err == nil && v.peak-v.reading > 24 {
			s, v, err = f.sound()
		}
		if err != nil {
			t.Fatal(err)
		}
		sounds[i] = heard{s, v}
	}
	for _, row := range chainSteps {
		pads, lies, usual, needless := 0, 0, 0, 0
		least, most := 60.0, 10.0 // gain of the preamplifier, without the pad
		for i := range draws {
			f := chainDraft(11, i, row.level)
			if err := f.chain(sounds[i].Sound, sounds[i].level); err != nil {
				t.Fatal(err)
			}
			e := f.ex
			e.addControls()
			source, peaks, best := chainSeen(t, e)
			target := e.Rig.TargetVU + 4
			where := fmt.Sprintf("step %d, draw %d, source %.1f dBu, peaks %.1f dB above", row.level, i, source, peaks)
			top, end, room := row.at(source, peaks, best)
			if math.Abs(end-target) > 0.06 || room < 5.9 {
				t.Fatalf("%s: the best setting %.1f gives %.2f dBu for %v, with %.2f dB of headroom", where, best, end, target, room)
			}
			if e.Stages[faderStage].HiddenDB != 0 {
				lies++
			}
			if best[0] < 0 {
				pads++
			}
			loss := func(set gains) float64 {
				snr, _, _ := row.at(source, peaks, set)
				return top - snr
			}
			one, padsRight, highest := chainRegion(e, row.chainFigures, source, peaks, target, best)
			if highest > top+0.1 {
				t.Errorf("%s: best is %.2f dB, but %.2f is possible", where, top, highest)
			}
			if !one || padsRight != 1 {
				t.Errorf("%s: what is right is one region: %v; the pad is right in %d positions", where, one, padsRight)
			}
			// How much gain is right with the rest made up later.
			wide := 0
			for g := -15.0; g <= 15; g++ {
				set := best
				set[1], set[2] = set[1]+g, set[2]-g
				if _, _, room := row.at(source, peaks, set); loss(set) <= 2 && room >= 3 {
					wide++
				}
			}
			if best[0] == 0 && !e.Stages[padStage].Fixed {
				least, most = min(least, best[1]), max(most, best[1])
			}
			if wide < 5 || wide > 7 {
				t.Errorf("%s: %d dB of gain are right", where, wide)
			}
			for _, low := range []struct{ by, from float64 }{{8, 4}, {12, 8}} {
				set := best
				set[1] -= low.by
				set[2] = min(set[2]+low.by, 10+e.Stages[faderStage].HiddenDB)
				if cost := loss(set); cost < low.from-0.05 || cost > low.by+0.05 {
					t.Errorf("%s: %v dB too little gain cost %.1f dB", where, low.by, cost)
				}
			}
			if best[0] == 0 && !e.Stages[padStage].Fixed {
				set := best
				set[0], set[1] = -20, min(set[1]+20, 60)
				set[2] += best[1] + 20 - set[1]
				cost := loss(set)
				if needless++; cost > 10.5 && cost < 17.5 {
					usual++
				}
				if cost < 8 || cost > 17.5 {
					t.Errorf("%s: a needless pad costs %.1f dB", where, cost)
				}
			}
			hot := best
			hot[1], hot[2] = hot[1]+12, hot[2]-12
			if _, _, room := row.at(source, peaks, hot); room >= 0 {
				t.Errorf("%s: 12 dB too much leave %.1f dB of headroom", where, room)
			}
		}
		if testing.Short() { // too few draws to tell
			continue
		}
		if row.level >= chainPad && most-least < 8 {
			t.Errorf("step %d: the right gain is %.0f to %.0f dB", row.level, least, most)
		}
		t.Logf("step %d: the pad is needed in %d of %d, needless and dear in %d of %d, the marks lie in %d", row.level, pads, draws, usual, needless, lies)
		if row.level >= chainPad && (pads < draws/3 || pads > draws*2/3 || usual < needless*2/3) || row.level < chainPad && pads > 0 || (lies == draws) != (row.level >= chainLies) {
			t.Errorf("step %d: the draws are not as they should be", row.level)
		}
	}
}

// chainDraft is what a chain is drawn from.
func chainDraft(seed uint64, index, level int) *draft {
	d, _ := DrillByID(Chain)
	return &draft{index: index, level: level, params: ladder.At(level), settings: Settings{Family: Turn(d.Families, seed, index)},
		rng: rand.New(rand.NewPCG(seed, uint64(index))), ex: &Exercise{Drill: d, Level: level}}
}

// chainRegion tries all settings in steps of a decibel, the last control making the
// level what is asked for. It returns whether those that are right are one region:
// from each a straight way leads to the best setting on which all are right; in how many
// positions the pad is right; and the highest ratio with 6 dB of headroom.
func chainRegion(e *Exercise, k chainFigures, source, peaks, target float64, best gains) (one bool, pads int, highest float64) {
	var free []int
	for i, s := range e.Stages {
		if !s.Fixed {
			free = append(free, i)
		}
	}
	last := free[len(free)-1]
	free = free[:len(free)-1]
	top, _, _ := k.at(source, peaks, best)
	one, highest = true, math.Inf(-1)
	seen := map[float64]bool{}
	var try func(set gains, n int)
	try = func(set gains, n int) {
		if n < len(free) {
			s := e.Stages[free[n]]
			for g := s.Min; g <= s.Max; g += max(1, s.Step) {
				set[free[n]] = g + s.HiddenDB
				try(set, n+1)
			}
			return
		}
		set[last] = target - source
		for _, i := range free {
			set[last] -= set[i]
		}
		if s := e.Stages[last]; set[last] < s.Min+s.HiddenDB || set[last] > s.Max+s.HiddenDB {
			return
		}
		snr, _, room := k.at(source, peaks, set)
		if room >= 6 {
			highest = max(highest, snr)
		}
		if room < 3 || top-snr > 2 {
			return
		}
		seen[set[0]] = true
		for part := 0.1; part < 1; part += 0.1 {
			way := set
			for i := range way {
				way[i] += part * (best[i] - way[i])
			}
			if snr, _, room := k.at(source, peaks, way); room < 3-1e-9 || top-snr > 2+1e-9 {
				one = false
			}
		}
	}
	try(gains{}, 0)
	return one, len(seen), highest
}

// chainTake sets all stages to their aims, but for some that are moved away.
func chainTake(e *Exercise, away map[int]float64) Take {
	t := Take{LockAt: audio.Rate}
	for i, s := range e.Stages {
		if !s.Fixed {
			t.Moves = append(t.Moves, Move{Control: 1 + i, To: max(s.Min, min(s.Max, s.Aim+away[i]))})
		}
	}
	return t
}

// chainOf draws a chain of a level that needs the pad, or does not; then there is room for
// nearly as much gain more.
func chainOf(t *testing.T, level int, pad bool) *Exercise {
	t.Helper()
	for i := range 100 {
		e, err := NewExercise(Chain, 17, i, level, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		if (e.Stages[padStage].Aim < 0) == pad && e.Stages[preampStage].Aim <= 46 {
			return e
		}
	}
	t.Fatalf("no chain of step %d with the pad %v", level, pad)
	return nil
}

// The verdict names the stage that was to blame, and by how much.
func TestChainReasons(t *testing.T) {
	for _, row := range []struct {
		name  string
		level int
		pad   bool
		away  map[int]float64
		code  Code
		says  string
	}{
		{"right", 8, false, nil, codeChainIn, "S/N is 0.0 dB below the best"},
		{"less gain", 8, false, map[int]float64{preampStage: -8, faderStage: 8}, codeChainHiss, "8.0 dB too little at the preamp. You made it up at the fader"},
		{"much less gain, late", 14, false, map[int]float64{preampStage: -12, busStage: 12}, codeChainHiss, "12.0 dB too little at the preamp. You made it up at the mix bus"},
		{"a low fader", 14, true, map[int]float64{faderStage: -12, busStage: 12}, codeChainHiss, "12.0 dB too little at the fader. You made it up at the mix bus"},
		{"nowhere made up", 8, true, map[int]float64{preampStage: -9}, codeChainLow, "9.0 dB too little at the preamp. You did not make it up"},
		{"half of it made up", 14, true, map[int]float64{faderStage: -20, busStage: 10}, codeChainLow, "20.0 dB too little at the fader. You did not make it up later: the recorder gets −26.0 VU"},
		{"a needless pad", 8, false, map[int]float64{padStage: -20, preampStage: 20}, codeChainPad, "The pad was not needed. You made up its 20.0 dB at the preamp"},
		{"no pad", 8, true, map[int]float64{padStage: 20, preampStage: -20}, codeChainNoPad, "this source needs the pad"},
		{"too much gain", 1, false, map[int]float64{preampStage: 8, faderStage: -8}, codeChainClipped, "Clipped at the preamp."},
		{"two stages clip, and the first is named", 14, false, map[int]float64{preampStage: 8, faderStage: 4}, codeChainClipped, "Clipped at the preamp."},
		{"little headroom", 1, false, map[int]float64{preampStage: 4, faderStage: -4}, codeChainTight, "of headroom at the preamp."},
		{"too high at the end", 1, false, map[int]float64{preampStage: -2, faderStage: 5.5}, codeChainHot, "3.5 dB too hot. Noise and headroom are right"},
	} {
		e := chainOf(t, row.level, row.pad)
		e.Rig.ToleranceDB = 2
		v := judged(t, e, chainTake(e, row.away))
		if text := v.Headline + " " + v.Reason; v.Code != row.code || !strings.Contains(text, row.says) || v.InWindow != (row.code == codeChainIn) {
			t.Errorf("%s: %s: %s", row.name, v.Code, text)
		}
		if (v.Code == codeChainClipped || v.Code == codeChainNoPad) != (v.Points == 0) {
			t.Errorf("%s: %d points", row.name, v.Points)
		}
	}
}

// What the verdict tells agrees with the arithmetic of this file for any setting,
// and nothing worse is worth more.
func TestChainVerdictFigures(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	for _, row := range chainSteps {
		e, err := NewExercise(Chain, 23, row.level, row.level, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		source, peaks, best := chainSeen(t, e)
		top, _, _ := row.at(source, peaks, best)
		for range 200 {
			take := Take{LockAt: 1}
			var set gains
			for i, s := range e.Stages {
				to := s.Aim
				if !s.Fixed {
					to = max(s.Min, min(s.Max, s.Aim+math.Round(16*rng.Float64()-8)))
					if i == padStage {
						to = -20 * float64(rng.IntN(2))
					}
					take.Moves = append(take.Moves, Move{Control: 1 + i, To: to})
				}
				set[i] = to + s.HiddenDB
			}
			v := judged(t, e, take)
			snr, end, room := row.at(source, peaks, set)
			if math.Abs(v.SNRDB-snr) > 0.1 || math.Abs(v.LossDB-top+snr) > 0.1 || math.Abs(v.ReadingVU+4-end) > 0.01 {
				t.Errorf("step %d, %v: %+v; want a ratio of %.2f, %.2f below the best, at %.2f dBu", row.level, set, v, snr, top-snr, end)
			}
			if room >= 0 && math.Abs(v.HeadroomDB-room) > 0.01 || (room < -0.06) != (v.HeadroomDB < -0.06) {
				t.Errorf("step %d, %v: headroom %.2f, want %.2f", row.level, set, v.HeadroomDB, room)
			}
			right := room > 3.05 && top-snr < 1.95 && math.Abs(end-e.Rig.TargetVU-4) < e.Rig.ToleranceDB-0.06
			wrong := room < 2.94 || top-snr > 2.06 || math.Abs(end-e.Rig.TargetVU-4) > e.Rig.ToleranceDB+0.06
			if right && !v.InWindow || wrong && v.InWindow || v.InWindow != (v.Points == 100) || room < -0.06 && v.Points > 0 {
				t.Errorf("step %d, %v: room %.2f, ratio %.2f below the best: %+v", row.level, set, room, top-snr, v)
			}
		}
	}
}

// What is judged is what is heard: a recording of the desk has the level and the
// noise of the diagram within 0.1 dB, at the best setting and where it hisses.
func TestChainAsHeard(t *testing.T) {
	for _, row := range []struct {
		level int
		away  map[int]float64
	}{{1, nil}, {8, map[int]float64{preampStage: -8, faderStage: 8}}, {ladder.Top, nil}} {
		e := chainOf(t, row.level, false)
		take := chainTake(e, row.away)
		nodes, _ := e.Levels(take)
		end := nodes[len(nodes)-1]
		full := 4 - e.Rig.ReferenceDBFS // dBu
		play := func(c desk.Config, silent bool) []float32 {
			c.Channels = append([]desk.Channel(nil), c.Channels...)
			for i := range e.Stages {
				c.Channels[1+i].FaderDB = e.Setting(take, 1+i)
			}
			if silent {
				c.Channels[0].StartGainDB = -200
				for i := range e.Stages {
					c.Channels[1+i].Stage.NoiseDBFS += HissRaisedDB
				}
			}
			out, err := desk.RenderLoop(c)
			if err != nil {
				t.Fatal(err)
			}
			return out[0]
		}
		square := func(x []float32) float64 {
			sum := 0.0
			for _, v := range x {
				sum += float64(v) * float64(v)
			}
			return sum / float64(len(x))
		}
		// Against the RMS of the source itself, whose reading is the level.
		s := e.Channels[0]
		gain := 10 * math.Log10(square(play(e.Desk(0), false))/square(s.Sound.Channels[0]))
		if want := end.LevelDBu - nodes[0].LevelDBu + s.StartGainDB; math.Abs(gain-want) > 0.1 {
			t.Errorf("step %d: the desk amplifies by %.2f dB, want %.2f", row.level, gain, want)
		}
		noise := 10*math.Log10(2*square(play(e.Desk(0), true))) + full - 0.79 - HissRaisedDB
		if math.Abs(noise-end.NoiseDBu) > 0.1 {
			t.Errorf("step %d: the noise heard is %.2f dBu over 20 kHz, in the diagram %.2f", row.level, noise, end.NoiseDBu)
		}
	}
}
