package output

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"
	"time"

	"slowneedle/audio/desk"
	"slowneedle/audio/source"
)

// A process has one sound device, so each test that needs one runs this test
// binary again as a player in surroundings of its own.
func TestMain(m *testing.M) {
	if os.Getenv("SLOWNEEDLE_TEST_PLAYER") != "" {
		player()
		return
	}
	os.Exit(m.Run())
}

// line is what the player reports every few milliseconds.
type line struct {
	Wall     int64 // ns
	Heard    int64
	Pulled   int64
	Shown    int64 // stamp of the snapshot that is heard
	NeedleVU float64
	Silent   bool
	Why      string
}

// sine is a loop of one second.
func sine(hz, db float64) *source.Sound {
	x := make([]float32, 48000)
	for i := range x {
		x[i] = float32(math.Pow(10, db/20) * math.Sin(2*math.Pi*hz*float64(i)/48000))
	}
	return &source.Sound{Channels: [][]float32{x}}
}

// player plays a tone at -18 dBFS and reports, until its input ends. Each
// line of input is an order.
func player() {
	d, err := desk.New(desk.Config{
		Channels: []desk.Channel{{Sound: sine(1000, -18), FaderDB: -6}},
		LampDBFS: -6, MonitorDB: -3,
	})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	o := Open()
	defer o.Close()
	orders := make(chan string)
	go func() {
		in := bufio.NewScanner(os.Stdin)
		for in.Scan() {
			orders <- in.Text()
		}
		close(orders)
	}()
	out := json.NewEncoder(os.Stdout)
	report := time.NewTicker(4 * time.Millisecond)
	for {
		select {
		case order, more := <-orders:
			if !more {
				return
			}
			switch order {
			case "start":
				o.Start(d)
			case "clicks":
				o.Start(&clicks{})
			case "hold":
				o.Pause(true)
			case "on":
				o.Pause(false)
			case "stop":
				o.Stop()
			case "up":
				d.SetFader(0, 0)
			case "hot":
				d.SetFader(0, desk.FaderMax)
				d.SetMonitor(desk.MonitorMax)
			}
		case <-report.C:
			l := line{Wall: time.Now().UnixNano(), Heard: o.Heard(), Pulled: d.Position()}
			if s, ok := d.At(l.Heard); ok {
				l.Shown, l.NeedleVU = s.At, max(s.NeedleDBFS[0]+18, -99)
			}
			l.Silent, l.Why = o.Silent()
			out.Encode(l)
		}
	}
}

const clickEvery = 24000

// clicks is a puller that gives a click every half a second.
type clicks struct{ at int }

func (c *clicks) Pull(out []float32) {
	for i := 0; i < len(out); i += 2 {
		out[i], out[i+1] = 0, 0
		if c.at%clickEvery < 24 {
			out[i], out[i+1] = 0.5, 0.5
		}
		c.at++
	}
}
