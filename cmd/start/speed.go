package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"text/tabwriter"
)

// budget is one line of the table of what is promised.
type budget struct {
	what    string
	promise string
	measure func(*meters) (measured string, kept bool, err error)
}

const noPromise = "no promise"

// budgets lists what is promised. Benchmarks measure what is inside the
// program; the window is measured from outside, as it runs.
func budgets() []budget {
	return []budget{
		{"live chain: stereo 48 kHz, all meters, tape, one core", "at least 100 x real time, 0 allocations", func(m *meters) (string, bool, error) {
			r, err := m.bench("./audio/desk", "^BenchmarkPull$", "-cpu", "1")
			if err != nil {
				return "", false, err
			}
			x, allocs := r.best("x-real-time", most), r.best("allocs/op", most)
			return fmt.Sprintf("%.0f x, %.0f allocations", x.value, allocs.value), x.value >= 100 && allocs.value == 0, nil
		}},
		{"a new round ready, slowest family", "under 16 ms", func(m *meters) (string, bool, error) {
			r, err := m.bench("./drills", "^BenchmarkRound$")
			if err != nil {
				return "", false, err
			}
			slow := r.slowest()
			return fmt.Sprintf("%.1f ms (%s)", slow.value/1e6, slow.part()), slow.value < 16e6, nil
		}},
		{"measure, 10 min stereo 24 bit, beside ffmpeg ebur128=peak=true", "at least 2 x as fast", func(m *meters) (string, bool, error) {
			r, err := m.bench("./audio/measure", "^BenchmarkRatio$", "-benchtime", "3x", "-count", "1")
			if err != nil {
				return "", false, err
			}
			x := r.best("times-faster", most).value
			return fmt.Sprintf("%.1f x", x), x >= 2, nil
		}},
		{"judge what came back of a series of 20 rounds of 30 s", "at least 30 x real time", func(m *meters) (string, bool, error) {
			r, err := m.bench("./drills/series", "^BenchmarkJudge$", "-benchtime", "1x", "-count", "1")
			if err != nil {
				return "", false, err
			}
			x := r.best("x-real-time", most).value
			return fmt.Sprintf("%.0f x", x), x >= 30, nil
		}},
		{"window: drawing a frame of a round, software GL, 1280x800", "under 8 ms of processor time", func(m *meters) (string, bool, error) {
			w, err := m.window()
			if err != nil {
				return "", false, err
			}
			return fmt.Sprintf("%.1f ms, sound and meters included; %.1f ms of it in the program's own drawing; an empty window of the library: %.1f ms",
				w.round.perFrame(), w.round.drawing, w.empty), w.round.perFrame() < 8, nil
		}},
		{"window: first frame after the start", "under 500 ms", func(m *meters) (string, bool, error) {
			w, err := m.window()
			if err != nil {
				return "", false, err
			}
			return fmt.Sprintf("%d ms, the best of %d starts", w.first.Milliseconds(), starts), w.first.Milliseconds() < 500, nil
		}},
		{"window: processor while the first screen stands", noPromise, func(m *meters) (string, bool, error) {
			w, err := m.window()
			if err != nil {
				return "", false, err
			}
			return fmt.Sprintf("%.0f %% of a core (%.1f ms a frame)", w.home.share(), w.home.perFrame()), true, nil
		}},
		{"window: processor while a round plays", noPromise, func(m *meters) (string, bool, error) {
			w, err := m.window()
			if err != nil {
				return "", false, err
			}
			return fmt.Sprintf("%.0f %% of a core, drawn by software", w.round.share()), true, nil
		}},
		{"browser edition, compressed", "under 5 MB", func(*meters) (string, bool, error) {
			bytes, err := webSize()
			return fmt.Sprintf("%.2f MB", float64(bytes)/1e6), bytes < 5e6, err
		}},
		{"what is seen against what is heard", "within 20 ms", func(m *meters) (string, bool, error) {
			ms, err := m.seenAndHeard()
			return fmt.Sprintf("%.1f ms", ms), ms <= 20, err
		}},
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
	m := new(meters)
	rows := []row{}
	failed := false
	for _, b := range budgets() {
		fmt.Println("start: measuring:", b.what)
		measured, kept, err := b.measure(m)
		r := row{b.what, b.promise, measured, "kept"}
		switch {
		case err != nil:
			r.measured, r.verdict, failed = err.Error(), "not measured", true
		case !kept:
			r.verdict = "over"
		case b.promise == noPromise:
			r.verdict = "-"
		}
		rows = append(rows, r)
	}
	fmt.Printf("\n%s/%s, %d cores%s\n", runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), load())
	printTable(rows)
	if failed {
		return errors.New("not all could be measured; the table says why")
	}
	return nil
}

type row struct{ what, promise, measured, verdict string }

func printTable(rows []row) {
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "what\tbudget\tmeasured\tverdict")
	for _, r := range rows {
		fmt.Fprintf(w, "%s\t%s\t%s\t%s\n", r.what, r.promise, r.measured, r.verdict)
	}
	w.Flush()
}

// figure is one number of one benchmark.
type figure struct {
	name  string
	value float64
}

// part is the last part of a benchmark's name: of BenchmarkRound/voice-2, voice.
func (f figure) part() string {
	name := f.name[strings.LastIndexByte(f.name, '/')+1:]
	if dash := strings.LastIndexByte(name, '-'); dash > 0 {
		if _, err := strconv.Atoi(name[dash+1:]); err == nil {
			return name[:dash]
		}
	}
	return name
}

// results are the figures of benchmarks by unit.
type results map[string][]figure

func most(a, b float64) bool  { return a > b }
func least(a, b float64) bool { return a < b }

// best is the figure of a unit that comes before all others; zero if there is
// none.
func (r results) best(unit string, before func(a, b float64) bool) figure {
	var best figure
	for i, f := range r[unit] {
		if i == 0 || before(f.value, best.value) {
			best = f
		}
	}
	return best
}

// slowest is the benchmark that takes longest, by the best of its runs: what
// else the machine does slows a run down, and nothing speeds it up.
func (r results) slowest() figure {
	runs := map[string]results{}
	for _, f := range r["ns/op"] {
		if runs[f.name] == nil {
			runs[f.name] = results{}
		}
		runs[f.name]["ns/op"] = append(runs[f.name]["ns/op"], f)
	}
	all := results{}
	for _, run := range runs {
		all["ns/op"] = append(all["ns/op"], run.best("ns/op", least))
	}
	return all.best("ns/op", most)
}

// parseBench reads what go test -bench prints (golang.org/design/14313-benchmark-format):
// a name, the number of runs, then pairs of number and unit.
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
			r[f[i+1]] = append(r[f[i+1]], figure{f[0], v})
		}
	}
	if len(r) == 0 {
		return nil, errors.New("no benchmark ran")
	}
	return r, nil
}

// meters keeps what several lines of the table share.
type meters struct {
	seen    *windowSpeed
	seenErr error
}

func (*meters) bench(pkg, name string, flags ...string) (results, error) {
	args := append([]string{"test", "-run", "^$", "-bench", name, "-benchmem", "-count", "3"}, flags...)
	c := exec.Command("go", append(args, pkg)...)
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

// seenAndHeard runs the test that records clicks from a sound server and
// returns the middle of the distances it found, without its sign, in ms.
func (*meters) seenAndHeard() (float64, error) {
	out, err := exec.Command("go", "test", "-count=1", "-v", "-run", "^TestHeardIsHeard$", "./audio/output").CombinedOutput()
	if err != nil {
		return 0, fmt.Errorf("the test of what is heard: %w: %s", err, lastLine(string(out)))
	}
	return parseHeard(string(out))
}

// parseHeard finds the list of distances, in brackets, in the test's log.
func parseHeard(out string) (float64, error) {
	_, rest, ok := strings.Cut(out, "heard position less recorded position, ms: [")
	list, _, closed := strings.Cut(rest, "]")
	if !ok || !closed {
		return 0, errors.New("the test of what is heard does not say what it found")
	}
	var all []float64
	for _, f := range strings.Fields(list) {
		v, err := strconv.ParseFloat(f, 64)
		if err != nil {
			return 0, fmt.Errorf("the test of what is heard: %w", err)
		}
		all = append(all, v)
	}
	if len(all) == 0 {
		return 0, errors.New("the test of what is heard found nothing")
	}
	return math.Abs(middle(all)), nil
}

// webSize builds the browser edition and counts what a browser loads of it.
func webSize() (bytes int64, err error) {
	dir, err := os.MkdirTemp("", "slowneedle-web-")
	if err != nil {
		return 0, err
	}
	defer os.RemoveAll(dir)
	if err := buildWeb(dir, ""); err != nil {
		return 0, err
	}
	files, err := os.ReadDir(dir)
	if err != nil {
		return 0, err
	}
	for _, f := range files {
		if f.Name() == "slowneedle.wasm" { // its packed form is sent
			continue
		}
		info, err := os.Stat(filepath.Join(dir, f.Name()))
		if err != nil {
			return 0, err
		}
		bytes += info.Size()
	}
	return bytes, nil
}
