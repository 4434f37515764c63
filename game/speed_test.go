package game

import (
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/store"
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

// BenchmarkNewRound reports what a new round takes of the window's thread: asking for
// it, and its screen once it is made.
func BenchmarkNewRound(b *testing.B) {
	for _, d := range drills.Drills() {
		b.Run(d.ID, func(b *testing.B) {
			n := newNavigation(b)
			for range 60 { // up to the top step
				for _, f := range d.Families {
					n.session.Records.Book.Add(progress.Mark{At: time.Now(), Drill: d.ID, Family: f, Level: ladder.Top, Right: true, Points: 100})
				}
			}
			n.session.Prefs.Change(func(p *store.Settings) { p.Drill = d.ID })
			spent := time.Duration(0)
			for b.Loop() {
				n.Home()
				began := time.Now()
				n.Start()
				spent += time.Since(began)
				for n.scene().Name() != "round" {
					time.Sleep(time.Millisecond)
					began = time.Now()
					n.update()
					spent += time.Since(began)
				}
			}
			b.ReportMetric(1000*spent.Seconds()/float64(b.N), "window-ms")
			n.sound.Stop()
		})
	}
}
