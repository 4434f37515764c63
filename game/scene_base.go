package game

import (
	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// scene is one screen. It is made by the navigation, which alone goes from one
// to another.
type scene interface {
	// Name is what a probe and the help call it.
	Name() string
	// Actions are what keys do here, in the order of the bar.
	Actions() []action
	// Update runs once a tick after the actions.
	Update(in *state)
	// Draw draws the static layer; it runs again only after redraw.
	Draw(c *draw.Canvas)
}

// dynamic is a scene with parts that move.
type dynamic interface {
	// DrawDynamic draws them over the static layer, each only when it has moved,
	// having put back what it covered.
	DrawDynamic(c *draw.Canvas)
	// DynamicRects adds where they stand now.
	DynamicRects(c *draw.Canvas, add func(draw.Rect))
	// Restart has every one drawn again: the static layer was put over them.
	Restart()
}

// suspender is a scene that must know when another is laid over it and when it
// comes back.
type suspender interface {
	Suspend()
	Resume()
}

// leaver is a scene that must know when it is left for good.
type leaver interface{ Leave() }

// largeText is a scene that may have to be read from the last row of a class.
type largeText interface{ LargeText() bool }

// guide is the navigation that every scene needs: to the first screen, to the
// help about itself, and back from a screen that was laid over another.
type guide interface {
	Home()
	Help()
	Back()
}

// base is what every scene is made of: what it is drawn with and worked by.
type base struct{ *screen }

// helpAction goes to the help about the screen.
func (b base) helpAction(to guide) action {
	return action{id: "help", keys: []ebiten.Key{ebiten.KeyH, ebiten.KeyF1}, cap: "cap.h", label: b.Say("key.help"), do: to.Help}
}

// leaveAction goes to the first screen.
func (b base) leaveAction(to guide) action {
	return action{id: "esc", keys: []ebiten.Key{ebiten.KeyEscape}, cap: "cap.esc", label: b.Say("key.leave"), do: to.Home}
}

// nothing is a scene's Update that has nothing to do.
type nothing struct{}

func (nothing) Update(*state) {}
