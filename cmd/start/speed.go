package main

import (
	"errors"
	"fmt"
	"maps"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"
)

// budget is a figure that is promised, or worth knowing, and the benchmark that reports it.
type budget struct {
	what   string
	bench  string // of go test: the package, the benchmark, and more flags
	unit   string // of the figure, as the benchmark reports it
	format string
	promise
}

// promise bounds a figure; the zero promise does not.
type promise struct {
	word  string // "at most" or "at least"
	bound float64
}

func most(bound float64) promise  { return promise{"at most", bound} }
func least(bound float64) promise { return promise{"at least", bound} }

const (
	chain  = "./audio/desk ^BenchmarkPull$ -cpu 1"
	window = "./game/window ^BenchmarkWindow$ -benchtime 1x -count 1"
	page   = "./cmd/slowneedle/browser ^BenchmarkFirstScreen$ -benchtime 1x"
)

// budgets lists what is promised, and the benchmarks that measure it.
var budgets = []budget{
	{"live chain: stereo 48 kHz, all meters, tape, one core, times real time", chain, "x-real-time", "%.0f", least(100)},
	{"allocations of a block of it", chain, "allocs/op", "%.0f", most(0)},
	{"a new round ready, slowest family", "./drills ^BenchmarkRound$", "ms/op", "%.1f ms", most(16)},
	{"a round of any drill at any step: of the window's thread", "./game/practice ^BenchmarkOnWindow$ -benchtime 1x", "held-ms", "%.1f ms", most(16)},
	{"a round of the slowest drill ready, beside that thread", "./drills ^BenchmarkExercise$", "ms/op", "%.0f ms", promise{}},
	{"measure, 10 min stereo 24 bit, times as fast as ffmpeg ebur128=peak=true", "./audio/measure ^BenchmarkRatio$ -benchtime 3x -count 1", "times-faster", "%.1f", least(10)},
	{"check of 1,000 hand-ins of 10 rounds: set the take on a digital rig", "./drills/class/handin ^BenchmarkCheck$/^digital$", "cpu-s/1000", "%.1f s", most(1)},
	{"the same on tape", "./drills/class/handin ^BenchmarkCheck$/^tape$", "cpu-s/1000", "%.1f s", most(10)},
	{"the same of the whole desk", "./drills/class/handin ^BenchmarkCheck$/^desk$ -count 1", "cpu-s/1000", "%.0f s", most(60)},
	{"class server: 300 hand in at once, 99 of 100 are answered within", "./drills/class/server ^BenchmarkAtOnce$/^300$ -benchtime 3x -count 1", "s-p99", "%.2f s", most(0.5)},
	{"class server: 1,000 hand in at once, 99 of 100 are answered within", "./drills/class/server ^BenchmarkAtOnce$/^1000$ -benchtime 1x -count 1", "s-p99", "%.2f s", most(1.5)},
	{"judge what came back of a series of 20 rounds of 30 s, times real time", "./drills/series ^BenchmarkJudge$ -benchtime 1x -count 1", "x-real-time", "%.0f", least(30)},
	{"window: processor for a frame of a round, drawn by software at 1280x800, less an empty window's", window, "own-ms/frame", "%.1f ms", most(2)},
	{"of that the program's own drawing", window, "drawing-ms/frame", "%.1f ms", promise{}},
	{"an empty window's frame", window, "empty-ms/frame", "%.1f ms", promise{}},
	{"frames a second", window, "frames/s", "%.0f", promise{}},
	{"window: first frame after the start, the best of three", window, "first-ms", "%.0f ms", most(300)},
	{"window: of a core while the first screen stands", window, "home-%", "%.0f %%", promise{}},
	{"window: of a core while a round plays, drawn by software", window, "round-%", "%.0f %%", promise{}},
	{"window: a tick of progress open with 5,000 takes", "./game ^BenchmarkProgressTick$", "ms/op", "%.3f ms", most(0.2)},
	{"browser edition, compressed", page, "MB", "%.2f MB", most(4.5)},
	{"browser edition: first screen, cold, the best of three", page, "s-cold", "%.1f s", most(3.9)},
	{"what is seen against what is heard", "./audio/output ^BenchmarkHeardIsHeard$ -benchtime 1x -count 1", "ms-off", "%.1f ms", most(20)},
}

// speed measures all budgets and prints the table. It needs the machine to
// itself: on a busy one the figures say little.
func speed(args []string) error {
	if len(args) > 0 {
		return fmt.Errorf("speed takes no %q", args[0])
	}
	if err := installMissing(packagesToTest()); err != nil {
		return err
	}
	stop, err := virtualDisplay()
	if err != nil {
		return err
	}
	defer stop()
	var table strings.Builder
	w := tabwriter.NewWriter(&table, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "what\tbudget\tmeasured\tverdict")
	measured := map[string]results{}
	var failed []error
	for _, b := range budgets {
		r, known := measured[b.bench]
		if !known {
			fmt.Println("start: measuring:", b.what)
			r, err = bench(b.bench)
			failed = append(failed, err)
			measured[b.bench] = r
		}
		if len(r) > 0 && len(r[b.unit]) == 0 {
			failed = append(failed, fmt.Errorf("%s: no benchmark reports %s", b.what, b.unit))
		}
		budget, value, verdict := b.row(r)
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", b.what, budget, value, verdict)
	}
	w.Flush()
	fmt.Printf("\n%s/%s, %d cores%s\n%s", runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), load(), table.String())
	return errors.Join(failed...)
}

// row is the budget's line of the table.
func (b budget) row(r results) (budget, value, verdict string) {
	budget, verdict = "-", "-"
	v, part, ok := r.worst(b.unit, b.word == "at least")
	if b.word != "" {
		budget = b.word + " " + fmt.Sprintf(b.format, b.bound)
		verdict = "kept"
		if b.word == "at most" && v > b.bound || b.word == "at least" && v < b.bound {
			verdict = "over"
		}
	}
	if !ok {
		return budget, "not measured", "-"
	}
	return budget, fmt.Sprintf(b.format, v) + part, verdict
}

// results are the figures of benchmarks: by unit, then by name, one for each run.
type results map[string]map[string][]float64

// worst returns the worst of the benchmarks in a unit, each by the best of its
// runs: what else the machine does slows a run down, and nothing speeds it up. Of
// several, part tells which: of BenchmarkRound/voice-2, " (voice)".
func (r results) worst(unit string, higher bool) (value float64, part string, ok bool) {
	best, worse := slices.Min[[]float64], func(a, b float64) bool { return a > b }
	if higher {
		best, worse = slices.Max[[]float64], func(a, b float64) bool { return a < b }
	}
	for _, name := range slices.Sorted(maps.Keys(r[unit])) {
		v := best(r[unit][name])
		if ok && !worse(v, value) {
			continue
		}
		value, ok = v, true
		if _, sub, ok := strings.Cut(name, "/"); ok && len(r[unit]) > 1 {
			sub, _, _ = strings.Cut(sub, "-")
			part = " (" + sub + ")"
		}
	}
	return value, part, ok
}

// bench runs benchmarks.
func bench(what string) (results, error) {
	f := strings.Fields(what)
	args := slices.Concat([]string{"test", "-run", "^$", "-bench", f[1], "-benchmem", "-count", "3"}, f[2:], f[:1])
	c := exec.Command("go", args...)
	c.Stderr = os.Stderr
	out, err := c.Output()
	if err != nil {
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")
		return nil, fmt.Errorf("the benchmarks %s: %w: %s", what, err, lines[len(lines)-1])
	}
	r, err := parseBench(string(out))
	if err != nil {
		return nil, fmt.Errorf("the benchmarks %s: %w", what, err)
	}
	return r, nil
}

// parseBench reads what go test -bench prints (golang.org/design/14313-benchmark-format):
// a name, the number of runs, then pairs of number and unit. Nanoseconds become
// milliseconds.
func parseBench(out string) (results, error) {
	r := results{}
	for line := range strings.Lines(out) {
		f := strings.Fields(line)
		if len(f) < 4 || len(f)%2 != 0 || !strings.HasPrefix(f[0], "Benchmark") {
			continue
		}
		for i := 2; i < len(f); i += 2 {
			v, err := strconv.ParseFloat(f[i], 64)
			if err != nil {
				return nil, fmt.Errorf("%s: %q is no number", f[0], f[i])
			}
			unit := f[i+1]
			if unit == "ns/op" {
				unit, v = "ms/op", v/1e6
			}
			if r[unit] == nil {
				r[unit] = map[string][]float64{}
			}
			r[unit][f[0]] = append(r[unit][f[0]], v)
		}
	}
	if len(r) == 0 {
		return nil, errors.New("no benchmark ran")
	}
	return r, nil
}

// load returns how busy the machine is, where that can be read (proc(5)): the
// processes that ran or wanted to, on the mean of the last minute.
func load() string {
	data, err := os.ReadFile("/proc/loadavg")
	if err != nil {
		return ""
	}
	busy, _, _ := strings.Cut(string(data), " ")
	if n, err := strconv.ParseFloat(busy, 64); err == nil && n > 1.5*float64(runtime.NumCPU()) {
		return ", load " + busy + ": the machine is busy with other things, and times come out too long"
	}
	return ", load " + busy
}
