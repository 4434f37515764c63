package drills

import (
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/meter"
	"slowneedle/audio/source"
	"slowneedle/drills/ladder"
)

// guessingGuide is the document with the table of what guessing earns.
const guessingGuide = "../assets/guide/guessing.md"

// guessSteps are the steps of the table, guessRounds how many rounds of each are
// played.
var guessSteps = []int{1, 6, 12, 18, 24}

const guessRounds = 40

// underTable is what one can know of a family without listening: how far its peaks run
// above the needle, dB (the medians of assets/guide/formats.md).
var underTable = map[source.Family]float64{source.Steady: 0, source.Voice: 6, source.Plucked: 12, source.Struck: 16, source.Ensemble: 10}

// guess is a mechanical way to answer: without listening, and without looking at more
// than its name tells. ok is false in a drill that does not have what it looks at.
type guess struct {
	name   string
	answer func(e *Exercise, usual map[int]float64) (t Take, ok bool)
}

var guesses = []guess{
	{"always the same", sameAnswer},
	{"the lamp alone", lampAlone},
	{"needle and family table", needleAndTable},
}

// settled is a take that moves controls at once and is locked ten seconds later, or when
// the time is over.
func settled(e *Exercise, to map[int]float64) Take {
	t := Take{LockAt: 10 * audio.Rate}
	if e.Drill.FixedLength {
		t.LockAt = int64(e.Seconds * audio.Rate)
	}
	for i, c := range e.Controls {
		if v, ok := to[i]; ok && !c.Fixed {
			t.Moves = append(t.Moves, Move{At: 4800, Control: i, To: max(c.Min, min(c.Max, math.Round(v/c.Step)*c.Step))})
		}
	}
	return t
}

// sameAnswer gives in every round what was right in the middle of others.
func sameAnswer(e *Exercise, usual map[int]float64) (Take, bool) {
	switch {
	case e.Ask.Number:
		n := usual[0]
		return Take{LockAt: 10 * audio.Rate, Number: &n}, true
	case len(e.Ask.Choices) > 0:
		first := 0
		return Take{LockAt: 10 * audio.Rate, Choice: &first}, true
	}
	return settled(e, usual), true
}

// rightIn is where each control belongs, or what is to be called, in a round.
func rightIn(e *Exercise) map[int]float64 {
	t := e.ShowMe()
	right := map[int]float64{}
	if t.Number != nil {
		right[0] = *t.Number
	}
	for _, m := range t.Moves {
		right[m.Control] = m.To
	}
	return right
}

// oneFader reports whether a round asks for one setting of one fader.
func oneFader(e *Exercise) bool {
	free := 0
	for _, c := range e.Controls {
		if !c.Fixed {
			free++
		}
	}
	return free == 1 && faders(e) && len(e.Channels) == 1 && e.Channels[0].Curve == nil && !e.Ask.Number && len(e.Ask.Choices) == 0
}

// faders reports whether the controls are those of the channels.
func faders(e *Exercise) bool {
	return len(e.Channels) > 0 && len(e.Controls) == len(e.Channels) && e.Controls[0].Min == desk.FaderMin
}

// lampAlone brings the fader up until the lamp lights for the first time.
func lampAlone(e *Exercise, _ map[int]float64) (Take, bool) {
	if !oneFader(e) || e.View.LampCovered {
		return Take{}, false
	}
	return settled(e, map[int]float64{0: e.Rig.LampDBFS - peakSeen(e)}), true
}

// needleAndTable looks at the needle and believes the table about the peaks.
func needleAndTable(e *Exercise, _ map[int]float64) (Take, bool) {
	switch {
	case !faders(e):
		return Take{}, false
	case e.Ask.Number:
		n := underTable[e.Channels[0].Sound.Family]
		return Take{LockAt: 10 * audio.Rate, Number: &n}, true
	case len(e.Ask.Choices) > 0 || e.Channels[0].Curve != nil || e.View.NeedleCovered:
		return Take{}, false
	}
	reads := func(i int) float64 { // at fader 0 dB, in VU
		top := math.Inf(-1)
		for _, ch := range e.Channels[i].Sound.Channels {
			top = max(top, meter.ReadLoop(ch, audio.Rate).Reading)
		}
		return top + e.Channels[i].StartGainDB - e.Rig.ReferenceDBFS
	}
	to := map[int]float64{}
	for i := range e.Channels {
		switch {
		case e.Drill.ID == MatchEar: // whose needles are to read the same
			to[i] = reads(0) - reads(i)
		case e.Drill.Records:
			peaks := e.Rig.CeilingDBFS - e.Rig.ReferenceDBFS - 3 - underTable[e.Channels[i].Sound.Family]
			if e.Rig.Soft() {
				peaks += 3 + 1 // a little past the first flash
			}
			to[i] = min(e.Rig.TargetVU, peaks) - reads(i)
		default:
			to[i] = e.Rig.TargetVU - reads(i)
		}
	}
	return settled(e, to), true
}

// shares plays a drill on a step and returns the share that each guess is right in, in
// percent; -1 if it cannot be made.
func shares(t *testing.T, drill string, step int) []int {
	made := func(seed uint64, i int) *Exercise {
		e, err := NewExercise(drill, seed, i, step, Settings{})
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	seen := map[int][]float64{}
	for i := range guessRounds / 4 {
		for control, v := range rightIn(made(77, i)) {
			seen[control] = append(seen[control], v)
		}
	}
	usual := map[int]float64{}
	for control, all := range seen {
		slices.Sort(all)
		usual[control] = all[len(all)/2]
	}
	right := make([]int, len(guesses))
	for i := range guessRounds {
		e := made(78, i)
		for g, guess := range guesses {
			take, ok := guess.answer(e, usual)
			if !ok || right[g] < 0 {
				right[g] = -1
				continue
			}
			v, err := e.Judge(take)
			if err != nil {
				t.Fatalf("%s, step %d, round %d, %s: %v", drill, step, i, guess.name, err)
			}
			if v.InWindow {
				right[g]++
			}
		}
	}
	for g, n := range right {
		if n >= 0 {
			right[g] = (100*n + guessRounds/2) / guessRounds
		}
	}
	return right
}

// Guessing does not pay, and how little it pays stands in the guide: for each drill and
// step the share of rounds in which a mechanical answer is right. The table is made with
// -update; without it one step of
// it is played again, and none with -short.
func TestGuessing(t *testing.T) {
	if testing.Short() && !*update {
		return
	}
	data, err := os.ReadFile(guessingGuide)
	if err != nil && !*update {
		t.Fatal(err)
	}
	head, table, _ := strings.Cut(string(data), "| drill |")
	lines := strings.Split(table, "\n")
	var made strings.Builder
	for _, d := range Drills() {
		cells := make(map[string][]string)
		for n, step := range guessSteps {
			if !*update && n != 2 {
				for _, g := range guesses {
					cells[g.name] = append(cells[g.name], "")
				}
				continue
			}
			for i, share := range shares(t, d.ID, step) {
				cell := "–"
				if share >= 0 {
					cell = fmt.Sprint(share)
				}
				cells[guesses[i].name] = append(cells[guesses[i].name], cell)
			}
		}
		for _, g := range guesses {
			line := fmt.Sprintf("| %s | %s | %s |", d.Name, g.name, strings.Join(cells[g.name], " | "))
			fmt.Fprintln(&made, line)
			if !*update && !slices.ContainsFunc(lines, func(l string) bool { return sameCells(l, line) }) {
				t.Errorf("the guide does not have %q; make it again with -update", line)
			}
		}
	}
	if !*update {
		return
	}
	text := head + "| drill | answer | " + strings.Trim(strings.ReplaceAll(fmt.Sprint(guessSteps), " ", " | "), "[]") + " |\n| --- | --- |" + strings.Repeat(" --- |", len(guessSteps)) + "\n" + made.String()
	if err := os.WriteFile(guessingGuide, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// sameCells reports whether two lines of a table have the same cells where the second
// has any.
func sameCells(line, want string) bool {
	have, wanted := strings.Split(line, "|"), strings.Split(want, "|")
	if len(have) != len(wanted) {
		return false
	}
	for i, w := range wanted {
		if w = strings.TrimSpace(w); w != "" && strings.TrimSpace(have[i]) != w {
			return false
		}
	}
	return true
}

// From the step on where understanding begins no mechanical answer keeps on the ladder,
// which needs 71 % right, but for drills in which reading the needle is what is asked;
// and at the top the same answer earns next to nothing, with choices what chance has.
func TestUnderstandingBegins(t *testing.T) {
	const begins, keeps = 12, 71
	data, err := os.ReadFile(guessingGuide)
	if err != nil {
		t.Fatal(err)
	}
	_, table, _ := strings.Cut(string(data), "| drill |")
	rows := 0
	for _, d := range Drills() {
		for _, g := range guesses {
			for line := range strings.SplitSeq(table, "\n") {
				cells, ok := strings.CutPrefix(line, fmt.Sprintf("| %s | %s | ", d.Name, g.name))
				if !ok {
					continue
				}
				rows++
				for n, cell := range strings.Split(strings.Trim(cells, " |"), " | ") {
					share, err := strconv.Atoi(cell)
					if err != nil { // a dash
						continue
					}
					asked := g.name == "needle and family table" && (d.ID == LineUp || d.ID == WholeDesk)
					if guessSteps[n] >= begins && share >= keeps && !asked {
						t.Errorf("%s, %s: %d %% at step %d", d.Name, g.name, share, guessSteps[n])
					}
					most := 15
					if d.NoError {
						most = 100/2 + 5 // two choices
					}
					if g.name == "always the same" && guessSteps[n] == ladder.Top && share > most {
						t.Errorf("%s, %s: %d %% at the top", d.Name, g.name, share)
					}
				}
			}
		}
	}
	if want := len(Drills()) * len(guesses); rows != want {
		t.Errorf("the guide has %d rows, want %d", rows, want)
	}
}
