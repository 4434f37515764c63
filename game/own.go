package game

import (
	"errors"
	"io/fs"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/drills"
)

// drop is a recording the learner gave, read.
type drop struct {
	name string
	err  error
}

// ownRecording is what rounds of the family own are made from.
type ownRecording struct {
	name string
}

// takeDrops looks for files dropped on the window and for what has become of
// those dropped before.
func (g *Game) takeDrops() {
	if dropped := ebiten.DroppedFiles(); dropped != nil {
		names, err := fs.Glob(dropped, "*")
		if err == nil && len(names) > 0 {
			g.tell(names[0])
		}
	}
	select {
	case d := <-g.drops:
		if d.err != nil {
			g.tell(d.err.Error())
		}
	default:
	}
}

func (g *Game) openFile(path string) {}

func (g *Game) ownRound(index int, set drills.Settings) (*drills.Round, error) {
	return nil, errors.New("no recording: " + string(source.Own))
}
