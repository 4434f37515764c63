package game

import (
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
)

// BenchmarkProgressTick is a tick of the progress screen on which nothing happens, with
// 5,000 takes in the book.
func BenchmarkProgressTick(b *testing.B) {
	n := newNavigation(b)
	book := &progress.Book{}
	for i := range 5000 {
		all := source.Generated()
		list := drills.Drills()
		book.Add(progress.Mark{At: time.Unix(1.7e9+int64(i)*600, 0), Drill: list[i%len(list)].ID, Family: all[i%len(all)], Rig: "digital", Level: 3, ErrorDB: float64(i%5) - 1.5, Right: i%3 > 0, Points: 60})
	}
	n.session.Records.Book = book
	n.Progress()
	draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, n.scene().Draw)
	in := &hand.State{}
	for b.Loop() {
		n.screen.Areas.Run(in, n.scene().Actions(), nil)
		n.scene().Update(in)
	}
}
