package desk_test

import (
	"fmt"
	"math"

	"slowneedle/audio/desk"
	"slowneedle/audio/source"
)

// lineUpTone is a loop of 1 kHz at -18 dBFS, which reads 0 VU on a desk lined
// up to that reference.
func lineUpTone() *source.Sound {
	x := make([]float32, 48000)
	for i := range x {
		x[i] = float32(math.Pow(10, -18/20.0) * math.Sin(2*math.Pi*1000*float64(i)/48000))
	}
	return &source.Sound{Channels: [][]float32{x}}
}

// A desk is pulled by a sound device and moved by a hand.
func ExampleDesk() {
	d, err := desk.New(desk.Config{
		Channels:  []desk.Channel{{Sound: lineUpTone(), FaderDB: desk.FaderMin}},
		LampDBFS:  -6,
		Reference: -18,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	block := make([]float32, 2*480)
	for range 100 {
		d.Pull(block)
	}
	d.SetFader(0, 2)
	for range 200 {
		d.Pull(block)
	}
	s, _ := d.At(d.Position())
	fmt.Printf("the needle shows %+.1f VU\n", s.NeedleDBFS[0]+18)
	fmt.Println("moves:", d.Moves())
	// Output:
	// the needle shows +2.0 VU
	// moves: [{48000 0 2}]
}

// The moves of a take are enough to judge it again, without a device.
func ExampleReplay() {
	c := desk.Config{Channels: []desk.Channel{{Sound: lineUpTone(), FaderDB: desk.FaderMin}}, LampDBFS: -6}
	moves := []desk.Move{{At: 4800, To: -3}, {At: 48000, To: 0.5}}
	r, err := desk.Replay(c, moves, 3*48000)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%+.1f VU, %d flicks\n", r.NeedleDBFS[0]+18, r.Flicks)
	// Output: +0.5 VU, 0 flicks
}

// A take is compared with the aim at equal loudness.
func ExampleMatch() {
	c := desk.Config{Channels: []desk.Channel{{Sound: lineUpTone(), FaderDB: -9}}, LampDBFS: -6}
	take, err := desk.RenderLoop(c)
	if err != nil {
		fmt.Println(err)
		return
	}
	c.Channels[0].FaderDB = 0
	aim, err := desk.RenderLoop(c)
	if err != nil {
		fmt.Println(err)
		return
	}
	gain := desk.Match(take, aim)
	fmt.Printf("the take is brought up by %.1f dB\n", gain)
	player := desk.NewCompare(desk.Amplify(take, gain), aim, desk.MonitorStart)
	player.SetListen(1)
	// Output: the take is brought up by 9.0 dB
}
