package output

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"os"
	"os/exec"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/audio/output/nullsink"
)

// playing is a player in another process.
type playing struct {
	t      testing.TB
	orders io.WriteCloser
	mu     sync.Mutex
	lines  []line
	more   chan struct{}
	ended  chan error
	said   bytes.Buffer
}

func play(t testing.TB, env []string) *playing {
	t.Helper()
	p := &playing{t: t, more: make(chan struct{}, 1), ended: make(chan error, 1)}
	c := exec.Command(os.Args[0])
	c.Env = append(env, "SLOWNEEDLE_TEST_PLAYER=1")
	c.Stderr = &p.said
	orders, err := c.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	said, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	p.orders = orders
	go func() {
		in := json.NewDecoder(said)
		for {
			var l line
			if in.Decode(&l) != nil {
				p.ended <- c.Wait()
				close(p.more)
				return
			}
			p.mu.Lock()
			p.lines = append(p.lines, l)
			p.mu.Unlock()
			select {
			case p.more <- struct{}{}:
			default:
			}
		}
	}()
	t.Cleanup(func() { c.Process.Kill() })
	return p
}

func (p *playing) order(what string) {
	p.t.Helper()
	if _, err := io.WriteString(p.orders, what+"\n"); err != nil {
		p.t.Fatalf("the player is gone: %v", err)
	}
}

// until waits for a report that fits and returns it.
func (p *playing) until(what string, fits func(line) bool) line {
	p.t.Helper()
	end := time.After(20 * time.Second)
	for seen := 0; ; {
		select {
		case _, ok := <-p.more:
			if !ok {
				p.t.Fatalf("the player ended before %s", what)
			}
		case <-end:
			p.t.Fatalf("never: %s; last report %+v", what, p.lines[len(p.lines)-1:])
		}
		p.mu.Lock()
		lines := p.lines
		p.mu.Unlock()
		for ; seen < len(lines); seen++ {
			if fits(lines[seen]) {
				return lines[seen]
			}
		}
	}
}

// at returns when a player said it heard a position.
func (p *playing) at(heard int64) time.Time {
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, l := range p.lines {
		if l.Heard >= heard {
			return time.Unix(0, l.Wall)
		}
	}
	p.t.Fatalf("the player never heard frame %d", heard)
	return time.Time{}
}

// end closes the player's input and checks that it ends well and wordless.
func (p *playing) end() {
	p.t.Helper()
	p.orders.Close()
	if err := <-p.ended; err != nil {
		p.t.Errorf("the player ended badly: %v", err)
	}
	if s := p.said.String(); s != "" {
		p.t.Errorf("the player printed: %s", s)
	}
}

// stats is one figure of sox's stats of a file, the overall column.
func stats(t *testing.T, file, figure string) float64 {
	t.Helper()
	out, err := exec.Command("sox", "-V1", file, "-n", "stats").CombinedOutput()
	if err != nil {
		t.Fatalf("sox: %v: %s", err, out)
	}
	for _, l := range strings.Split(string(out), "\n") {
		if rest, ok := strings.CutPrefix(l, figure); ok {
			v, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
	}
	t.Fatalf("sox stats gave no %q: %s", figure, out)
	return 0
}

// What comes out of the sound server is what the desk made: the start fades
// in over half a second, 6 dB on the fader are 6 dB, the ceiling holds, and
// holding is silence. Levels are measured by sox.
func TestWhatIsPlayed(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	rec := record(t, sink)
	p := play(t, sink.Env)
	// The device has its own time to get going; the round starts after that.
	p.until("open", func(l line) bool { return !l.Silent })
	opened := time.Now()
	p.until("half a second gone", func(line) bool { return time.Since(opened) > time.Second/2 })
	p.order("start")
	p.until("2.5 s", func(l line) bool { return l.Heard > 120000 })
	p.order("up")
	p.until("4.5 s", func(l line) bool { return l.Heard > 216000 })
	p.order("hot")
	p.until("5.5 s", func(l line) bool { return l.Heard > 264000 })
	p.order("hold")
	held := time.Now()
	still := p.until("held", func(line) bool { return time.Since(held) > time.Second/2 })
	later := p.until("held on", func(line) bool { return time.Since(held) > time.Second })
	p.order("on")
	p.until("7 s", func(l line) bool { return l.Heard > 336000 })
	p.order("stop")
	p.end()
	x := rec.stop()

	if still.Heard != later.Heard {
		t.Errorf("while held the position moved from %d to %d", still.Heard, later.Heard)
	}
	hold := x[0][rec.frameAt(time.Unix(0, still.Wall)):rec.frameAt(time.Unix(0, later.Wall))]
	for i, v := range hold {
		if v != 0 {
			t.Fatalf("sample %d of %d while held is %v", i, len(hold), v)
		}
	}
	cut := func(from, to int64) string { return rec.save(rec.frameAt(p.at(from)), rec.frameAt(p.at(to))) }
	before := stats(t, cut(48000, 110000), "RMS Pk dB")
	after := stats(t, cut(130000, 206000), "RMS Pk dB")
	t.Logf("fader moved by 6 dB: %.2f dB before, %.2f dB after", before, after)
	if d := after - before; math.Abs(d-6) > 0.1 {
		t.Errorf("6 dB on the fader are %.2f dB in the recording", d)
	}
	// -18 dBFS, fader -6 dB, monitor -3 dB, RMS 3.01 dB below the peak.
	if math.Abs(before-(-18-6-3-3.01)) > 0.1 {
		t.Errorf("level before the move is %.2f dB, not -30.01", before)
	}

	// A machine busy with other things leaves gaps: take them out.
	x[0] = dense(x[0])
	first := 0
	for first < len(x[0]) && x[0][first] == 0 {
		first++
	}
	full := math.Pow(10, (-18-6-3)/20.0)
	for _, at := range []float64{0.1, 0.25, 0.4, 0.6} {
		// The highest sample in the 5 ms up to there against the ramp.
		high := 0.0
		for _, v := range x[0][first+int((at-0.005)*48000) : first+int(at*48000)] {
			high = max(high, math.Abs(float64(v)))
		}
		want := min(at/0.5, 1)
		if got := high / full; math.Abs(got-want) > 0.03 {
			t.Errorf("%.2f s after the start the level is %.2f of the whole, not %.2f", at, got, want)
		}
	}

	high := stats(t, cut(228000, 260000), "Pk lev dB")
	if high > -1 || high < -8 {
		t.Errorf("the hottest setting peaks at %.2f dBFS", high)
	}
}

// dense returns x without the stretches of nothing between the first sample
// and the last that no 1 kHz tone has.
func dense(x []float32) (out []float32) {
	for i := 0; i < len(x); {
		n := 0
		for i+n < len(x) && x[i+n] == 0 {
			n++
		}
		if n < 24 || len(out) == 0 {
			out = append(out, x[i:i+n]...)
		}
		i += n
		if i < len(x) {
			out = append(out, x[i])
			i++
		}
	}
	return out
}

// What is seen against what is heard: a click's position against Heard at the
// moment the click came out of the sound server's monitor.
func TestHeardIsHeard(t *testing.T) {
	t.Parallel()
	if off := heardOff(t); math.Abs(off) > 20 {
		t.Errorf("what is seen is %.1f ms off what is heard", off)
	}
}

func BenchmarkHeardIsHeard(b *testing.B) {
	for b.Loop() {
		b.ReportMetric(math.Abs(heardOff(b)), "ms-off")
	}
}

// heardOff is by how many milliseconds Heard is ahead of the recording, the median
// over the clicks. It never goes back.
func heardOff(t testing.TB) float64 {
	t.Helper()
	sink := nullsink.Start(t)
	rec := record(t, sink)
	p := play(t, sink.Env)
	p.until("open", func(l line) bool { return !l.Silent })
	p.order("clicks")
	p.until("4 s", func(l line) bool { return l.Heard > 192000 })
	p.order("stop")
	p.end()
	x := rec.stop()[0]

	var off []float64
	for i, last := 0, -clickEvery; i < len(x); i++ {
		if x[i] < 0.25 || i-last < clickEvery/2 {
			continue
		}
		last = i
		came := rec.cameAt(i).UnixNano()
		for _, l := range p.lines {
			if l.Wall < came {
				continue
			}
			ms := math.Remainder(float64(l.Heard), clickEvery) / 48
			off = append(off, ms)
			break
		}
	}
	if len(off) < 5 {
		t.Fatalf("only %d clicks were recorded", len(off))
	}
	t.Logf("heard position less recorded position, ms: %.1f", off)
	slices.Sort(off)
	for i := 1; i < len(p.lines); i++ {
		if a, b := p.lines[i-1], p.lines[i]; a.Heard > b.Heard && b.Heard > 0 {
			t.Fatalf("heard went back from %d to %d", a.Heard, b.Heard)
		}
	}
	return off[len(off)/2]
}

// A device that goes away in the middle of a round leaves the round running:
// meters only.
func TestDeviceLost(t *testing.T) {
	t.Parallel()
	sink := nullsink.Start(t)
	p := play(t, sink.Env)
	p.until("open", func(l line) bool { return !l.Silent })
	p.order("start")
	p.until("1 s", func(l line) bool { return l.Heard > 48000 && !l.Silent })
	sink.Kill()
	lost := p.until("silent", func(l line) bool { return l.Silent })
	if lost.Why != "no sound: meters only (the sound device was disconnected)" {
		t.Errorf("it says %q", lost.Why)
	}
	p.order("up")
	then := p.until("2 s more", func(l line) bool { return l.Heard > lost.Heard+96000 })
	p.end()
	goesOn(t, p.lines, lost, then)
}

// Without any device there is a round all the same.
func TestNoDevice(t *testing.T) {
	t.Parallel()
	none := t.TempDir() + "/none.conf"
	if err := os.WriteFile(none, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	p := play(t, append(os.Environ(), "ALSA_CONFIG_PATH="+none, "HOME="+t.TempDir()))
	first := p.until("silent", func(l line) bool { return l.Silent })
	if !strings.HasPrefix(first.Why, "no sound: meters only (no sound device could be opened") {
		t.Errorf("it says %q", first.Why)
	}
	t.Log(first.Why)
	p.order("start")
	start := p.until("the start", func(l line) bool { return l.Heard > 0 })
	p.order("up")
	then := p.until("2 s", func(l line) bool { return l.Heard > 96000 })
	p.end()
	goesOn(t, p.lines, start, then)
}

// goesOn checks that between two reports the silent clock ran in real time,
// never back, and the needle was shown at what was heard.
func goesOn(t *testing.T, lines []line, from, to line) {
	t.Helper()
	took := float64(to.Wall-from.Wall) / 1e9
	if made := float64(to.Heard-from.Heard) / 48000; math.Abs(made-took) > 0.05 {
		t.Errorf("the silent clock made %.3f s in %.3f s", made, took)
	}
	if math.Abs(to.NeedleVU) > 0.1 {
		t.Errorf("after the fader went up the needle shows %.2f VU, not 0", to.NeedleVU)
	}
	for i, l := range lines {
		if i > 0 && l.Heard < lines[i-1].Heard {
			t.Fatalf("heard went back from %d to %d", lines[i-1].Heard, l.Heard)
		}
		if l.Heard > 0 && (l.Shown > l.Heard || l.Shown < l.Heard-480) {
			t.Fatalf("at frame %d the snapshot of %d is shown", l.Heard, l.Shown)
		}
	}
}
