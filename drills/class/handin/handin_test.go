package handin

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"slowneedle/audio/desk"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// bench is shared by all tests: rounds are made once.
var bench RoundCache

var evening = time.Date(2026, 3, 3, 18, 30, 0, 0, time.UTC)

// sample is a hand-in of three rounds: shown, too hot, too cold.
var sample = sync.OnceValue(func() []byte {
	s := sheet.New(4711)
	s.Rounds, s.Families = 3, []source.Family{source.Voice, source.Struck}
	return fill(s, "Moonrake", 3)
})

func fill(s sheet.Sheet, who string, takes int) []byte {
	must := func(err error) {
		if err != nil {
			panic(err)
		}
	}
	h, err := Begin(who, s, "slowneedle test", evening)
	must(err)
	for i := range takes {
		r, err := bench.Exercise(h.Sheet, i)
		must(err)
		take := r.ShowMe()
		last := &take.Moves[len(take.Moves)-1]
		last.To = max(last.To+[]float64{0, 3.4, -4.1}[i%3], desk.FaderMin)
		v, err := bench.Judge(h.Sheet, i, take)
		must(err)
		must(h.Add(take, v, evening.Add(time.Duration(i+1)*40*time.Second)))
	}
	data, err := h.File()
	must(err)
	return data
}

func TestCleanCheck(t *testing.T) {
	r := bench.Check(sample())
	if len(r.Findings) != 0 || !r.Sound() || len(r.Verdicts) != 3 {
		t.Fatalf("findings %v, %d verdicts", r.Findings, len(r.Verdicts))
	}
	if !r.HandIn.Complete() || r.HandIn.Who != "Moonrake" {
		t.Errorf("%+v", r.HandIn)
	}
	for i, want := range []struct {
		right bool
		error float64
	}{{true, 0}, {false, 3.4}, {false, -4.1}} {
		v := r.Verdicts[i]
		if v.InWindow != want.right || v.ErrorDB != want.error || v.Reason == "" {
			t.Errorf("round %d: %+v", i+1, v)
		}
	}
	again, err := r.HandIn.File()
	if err != nil || !bytes.Equal(again, sample()) {
		t.Errorf("reading and writing gives another file (%v)", err)
	}
}

// A right answer to every drill hands in and checks clean, and what it asks
// beyond moves is guarded.
func TestEveryDrill(t *testing.T) {
	for _, d := range drills.Drills() {
		s := sheet.New(31)
		s.Drill, s.Rounds, s.Level = d.ID, 2, 5
		h, err := Begin("Salt Moth", s, "slowneedle test", evening)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Rounds {
			e, err := bench.Exercise(s, i)
			if err != nil {
				t.Fatal(err)
			}
			v, err := bench.Judge(s, i, e.ShowMe())
			if err != nil {
				t.Fatal(err)
			}
			if err := h.Add(e.ShowMe(), v, evening.Add(time.Duration(i+1)*3*time.Minute)); err != nil {
				t.Fatal(err)
			}
		}
		data, err := h.File()
		if err != nil {
			t.Fatal(err)
		}
		r := bench.Check(data)
		if len(r.Findings) > 0 || len(r.Verdicts) != 2 || !r.Verdicts[0].InWindow {
			t.Errorf("%s: findings %v", d.ID, r.Findings)
		}
		e, err := s.Exercise(0)
		if err != nil {
			t.Fatal(err)
		}
		info, err := bench.Info(s, 0)
		if err != nil || info.Channels != len(e.Channels) || (info.Kind != "") != (len(e.Channels) == 1) {
			t.Errorf("%s: %+v, %v, of %d channels", d.ID, info, err, len(e.Channels))
		}
		if info.ByLevel && (d.ID == drills.Chain || d.ID == drills.Ride) { // noise, headroom and time count too
			t.Errorf("%s: right by one level alone", d.ID)
		}
		if ch := e.Channels[0]; len(e.Channels) == 1 && !ch.Fixed && ch.Curve == nil && info.Window != [2]float64{ch.WindowDB[0] - ch.AimDB, ch.WindowDB[1] - ch.AimDB} {
			t.Errorf("%s: the window is %v, of the channel %v about %v", d.ID, info.Window, ch.WindowDB, ch.AimDB)
		}
		if n := h.Takes[0].Number; n != nil {
			*n += 30
		} else if c := h.Takes[0].Choice; c != nil {
			*c ^= 1
		} else {
			continue
		}
		if data, err = h.File(); err != nil { // with fresh seals
			t.Fatal(err)
		}
		if r := bench.Check(data); r.Sound() {
			t.Errorf("%s: another answer is not found", d.ID)
		}
	}
}

// leaf is one place in a JSON tree and how to change it.
type leaf struct {
	path string
	set  func(any)
	get  any
	drop func()
}

// leaves lists every value in a tree, and with drop every field and element.
func leaves(path string, v any, set func(any), drop func(), out *[]leaf) {
	*out = append(*out, leaf{path, set, v, drop})
	switch v := v.(type) {
	case map[string]any:
		for k := range v {
			leaves(path+"."+k, v[k], func(x any) { v[k] = x }, func() { delete(v, k) }, out)
		}
	case []any:
		for i := range v {
			leaves(fmt.Sprintf("%s[%d]", path, i), v[i], func(x any) { v[i] = x },
				func() { set(append(append([]any(nil), v[:i]...), v[i+1:]...)) }, out)
		}
	}
}

func tree(data []byte) map[string]any {
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	var v map[string]any
	if err := dec.Decode(&v); err != nil {
		panic(err)
	}
	return v
}

// alterations are ways to change one value.
func alterations(v any) []any {
	switch v := v.(type) {
	case json.Number:
		f, _ := v.Float64()
		return []any{f + 1, f - 1, -f - 0.5, f*10 + 3, 0.125, "12", nil, true, []any{}, json.Number("1e400")}
	case string:
		flip := v
		if v != "" {
			c := byte('0')
			if v[0] == c {
				c = '1'
			}
			flip = string(c) + v[1:]
		}
		return []any{flip, v + "0", v + " ", "", "<script>alert(1)</script>", 5, nil}
	case bool:
		return []any{!v, "true", nil}
	}
	return []any{nil, "x", 1, []any{}, map[string]any{}}
}

// TestEveryFieldIsGuarded changes every single value of a hand-in in many ways,
// leaves out every field and every element, and repeats every element: each is
// found.
func TestEveryFieldIsGuarded(t *testing.T) {
	root := tree(sample())
	var places []leaf
	leaves("", root, func(any) {}, nil, &places)
	tried := 0
	try := func(root any, what string) {
		t.Helper()
		data, err := json.Marshal(root)
		if err != nil || sameJSON(data, sample()) {
			return // a number JSON has no words for, or no change
		}
		tried++
		if r := bench.Check(data); r.Sound() {
			t.Errorf("%s is not found", what)
		}
	}
	for _, p := range places {
		if p.path == "" {
			continue
		}
		for k, x := range alterations(p.get) {
			p.set(x)
			try(root, fmt.Sprintf("%s: change %d", p.path, k))
			p.set(p.get)
		}
		// What is left out shifts what stands beside it: a fresh tree, in which places
		// come in any order.
		root := tree(sample())
		var fresh []leaf
		leaves("", root, func(any) {}, nil, &fresh)
		find(fresh, p.path).drop()
		try(root, p.path+" left out")
	}
	t.Logf("%d changes to %d places, all found", tried, len(places)-1)
	if tried < 1000 {
		t.Errorf("only %d changes were tried", tried)
	}
}

func sameJSON(a, b []byte) bool {
	var x, y any
	json.Unmarshal(a, &x)
	json.Unmarshal(b, &y)
	u, _ := json.Marshal(x)
	v, _ := json.Marshal(y)
	return bytes.Equal(u, v)
}

func find(list []leaf, path string) leaf {
	for _, l := range list {
		if l.path == path {
			return l
		}
	}
	panic(path)
}

// TestForgedVerdicts changes one field of one verdict by more than machines
// differ and makes all seals again, as a forger who reads the source would: the
// replay finds and names it.
func TestForgedVerdicts(t *testing.T) {
	var places []leaf
	leaves("", tree(sample()), func(any) {}, nil, &places)
	var verdicts []string
	for _, p := range places {
		if strings.Contains(p.path, ".verdict.") && !strings.HasSuffix(p.path, "headline") && !strings.HasSuffix(p.path, "reason") {
			verdicts = append(verdicts, p.path)
		}
	}
	rapid.Check(t, func(rt *rapid.T) {
		path := rapid.SampledFrom(verdicts).Draw(rt, "field")
		root := tree(sample())
		var fresh []leaf
		leaves("", root, func(any) {}, nil, &fresh)
		p := find(fresh, path)
		switch v := p.get.(type) {
		case json.Number:
			f, _ := v.Float64()
			by := float64(rapid.IntRange(6, 500).Draw(rt, "by"))
			if strings.Contains(v.String(), ".") {
				by /= 20
			}
			if rapid.Bool().Draw(rt, "down") {
				by = -by
			}
			p.set(f + by)
		case string:
			p.set(v + "x")
		case bool:
			p.set(!v)
		}
		data, _ := json.Marshal(root)
		forged, err := Read(data)
		if err != nil {
			return // refused even before the replay
		}
		data, err = forged.File() // seals made again
		if err != nil {
			rt.Fatal(err)
		}
		r := bench.Check(data)
		field := path[strings.Index(path, ".verdict.")+1:]
		for _, f := range r.Findings {
			if f.Kind == Changed && f.Field == field && strings.Contains(path, fmt.Sprintf("takes[%d]", f.Round-1)) {
				return
			}
		}
		rt.Fatalf("%s: findings %v do not name it", path, r.Findings)
	})
}

// TestSwappedSheet puts another sheet under a hand-in, with its code and with
// fresh seals: the verdicts do not fit it.
func TestSwappedSheet(t *testing.T) {
	h, err := Read(sample())
	if err != nil {
		t.Fatal(err)
	}
	other := h.Sheet
	other.Seed++
	h.Sheet = other
	data, err := h.File()
	if err != nil {
		t.Fatal(err)
	}
	r := bench.Check(data)
	if r.Sound() || r.Findings[0].Field != "code" || !strings.Contains(r.Findings[0].Says.String(), "swapped") {
		t.Errorf("sheet without its code: %v", r.Findings)
	}
	if h.Code, err = other.Code(); err != nil {
		t.Fatal(err)
	}
	if data, err = h.File(); err != nil {
		t.Fatal(err)
	}
	r = bench.Check(data)
	if r.Sound() {
		t.Error("a sheet swapped with its code and fresh seals is not found")
	}
	for _, f := range r.Findings {
		if !strings.HasPrefix(f.Field, "verdict.") {
			t.Errorf("finding %v", f)
		}
	}
}

func TestNamesWhatChanged(t *testing.T) {
	whole := string(sample())
	rows := []struct {
		name, data, says string
		kind             Kind
	}{
		{"truncated", whole[:len(whole)/2], "cut short", Damaged},
		{"empty", "", "empty", Damaged},
		{"no hand-in", `{"format":"slowneedle sheet 2","drill":"take","level":3,"rounds":1,"seed":1}`, `format: it must be "slowneedle hand-in 2"`, Damaged},
		{"another file", `{"version":1,"rounds":[]}`, "format: it is missing; it must be", Damaged},
		{"name", strings.Replace(whole, "Moonrake", "Moonrace", 1), "above the takes was changed", Changed},
		{"two names", strings.Replace(whole, `"who"`, `"who": "Else", "who"`, 1), "who: it is given twice", Damaged},
		{"a moved fader", strings.Replace(whole, `"to": -33`, `"to": -32`, 1), "take was changed", Changed},
		{"a fader off its travel", strings.Replace(whole, `"to": -33`, `"to": -300`, 1), "its range is", Changed},
		{"more than a file may hold", whole + strings.Repeat(" ", MaxFile), "more than", Damaged},
	}
	for _, row := range rows {
		r := bench.Check([]byte(row.data))
		found := false
		for _, f := range r.Findings {
			found = found || f.Kind == row.kind && strings.Contains(f.Says.String(), row.says)
		}
		if !found {
			t.Errorf("%s: findings %v, want one with %q", row.name, r.Findings, row.says)
		}
	}
}

// Cut short anywhere, it is damaged and says so.
func TestEveryTruncation(t *testing.T) {
	whole := bytes.TrimSpace(sample())
	for n := 0; n < len(whole); n += 7 {
		r := bench.Check(whole[:n])
		if Worst(r.Findings) != Damaged || n > 0 && !strings.Contains(r.Findings[0].Says.String(), "cut short") {
			t.Fatalf("the first %d of %d bytes: %v", n, len(whole), r.Findings)
		}
	}
}

func TestDoubts(t *testing.T) {
	s := sheet.New(12)
	s.Rounds, s.Families, s.Time = 5, []source.Family{source.Steady}, 20
	h, err := Begin("Brass Button", s, "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 4 {
		r, err := bench.Exercise(s, i)
		if err != nil {
			t.Fatal(err)
		}
		take := r.ShowMe()
		take.Moves = []drills.Move{{At: 100, To: r.Channels[0].AimDB}}
		take.LockAt = 30 * 48000
		v, err := bench.Judge(h.Sheet, i, take)
		if err != nil {
			t.Fatal(err)
		}
		if err := h.Add(take, v, evening); err != nil {
			t.Fatal(err)
		}
	}
	data, err := h.File()
	if err != nil {
		t.Fatal(err)
	}
	r := bench.Check(data)
	if !r.Sound() || Worst(r.Findings) != Doubt {
		t.Fatalf("findings %v", r.Findings)
	}
	var all strings.Builder
	for _, f := range r.Findings {
		fmt.Fprintln(&all, f)
	}
	for _, says := range []string{"unfinished: 4 of 5", "allows 20 s", "120 s, but it was made in 0 s", "4 of 4 rounds the fader went to the aim"} {
		if !strings.Contains(all.String(), says) {
			t.Errorf("no doubt with %q in\n%s", says, all.String())
		}
	}
}

// straightTakes hands in a take of each of so many rounds, made by change, and
// checks it.
func straightTakes(t *testing.T, rounds int, change func(i int, take *drills.Take, aim float64)) Result {
	t.Helper()
	s := sheet.New(12)
	s.Rounds, s.Families = rounds, []source.Family{source.Steady}
	h, err := Begin("Brass Button", s, "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	for i := range rounds {
		e, err := bench.Exercise(s, i)
		if err != nil {
			t.Fatal(err)
		}
		take := drills.Take{LockAt: 30 * 48000}
		change(i, &take, e.Channels[0].AimDB)
		v, err := bench.Judge(h.Sheet, i, take)
		if err != nil && i > 0 {
			t.Fatal(err)
		}
		if err := h.Add(take, v, evening.Add(time.Duration(i+1)*time.Minute)); err != nil {
			t.Fatal(err)
		}
	}
	data, err := h.File()
	if err != nil {
		t.Fatal(err)
	}
	return bench.Check(data)
}

func moves(n int, db float64) []drills.Move {
	var list []drills.Move
	for i := range n {
		list = append(list, drills.Move{At: int64(100 * i), To: db})
	}
	return list
}

// That the fader goes straight to the aim is a doubt in four rounds and more,
// if those are more than half.
func TestStraightToTheAim(t *testing.T) {
	for _, row := range []struct {
		rounds, straight int
		moves            int
		off              float64
		doubt            bool
	}{
		{8, 8, 1, 0, true},
		{5, 4, 2, 0.1, true},
		{7, 4, 2, -0.1, true},
		{8, 4, 1, 0, false},
		{3, 3, 1, 0, false},
		{5, 5, 3, 0, false},
		{5, 5, 1, 0.2, false},
	} {
		r := straightTakes(t, row.rounds, func(i int, take *drills.Take, aim float64) {
			take.Moves = moves(row.moves, aim+row.off)
			if i >= row.straight {
				take.Moves = moves(1, aim-5)
			}
		})
		doubt := len(r.Findings) == 1 && r.Findings[0].Round == 0 && strings.Contains(r.Findings[0].Says.String(), fmt.Sprintf("in %d of %d rounds the fader went", row.straight, row.rounds))
		if doubt != row.doubt || !row.doubt && len(r.Findings) > 0 {
			t.Errorf("%+v: findings %v", row, r.Findings)
		}
	}
}

// Straight is a take of moves alone, of no more than two, that is right within 0.1 dB; what
// else a drill asks for, a number or a choice, nobody reads off the fader.
func TestWhatIsStraight(t *testing.T) {
	number, choice := 6.5, 1
	for _, row := range []struct {
		name string
		take drills.Take
		off  float64
		want bool
	}{
		{"one move", drills.Take{Moves: moves(1, -9)}, 0, true},
		{"two moves, 0.1 dB low", drills.Take{Moves: moves(2, -9)}, -0.1, true},
		{"three moves", drills.Take{Moves: moves(3, -9)}, 0, false},
		{"0.2 dB high", drills.Take{Moves: moves(1, -9)}, 0.2, false},
		{"a number", drills.Take{Number: &number}, 0, false},
		{"a choice", drills.Take{Choice: &choice}, 0, false},
		{"a choice, with a move", drills.Take{Moves: moves(1, -9), Choice: &choice}, 0, false},
	} {
		if got := (Take{Take: row.take}).straight(drills.Verdict{ErrorDB: row.off}); got != row.want {
			t.Errorf("%s: %v", row.name, got)
		}
	}
}

// A take that cannot be judged does not put the verdicts of those after it
// beside the wrong moves: here every second take is right after three moves, and
// the others wrong after one.
func TestVerdictsStayWithTheirTakes(t *testing.T) {
	r := straightTakes(t, 10, func(i int, take *drills.Take, aim float64) {
		switch {
		case i == 0:
			take.Moves = moves(1, 300)
		case i%2 == 1:
			take.Moves = moves(3, aim)
		default:
			take.Moves = moves(1, aim-5)
		}
	})
	if len(r.Verdicts) != 10 || r.Verdicts[0] != (drills.Verdict{}) || !r.Verdicts[1].InWindow || r.Verdicts[2].InWindow {
		t.Errorf("verdicts %+v", r.Verdicts)
	}
	for _, f := range r.Findings {
		if f.Round != 1 || !strings.Contains(f.Says.String(), "cannot be judged") {
			t.Errorf("finding %v", f)
		}
	}
}

// A hand-in of the first edition of the rules is refused in a sentence, whatever
// its takes look like.
func TestEarlierEdition(t *testing.T) {
	_, err := Read([]byte(`{"format":"slowneedle hand-in 1","takes":[{"moves":[{"at":1,"fader_db":3}]}]}`))
	if err == nil || !strings.Contains(err.Error(), `format: it must be "slowneedle hand-in 2"`) {
		t.Errorf("got %v", err)
	}
}

// Between machines levels may differ by a tenth of a decibel, points by what that
// makes of them, counts of samples by one and 0.1 %; all else not at all.
func TestDifferences(t *testing.T) {
	a := drills.Verdict{FaderDB: -20, HeadroomDB: 3.5, Clipped: 64112, Zone: "dark", Points: 68, Share: 0.75, MoveCount: 9}
	for _, row := range []struct {
		change func(*drills.Verdict)
		field  string
	}{
		{func(v *drills.Verdict) {}, ""},
		{func(v *drills.Verdict) { v.ErrorDB += 0.1 }, ""},
		{func(v *drills.Verdict) { v.HeadroomDB -= 0.1 }, ""},
		{func(v *drills.Verdict) { v.Clipped++ }, ""},
		{func(v *drills.Verdict) { v.Clipped += 64 }, ""},
		{func(v *drills.Verdict) { v.Clipped += 65 }, ""}, // 1 and 0.1 % of 64177
		{func(v *drills.Verdict) { v.Points = 65 }, ""},
		{func(v *drills.Verdict) { v.Points = 64 }, ""},
		{func(v *drills.Verdict) { v.Share += 0.001 }, ""},
		{func(v *drills.Verdict) { v.Share += 0.0017 }, ""},      // 0.001 and 0.1 % of 0.75
		{func(v *drills.Verdict) { v.HeadroomDB -= 0.1034 }, ""}, // 0.1 and 0.1 % of 3.5
		{func(v *drills.Verdict) { v.HeadroomDB -= 0.1037 }, "headroom_db"},
		{func(v *drills.Verdict) { v.Share += 0.0019 }, "share_in_window"},
		{func(v *drills.Verdict) { v.Points = 63 }, "points"},
		{func(v *drills.Verdict) { v.Clipped += 66 }, "clipped_samples"},
		{func(v *drills.Verdict) { v.ErrorDB += 0.2 }, "error_db"},
		{func(v *drills.Verdict) { v.HeadroomDB -= 0.11 }, "headroom_db"},
		{func(v *drills.Verdict) { v.ReadingVU = math.NaN() }, "reading_vu"},
		{func(v *drills.Verdict) { v.Clipped += 70 }, "clipped_samples"},
		{func(v *drills.Verdict) { v.Points = 60 }, "points"},
		{func(v *drills.Verdict) { v.Share += 0.01 }, "share_in_window"},
		{func(v *drills.Verdict) { v.MoveCount++ }, "moves"},
		{func(v *drills.Verdict) { v.Zone = "lit" }, "zone"},
		{func(v *drills.Verdict) { v.InWindow = true }, "in_window"},
	} {
		b := a
		row.change(&b)
		list := differences(a, b)
		if row.field == "" && len(list) > 0 || row.field != "" && (len(list) != 1 || list[0].field != row.field) {
			t.Errorf("differences %v, want %q", list, row.field)
		}
	}
}

func TestNames(t *testing.T) {
	for _, who := range []string{"A", "Moonrake", "Zoë 3", "北斗", "Mc'Fadder-O", strings.Repeat("é", 40), "🎚 7", "🎚", "Зоя", "Ζωή", "Зоя Moth", "O’Neil",
		"می\u200cخواهم", "क\u094d\u200dष", "👩\u200d🚀 Ada", "👩🏽\u200d🚀", "Nguyễn Thị Hằng", "שָׁלוֹם", "🇳🇴 Liv", strings.Repeat("👩🏽", 40), strings.Repeat("👩🏻", 40), strings.Repeat("👩🏿", 40), "🏺", "🐀", "x\u0323\u0331\u0330\u032e"} {
		if err := CheckWho(TidyWho(who)); err != nil {
			t.Errorf("%q: %v", who, err)
		}
	}
	for who, says := range map[string]string{
		"": "missing", "🏻": "missing", "🏿": "missing", " ": "too many", "a  b": "too many", " a": "too many", "a\n": "printed", "a\x00b": "printed", "\u202eevil": "printed",
		"a\u200bb": "printed", strings.Repeat("x", 41): "41 characters", strings.Repeat("é", 41): "41 characters", "...": "needs a letter", "\xff": "printed",
		"a\u00a0b": "printed", "e\u0301": "too many", "a\ufe0fb": "printed", "a" + strings.Repeat("\u0323\u0302", 3): "marks", "x\u0323\u0331\u0330\u032e\u0323": "marks",
		"Tom\u3164": "printed", "Tom\u115f": "printed", "Tom\uffa0": "printed", "Tom\u2800": "printed", "Tom\u034f": "printed", "Tom\u17b4": "printed",
		"Tom\ufe00": "printed", "Tom\U000e0101": "printed", "Tom\u200d": "printed", "\u200cTom": "printed", "T\u200dom": "printed", "To\u200cm": "printed",
		"خ\u200d": "printed", "👩\u200d": "printed", "👩\u200dTom": "printed", "T\u043em": "mixes", "Mo\u03bdika": "mixes", "خ\u200dTom": "printed", "Tom\u200cخ": "printed", "a^\u200d^": "printed", strings.Repeat("👩🏽", 41): "41 characters", "\u2060Tom": "printed", "Tom\u00ad": "printed",
	} {
		if err := CheckWho(who); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", who, err, says)
		}
	}
	// In composed form, without variation selectors and spaces too many.
	for who, tidy := range map[string]string{" Tom \t Moth ": "Tom Moth", "Zoe\u0308": "Zoë", "❤\ufe0f 5": "❤ 5"} {
		if got := TidyWho(who); got != tidy || CheckWho(got) != nil {
			t.Errorf("%q becomes %q, want %q", who, got, tidy)
		}
	}
}

// Names that look alike have one skeleton, others have not.
func TestSkeleton(t *testing.T) {
	for _, alike := range [][]string{
		{"Tom", "tom", "TOM", "Ｔom", "Ｔｏｍ", "\u0422\u041e\u041c", "T0m", "To\u200cm"},
		{"Zoë", "ZOE\u0308", "zoë"},
		{"Ill", "lll", "I11", "|ll"},
		{"می\u200cخواهم", "میخواهم"},
		{"Straße", "STRASSE"},
		{"Ζωή", "ΖΩΉ"},
	} {
		for _, who := range alike[1:] {
			if a, b := Skeleton(alike[0]), Skeleton(who); a != b {
				t.Errorf("%q has %q, %q has %q", alike[0], a, who, b)
			}
		}
	}
	seen := make(map[string]string)
	for _, who := range []string{"Tom", "Tim", "Thom", "Tom B", "TomB", "Zoë", "Zoe", "北斗", "北", "Moonrake", "Moonrace", "👩\u200d🚀", "Tom 2", "Tom 3"} {
		if other, ok := seen[Skeleton(who)]; ok {
			t.Errorf("%q and %q have one skeleton", who, other)
		}
		seen[Skeleton(who)] = who
	}
}

func TestFileName(t *testing.T) {
	h, err := Begin("../../Etc\\pass wd <b>", sheet.New(1), "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	if name := h.FileName(); strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789-.") != "" || strings.Contains(name, "..") {
		t.Errorf("file name %q", name)
	}
}

func TestWorst(t *testing.T) {
	for _, row := range []struct {
		kinds []Kind
		worst Kind
	}{
		{nil, ""}, {[]Kind{Doubt}, Doubt}, {[]Kind{Doubt, Doubt}, Doubt}, {[]Kind{Changed, Doubt}, Changed}, {[]Kind{Doubt, Changed}, Changed},
		{[]Kind{Doubt, Changed, Doubt}, Changed}, {[]Kind{Doubt, Damaged}, Damaged}, {[]Kind{Damaged, Changed}, Damaged},
	} {
		var list []Finding
		for _, k := range row.kinds {
			list = append(list, Finding{Kind: k, Says: said.Plain("x")})
		}
		if got := Worst(list); got != row.worst {
			t.Errorf("the worst of %v is %q, want %q", row.kinds, got, row.worst)
		}
	}
	for f, want := range map[*Finding]string{{Kind: Doubt, Says: said.Plain("x")}: "doubt: x", {Kind: Changed, Round: 1, Says: said.Plain("y")}: "changed: round 1: y"} {
		if f.String() != want {
			t.Errorf("%q, want %q", f, want)
		}
	}
}

// Times that do not fit are a doubt beyond what clocks may differ and what a
// bus ride takes, and not before.
func TestTimes(t *testing.T) {
	arrived := time.Date(2026, 3, 10, 12, 0, 0, 0, time.UTC)
	opened := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	for _, row := range []struct {
		began, ended time.Time
		fields       string
		says         string
	}{
		{arrived.Add(-time.Hour), arrived, "", ""},
		{arrived.Add(-time.Hour), arrived.Add(2 * time.Minute), "", ""},
		{arrived.Add(-time.Hour), arrived.Add(2*time.Minute + time.Second), "ended", "ended on 2026-03-10 12:02, but it had arrived on 2026-03-10 12:00"},
		{arrived.Add(-13 * time.Hour), arrived.Add(-12 * time.Hour), "", ""},
		{arrived.Add(-13 * time.Hour), arrived.Add(-12*time.Hour - time.Second), "ended", "ended on 2026-03-09 23:59 and arrived on 2026-03-10 12:00"},
		{opened.Add(-2 * time.Minute), arrived, "", ""},
		{opened.Add(-2*time.Minute - time.Second), arrived, "began", "started on 2026-03-01 07:57, before its sheet was opened on 2026-03-01 08:00"},
		{time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC), time.Date(2001, 1, 1, 1, 0, 0, 0, time.UTC), "ended began", ""},
	} {
		h := HandIn{Head: Head{Began: row.began, Ended: row.ended}}
		var fields []string
		says := ""
		for _, f := range h.Times(arrived, opened) {
			fields, says = append(fields, f.Field), says+f.Says.String()
			if f.Kind != Doubt || f.Round != 0 {
				t.Errorf("%v", f)
			}
		}
		if strings.Join(fields, " ") != row.fields || !strings.Contains(says, row.says) {
			t.Errorf("%v to %v: %v %q, want %q %q", row.began, row.ended, fields, says, row.fields, row.says)
		}
	}
	if list := (&HandIn{Head: Head{Began: arrived, Ended: arrived}}).Times(arrived, time.Time{}); len(list) > 0 {
		t.Errorf("a sheet of which it is not known when it was opened: %v", list)
	}
}

// A take that was locked after the time allowed, and takes that last longer than
// the hand-in took, are doubts beyond a second, and five.
func TestDoubtsOfTime(t *testing.T) {
	for _, row := range []struct {
		lock    float64 // seconds, of each of two takes
		took    time.Duration
		field   string
		doubts  int
		contain string
	}{
		{21, 40 * time.Second, "", 0, ""},
		{21.2, 40 * time.Second, "lock_at", 2, "locked after 21.2 s; the sheet allows 20 s"},
		{20, 35 * time.Second, "", 0, ""},
		{20, 34 * time.Second, "ended", 1, "its takes last 40 s, but it was made in 34 s"},
	} {
		s := sheet.New(12)
		s.Rounds, s.Families, s.Time = 2, []source.Family{source.Steady}, 20
		h, err := Begin("Brass Button", s, "slowneedle test", evening)
		if err != nil {
			t.Fatal(err)
		}
		for i := range s.Rounds {
			take := drills.Take{Moves: moves(3, -20), LockAt: int64(row.lock * 48000)}
			v, err := bench.Judge(h.Sheet, i, take)
			if err != nil {
				t.Fatal(err)
			}
			if err := h.Add(take, v, evening.Add(time.Duration(i+1)*row.took/2)); err != nil {
				t.Fatal(err)
			}
		}
		h.Ended = evening.Add(row.took)
		data, err := h.File()
		if err != nil {
			t.Fatal(err)
		}
		r := bench.Check(data)
		found := 0
		for i, f := range r.Findings {
			if f.Field != row.field || f.Kind != Doubt || !strings.Contains(f.Says.String(), row.contain) || row.field == "lock_at" && f.Round != i+1 {
				t.Errorf("%+v: %v", row, f)
			}
			found++
		}
		if found != row.doubts {
			t.Errorf("%+v: %d findings: %v", row, found, r.Findings)
		}
	}
}

// The rounds of an exam are those that its secret gives for the hand-in, in their order.
func TestRoundsOfAnotherExam(t *testing.T) {
	n := sheet.New(12)
	n.Rounds, n.Families, n.Exam = 3, []source.Family{source.Steady}, true
	h, err := Begin("Brass Button", n, "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	order := h.Sheet.Draw("secret", h.ID)
	s := &Sitting{Secret: "secret", Starts: 1}
	for i, k := range []int{0, 2, 1} { // the second and the third are swapped
		at := evening.Add(time.Duration(i) * time.Minute)
		if err := h.AddDrawn(drills.Take{Moves: moves(3, -20), LockAt: 10 * 48000}, order[k], at); err != nil {
			t.Fatal(err)
		}
		s.Given, s.Locked = append(s.Given, at), append(s.Locked, at.Add(12*time.Second))
	}
	found := ""
	for _, f := range h.Exam(s, &bench) {
		found += fmt.Sprintln(f.Kind, f.Round, f.Field)
	}
	if found != "changed 2 drawn\nchanged 3 drawn\n" {
		t.Errorf("findings:\n%s", found)
	}
}

// What was changed is named by the round in which it stands.
func TestSealNamesTheRound(t *testing.T) {
	h, err := Read(sample())
	if err != nil {
		t.Fatal(err)
	}
	h.Takes[1].Seal = strings.Repeat("0", 64)
	r := bench.Replay(h)
	if len(r.Findings) != 1 || r.Findings[0].Round != 2 || r.Findings[0].Field != "seal" {
		t.Errorf("findings %v", r.Findings)
	}
	h.HeadSeal = strings.Repeat("0", 64) // then the takes are looked at under the head's seal as it stands
	fields := ""
	for _, f := range bench.Replay(h).Findings {
		fields += fmt.Sprint(f.Round, f.Field, " ")
	}
	if fields != "0head_seal 1seal 2seal 3seal " && fields != "0 head_seal 1 seal 2 seal 3 seal " {
		t.Errorf("findings %q", fields)
	}
}

// A number that JSON does not have is found before anything is compared: no seal can be made.
func TestCannotBeSealed(t *testing.T) {
	h, err := Read(sample())
	if err != nil {
		t.Fatal(err)
	}
	h.Takes[1].Verdict.AimDB = math.NaN()
	found := bench.Replay(h).Findings
	if len(found) == 0 || found[0].Kind != Changed || found[0].Round != 0 || found[0].Field != "seal" || !strings.Contains(found[0].Says.String(), "cannot be sealed") {
		t.Errorf("findings %v", found)
	}
	if _, err := h.File(); err == nil {
		t.Error("it is written")
	}
	if d := (Take{Verdict: h.Takes[1].Verdict, Take: drills.Take{LockAt: 1}}).Digest(); len(d) != 64 { // goes without the verdict
		t.Errorf("its digest is %q", d)
	}
}

// What is wrong with the whole of a hand-in is no round's.
func TestSheetThatCannotBe(t *testing.T) {
	h, err := Read(sample())
	if err != nil {
		t.Fatal(err)
	}
	h.Sheet.Level = 99
	r, last := bench.Replay(h), Finding{}
	for _, f := range r.Findings {
		if last = f; f.Kind != Changed || f.Round != 0 && f.Field != "seal" {
			t.Errorf("finding %v", f)
		}
	}
	if last.Field != "sheet" || last.Round != 0 || !strings.Contains(last.Says.String(), "level: 99") || len(r.Verdicts) > 0 {
		t.Errorf("at last %+v, with %d verdicts", last, len(r.Verdicts))
	}
}

func FuzzHandIn(f *testing.F) {
	f.Add(sample())
	f.Add([]byte(strings.ReplaceAll(string(sample()), "\n", "")))
	hostile, err := os.ReadDir("../../../testdata/class/hostile")
	if err != nil {
		f.Fatal(err)
	}
	for _, e := range hostile {
		data, err := os.ReadFile("../../../testdata/class/hostile/" + e.Name())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		h, err := Read(data)
		if err != nil {
			return
		}
		text, err := h.File()
		if err != nil {
			t.Fatalf("a hand-in that was read cannot be written: %v", err)
		}
		again, err := Read(text)
		if err != nil {
			t.Fatalf("a hand-in that was written cannot be read: %v", err)
		}
		if twice, err := again.File(); err != nil || !bytes.Equal(text, twice) {
			t.Fatalf("it changes by reading and writing (%v)", err)
		}
		if h.Sheet.Rounds <= 3 { // rounds take long to make
			bench.Check(data)
		}
	})
}

// BenchmarkCheck checks hand-ins of ten rounds whose rounds are made already. The
// figure to look at is the processor time that a thousand of them take; on two
// processors it is twice the time on the clock.
func BenchmarkCheck(b *testing.B) {
	digital, tape := drills.DigitalRig(), drills.TapeRig()
	for _, c := range []struct {
		name, drill string
		rig         *drills.Rig
	}{{"digital", drills.SetTake, &digital}, {"tape", drills.SetTake, &tape}, {"desk", drills.WholeDesk, nil}} {
		b.Run(c.name, func(b *testing.B) {
			s := sheet.New(4711)
			s.Drill, s.Rig, s.Level = c.drill, c.rig, 13
			data := fill(s, "Moonrake", 10)
			bench.Check(data)
			b.SetBytes(int64(len(data)))
			before := processorTime()
			for b.Loop() {
				bench.Check(data)
			}
			b.ReportMetric(1000*(processorTime()-before).Seconds()/float64(b.N), "cpu-s/1000")
		})
	}
}
