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

// Guide is where scenes lead to: the navigation. What takes the result of a round
// along is asked of it by the rooms that have one.
type Guide interface {
	Home()
	Quit()
	// Help, Cautions and Tour are laid over the screen; Back goes back to it, and
	// Understood on from the cautions of the first start.
	Help()
	Cautions()
	Tour()
	Back()
	Understood()

	Start()       // what the first screen asks for
	Needed()      // what is needed most
	EndPractice() // early, with its summary
	Progress()
	Settings()
	Recordings()
	Listen() // at the line input
	TestForm()
	PlayForm() // the next round of one

	Class()                // what is left to do for a class
	Join(code, who string) // with what is known already
	Sheet()                // makes one
	PlaySeries()           // the class's next round, or its hand-in
	ForClass()             // a round that is played to a class
}

// Base is what every scene is made of: what it is drawn with and worked by, and
// where it leads to.
type Base struct {
	*widget.Screen
	To Guide
}

// HelpAction goes to the help about the screen.
func (b Base) HelpAction() hand.Action {
	return hand.Action{ID: "help", Keys: []ebiten.Key{ebiten.KeyH, ebiten.KeyF1}, Cap: "cap.h", Label: b.Say("key.help"), Do: b.To.Help}
}

// LeaveAction goes to the first screen.
func (b Base) LeaveAction() hand.Action {
	return hand.Action{ID: "esc", Keys: []ebiten.Key{ebiten.KeyEscape}, Cap: "cap.esc", Label: b.Say("key.home"), Do: b.To.Home}
}

// Nothing is a scene's Update that has nothing to do.
type Nothing struct{}

func (Nothing) Update(*hand.State) {}
