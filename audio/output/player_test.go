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
	"slowneedle/audio/medium"
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
	Moved    int64 // ns; when the fader was asked to move last
	Heard    int64
	Pulled   int64
	Shown    int64 // stamp of the snapshot that is heard
	NeedleVU float64
	MoveAt   int64 // position of the first fader move, once it was made
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
	var moved int64
	for {
		select {
		case order, more := <-orders:
			if !more {
				return
			}
			switch order {
			case "start":
				o.Start(d)
			case "digital":
				o.Start(hostile(medium.KindDigital))
			case "tape":
				o.Start(hostile(medium.KindTape))
			case "alone":
				d := hostile(medium.KindDigital)
				d.SetListen(1)
				o.Start(d)
			case "raw":
				o.Start(&ones{value: 40})
			case "untouched":
				o.Start(untouched())
			case "clicks":
				o.Start(&clicks{})
			case "hold":
				o.Pause(true)
			case "on":
				o.Pause(false)
			case "stop":
				o.Stop()
			case "say":
				fmt.Fprintln(os.Stderr, "a sentence of the program's own")
			case "up":
				moved = time.Now().UnixNano()
				d.SetFader(0, 0)
			case "hot":
				d.SetFader(0, desk.FaderMax)
				d.SetMonitor(desk.MonitorMax)
			}
		case <-report.C:
			l := line{Wall: time.Now().UnixNano(), Heard: o.Heard(), Pulled: d.Position(), Moved: moved}
			if moves := d.Moves(); len(moves) > 0 {
				l.MoveAt = moves[0].At
			}
			if s, ok := d.At(l.Heard); ok {
				l.Shown, l.NeedleVU = s.At, max(s.NeedleDBFS[0]+18, -99)
			}
			l.Silent, l.Why = o.Silent()
			out.Encode(l)
		}
	}
}

// hostile is a drill that does its worst: eight channels of full-scale tone and
// square wave, each raised by 100 dB ahead of a fader at its top, into a medium
// driven far beyond its end, heard with the monitor at its top.
func hostile(kind medium.Kind) *desk.Desk {
	square := sine(97, 0)
	for i, v := range square.Channels[0] {
		square.Channels[0][i] = float32(math.Copysign(1, float64(v)))
	}
	c := desk.Config{LampDBFS: -6, MonitorDB: desk.MonitorMax, Medium: kind, Reference: -18}
	for i := range 8 {
		s := sine(61*float64(i+1), 0)
		if i%2 == 1 {
			s = square
		}
		c.Channels = append(c.Channels, desk.Channel{Sound: s, StartGainDB: 100, FaderDB: desk.FaderMax})
	}
	return mustDesk(c)
}

// untouched is a full-scale tone with its fader at 0 dB on a desk whose
// monitor control nobody has moved.
func untouched() *desk.Desk {
	return mustDesk(desk.Config{Channels: []desk.Channel{{Sound: sine(1000, 0)}}, LampDBFS: -6})
}

func mustDesk(c desk.Config) *desk.Desk {
	d, err := desk.New(c)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return d
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
