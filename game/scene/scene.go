// Package scene is what all scenes have in common. Each group of them has a
// package of its own below this one.
package scene

import (
	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/widget"
)

// Scene is one screen. It is made by the navigation, which alone goes from one
// to another.
type Scene interface {
	// Name is what a probe and the help call it.
	Name() string
	// Actions are what keys do here, in the order of the bar.
	Actions() []hand.Action
	// Update runs once a tick after the actions.
	Update(in *hand.State)
	// Draw draws the static layer; it runs again only after redraw.
	Draw(c *draw.Canvas)
}

// Dynamic is a scene with parts that move.
type Dynamic interface {
	// DrawDynamic draws them over the static layer, each only when it has moved,
	// having put back what it covered.
	DrawDynamic(c *draw.Canvas)
	// DynamicRects adds where they stand now.
	DynamicRects(c *draw.Canvas, add func(draw.Rect))
	// Restart has every one drawn again: the static layer was put over them.
	Restart()
}

// Suspender is a scene that must know when another is laid over it and when it
// comes back.
type Suspender interface {
	Suspend()
	Resume()
}

// Leaver is a scene that must know when it is left for good.
type Leaver interface{ Leave() }

// Sliders is a scene with sliders, by the names that its controls have.
type Sliders interface{ Sliders() map[string]page.Slider }

// LargeText is a scene that may have to be read from the last row of a class.
type LargeText interface{ LargeText() bool }

// Guide is the navigation that every scene needs: to the first screen, to the
// help about itself, and back from a screen that was laid over another.
type Guide interface {
	Home()
	Help()
	Back()
}

// Base is what every scene is made of: what it is drawn with and worked by.
type Base struct{ *widget.Screen }

// HelpAction goes to the help about the screen.
func (b Base) HelpAction(to Guide) hand.Action {
	return hand.Action{ID: "help", Keys: []ebiten.Key{ebiten.KeyH, ebiten.KeyF1}, Cap: "cap.h", Label: b.Say("key.help"), Do: to.Help}
}

// LeaveAction goes to the first screen.
func (b Base) LeaveAction(to Guide) hand.Action {
	return hand.Action{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: b.Say("key.home"), Do: to.Home}
}

// Nothing is a scene's Update that has nothing to do.
type Nothing struct{}

func (Nothing) Update(*hand.State) {}
