//go:build linux

// Command empty opens a window of the size that the trainer's first window has
// and lets one pixel of it change at every frame: what the window library costs
// alone, the reference beside which a frame of the trainer is measured. It
// prints the milliseconds of processor time that a frame took, all threads
// together.
package main

import (
	"fmt"
	"image/color"
	"os"
	"syscall"
	"time"

	"github.com/hajimehoshi/ebiten/v2"
)

const (
	width, height = 1280, 800
	settle        = 120 // frames before it is measured
	measured      = 480
)

type empty struct {
	frames int
	before time.Duration
	took   time.Duration
}

func (e *empty) Update() error {
	if e.frames >= settle+measured {
		return ebiten.Termination
	}
	return nil
}

func (e *empty) Draw(screen *ebiten.Image) {
	screen.Set(e.frames%width, height/2, color.Gray{uint8(e.frames)})
	switch e.frames++; e.frames {
	case settle:
		e.before = processor()
	case settle + measured:
		e.took = processor() - e.before
	}
}

func (e *empty) Layout(w, h int) (int, int) { return w, h }

// processor is the time that all threads have used, in user and system mode.
func processor() time.Duration {
	var r syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &r) != nil {
		return 0
	}
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func main() {
	ebiten.SetWindowSize(width, height)
	ebiten.SetWindowTitle("empty")
	ebiten.SetScreenClearedEveryFrame(false)
	e := new(empty)
	if err := ebiten.RunGame(e); err != nil {
		fmt.Fprintln(os.Stderr, "empty:", err)
		os.Exit(1)
	}
	fmt.Printf("%.2f\n", float64(e.took.Microseconds())/1000/measured)
}
