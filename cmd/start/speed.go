package main

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"text/tabwriter"
)

// budget is one line of the table of what is promised.
type budget struct {
	what    string
	promise string // empty if there is none
	measure func() (results, error)
	figures []wanted
}

// wanted is a figure that belongs to a budget.
type wanted struct {
	unit   string
	format string
	bound  float64
	higher bool // is better, so that the bound is the least that is promised; else the most
}

func atLeast(bound float64, unit, format string) wanted { return wanted{unit, format, bound, true} }
func atMost(bound float64, unit, format string) wanted  { return wanted{unit, format, bound, false} }
func also(unit, format string) wanted                   { return atMost(math.Inf(1), unit, format) }

// budgets lists what is promised, and the benchmarks that measure it.
func budgets() []budget {
	window := sync.OnceValues(bench("./game/window", "^BenchmarkWindow$", "-benchtime", "1x", "-count", "1"))
	return []budget{
		{"live chain: stereo 48 kHz, all meters, tape, one core", "at least 100 x real time, 0 allocations", bench("./audio/desk", "^BenchmarkPull$", "-cpu", "1"),
			[]wanted{atLeast(100, "x-real-time", "%.0f x"), atMost(0, "allocs/op", "%.0f allocations")}},
		{"a new round ready, slowest family", "under 16 ms", bench("./drills", "^BenchmarkRound$"),
			[]wanted{atMost(16, "ms/op", "%.1f ms")}},
		{"a round of any drill at any step: of the window's thread", "under 16 ms", bench("./game/practice", "^BenchmarkOnWindow$", "-benchtime", "1x"),
			[]wanted{atMost(16, "held-ms", "%.1f ms")}},
		{"a round of the slowest drill, beside that thread", "", bench("./drills", "^BenchmarkExercise$"),
			[]wanted{also("ms/op", "ready after %.0f ms")}},
		{"measure, 10 min stereo 24 bit, beside ffmpeg ebur128=peak=true", "at least 10 x as fast", bench("./audio/measure", "^BenchmarkRatio$", "-benchtime", "3x", "-count", "1"),
			[]wanted{atLeast(10, "times-faster", "%.1f x")}},
		{"check of 1,000 hand-ins of 10 rounds: set the take, digital rig", "under 1 s", bench("./drills/class/handin", "^BenchmarkCheck$/^digital$"),
			[]wanted{atMost(1, "cpu-s/1000", "%.1f s")}},
		{"the same on tape", "under 10 s", bench("./drills/class/handin", "^BenchmarkCheck$/^tape$"),
			[]wanted{atMost(10, "cpu-s/1000", "%.1f s")}},
		{"the same of the whole desk", "under 60 s", bench("./drills/class/handin", "^BenchmarkCheck$/^desk$", "-count", "1"),
			[]wanted{atMost(60, "cpu-s/1000", "%.0f s")}},
		{"class server: 300 hand in at once, 99 of 100 are answered", "within 0.5 s", bench("./drills/class/server", "^BenchmarkAtOnce$/^300$", "-benchtime", "3x", "-count", "1"),
			[]wanted{atMost(0.5, "s-p99", "%.2f s")}},
		{"class server: 1,000 hand in at once, 99 of 100 are answered", "within 1.5 s", bench("./drills/class/server", "^BenchmarkAtOnce$/^1000$", "-benchtime", "1x", "-count", "1"),
			[]wanted{atMost(1.5, "s-p99", "%.2f s")}},
		{"judge what came back of a series of 20 rounds of 30 s", "at least 30 x real time", bench("./drills/series", "^BenchmarkJudge$", "-benchtime", "1x", "-count", "1"),
			[]wanted{atLeast(30, "x-real-time", "%.0f x")}},
		{"window: processor for a frame of a round, software GL, 1280x800, less an empty window's", "at most 2 ms", window,
			[]wanted{atMost(2, "own-ms/frame", "%.1f ms, sound and meters included"), also("drawing-ms/frame", "%.1f ms in the program's own drawing"), also("empty-ms/frame", "an empty window %.1f ms"), also("frames/s", "%.0f frames a second")}},
		{"window: progress open with 5,000 takes", "under 0.2 ms a tick", withDisplay(bench("./game", "^BenchmarkProgressTick$")),
			[]wanted{atMost(0.2, "ms/op", "%.3f ms")}},
		{"window: first frame after the start, the best of three", "under 300 ms", window,
			[]wanted{atMost(300, "first-ms", "%.0f ms")}},
		{"window: processor while the first screen stands", "", window,
			[]wanted{also("home-%", "%.0f %% of a core")}},
		{"window: processor while a round plays", "", window,
			[]wanted{also("round-%", "%.0f %% of a core, drawn by software")}},
		{"browser edition, compressed", "under 4.5 MB", webSize,
			[]wanted{atMost(4.5, "MB", "%.2f MB")}},
		{"browser edition: first screen, cold, the best of three", "under 3.9 s", bench("./cmd/slowneedle/browser", "^BenchmarkFirstScreen$", "-benchtime", "1x"),
			[]wanted{atMost(3.9, "s-cold", "%.1f s")}},
		{"what is seen against what is heard", "within 20 ms", bench("./audio/output", "^BenchmarkHeardIsHeard$", "-benchtime", "1x", "-count", "1"),
			[]wanted{atMost(20, "ms-off", "%.1f ms")}},
	}
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
	var table strings.Builder
	w := tabwriter.NewWriter(&table, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "what\tbudget\tmeasured\tverdict")
	failed := false
	for _, b := range budgets() {
		fmt.Println("start: measuring:", b.what)
		measured, verdict, err := b.row()
		if err != nil {
			measured, verdict, failed = err.Error(), "not measured", true
		}
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", b.what, b.promise, measured, verdict)
	}
	w.Flush()
	fmt.Printf("\n%s/%s, %d cores%s\n%s", runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), load(), table.String())
	if failed {
		return errors.New("not all could be measured; the table says why")
	}
	return nil
}

// row measures a budget.
func (b budget) row() (measured, verdict string, err error) {
	r, err := b.measure()
	if err != nil {
		return "", "", err
	}
	verdict = "kept"
	if b.promise == "" {
		verdict = "-"
	}
	var all []string
	for _, f := range b.figures {
		value, part, err := r.worst(f)
		if err != nil {
			return "", "", err
		}
		if f.higher && value < f.bound || !f.higher && value > f.bound {
			verdict = "over"
		}
		all = append(all, fmt.Sprintf(f.format, value)+part)
	}
	return strings.Join(all, ", "), verdict, nil
}

// results are the figures of benchmarks: by unit, then by name, one for each run.
type results map[string]map[string][]float64

func (r results) add(unit, name string, value float64) {
	if r[unit] == nil {
		r[unit] = map[string][]float64{}
	}
	r[unit][name] = append(r[unit][name], value)
}

// worst returns the worst of the benchmarks in a figure, each by the best of its
// runs: what else the machine does slows a run down, and nothing speeds it up. Of
// several, part tells which: of BenchmarkRound/voice-2, " (voice)".
func (r results) worst(f wanted) (value float64, part string, err error) {
	best, worse := slices.Min[[]float64], func(a, b float64) bool { return a > b }
	if f.higher {
		best, worse = slices.Max[[]float64], func(a, b float64) bool { return a < b }
	}
	if len(r[f.unit]) == 0 {
		return 0, "", fmt.Errorf("no benchmark reports %s", f.unit)
	}
	for i, name := range slices.Sorted(maps.Keys(r[f.unit])) {
		v := best(r[f.unit][name])
		if i > 0 && !worse(v, value) {
			continue
		}
		value = v
		if _, sub, ok := strings.Cut(name, "/"); ok {
			sub, _, _ = strings.Cut(sub, "-")
			part = " (" + sub + ")"
		}
	}
	return value, part, nil
}

// bench returns what runs benchmarks of a package.
func bench(pkg, name string, flags ...string) func() (results, error) {
	return func() (results, error) {
		args := slices.Concat([]string{"test", "-run", "^$", "-bench", name, "-benchmem", "-count", "3"}, flags, []string{pkg})
		c := exec.Command("go", args...)
		c.Stderr = os.Stderr
		out, err := c.Output()
		if err != nil {
			return nil, fmt.Errorf("the benchmarks of %s: %w: %s", pkg, err, lastLine(string(out)))
		}
		r, err := parseBench(string(out))
		if err != nil {
			return nil, fmt.Errorf("the benchmarks of %s: %w", pkg, err)
		}
		return r, nil
	}
}

// withDisplay runs a measurement with a display to draw on.
func withDisplay(measure func() (results, error)) func() (results, error) {
	return func() (results, error) {
		if runtime.GOOS != "linux" {
			return measure()
		}
		name, stop, err := virtualDisplay()
		if err != nil {
			return nil, err
		}
		defer stop()
		was, had := os.LookupEnv("DISPLAY")
		os.Setenv("DISPLAY", name)
		defer func() {
			if os.Unsetenv("DISPLAY"); had {
				os.Setenv("DISPLAY", was)
			}
		}()
		return measure()
	}
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
			r.add(unit, f[0], v)
		}
	}
	if len(r) == 0 {
		return nil, errors.New("no benchmark ran")
	}
	return r, nil
}

// webSize builds the browser edition and counts what a browser loads of it: the
// packed program, not the plain one.
func webSize() (results, error) {
	dir, err := os.MkdirTemp("", "slowneedle-web-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	if err := buildWeb(dir, ""); err != nil {
		return nil, err
	}
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil {
		return nil, err
	}
	bytes := 0.0
	for _, f := range files {
		info, err := os.Stat(f)
		if err != nil {
			return nil, err
		}
		if filepath.Ext(f) != ".wasm" {
			bytes += float64(info.Size())
		}
	}
	r := results{}
	r.add("MB", "size", bytes/1e6)
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

func lastLine(s string) string {
	lines := strings.Split(strings.TrimSpace(s), "\n")
	return lines[len(lines)-1]
}
