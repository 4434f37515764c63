package window

import (
	"os"
	"strconv"
	"strings"
	"testing"
	"time"
)

// TestFirstFrame wants the first screen soon after the start. The budget is
// 500 ms on a machine of its own; a busy one is given patience.
func TestFirstFrame(t *testing.T) {
	a := start(t, options{settings: calm})
	a.screen("home")
	took := time.Since(a.started)
	t.Logf("first screen on the window %d ms after the start", took.Milliseconds())
	if took > 5*time.Second {
		t.Errorf("the first screen took %v", took)
	}
}

// cpu is the processor time a trainer has used.
func (a *app) cpu() time.Duration {
	a.t.Helper()
	data, err := os.ReadFile("/proc/" + strconv.Itoa(a.cmd.Process.Pid) + "/stat")
	if err != nil {
		a.t.Fatal(err)
	}
	f := strings.Fields(string(data)[strings.LastIndexByte(string(data), ')')+1:])
	user, _ := strconv.ParseInt(f[11], 10, 64)
	system, _ := strconv.ParseInt(f[12], 10, 64)
	return time.Duration(user+system) * 10 * time.Millisecond
}

// pace waits for the next count of frames on a screen.
func (a *app) pace(scene string) event {
	a.t.Helper()
	return a.next("count of frames", func(e event) bool { return e.is("pace") && e.str("scene") == scene })
}

// TestCostOfFrames measures processor time on the first screen, where nothing
// moves, and in a round, drawn by the processor at 1280x800.
func TestCostOfFrames(t *testing.T) {
	a := start(t, options{settings: `{"caution_seen":true,"drill":"take","family":"plucked"}`})
	a.screen("home")
	a.pace("home")
	from, cpu := a.pace("home"), a.cpu()
	a.pace("home")
	to := a.pace("home")
	seconds := (to.num("ms") - from.num("ms")) / 1000
	idle := float64((a.cpu() - cpu).Milliseconds()) / seconds
	t.Logf("first screen: %.0f ms of processor time a second", idle)
	if idle > 250 {
		t.Errorf("the first screen takes %.0f ms of processor time a second, though nothing moves", idle)
	}
	a.press("Return", func() event { return a.screen("round") })
	a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	for range 9 {
		a.press("Prior", func() event { return a.next("move", isFader) })
	}
	from, cpu = a.pace("round"), a.cpu()
	a.pace("round")
	to = a.pace("round")
	frames := to.num("frames") - from.num("frames")
	t.Logf("a round: %.1f ms of processor time a frame in all, %.2f ms of it in drawing it; %.0f frames a second",
		float64((a.cpu()-cpu).Microseconds())/1000/frames, to.num("each_us")/1000, frames*1000/(to.num("ms")-from.num("ms")))
	if each := to.num("each_us"); each > 8000 {
		t.Errorf("drawing a frame takes the program %.0f us, want less than 8000", each)
	}
}
