// Package help is the screens that are laid over others: help, the cautions, and
// the tour.
package help

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/scene"
	"slowneedle/game/sound"
	"slowneedle/game/words"
)

// Scene explains the screen it was called from.
type Scene struct {
	scene.Base
	scene.Nothing
	Of      string // the screen it explains
	Drill   string // the drill that is explained first, by its ID; empty if it is no round's help
	Version string // of the trainer
	Sound   *sound.Player
}

func (s *Scene) Name() string { return "help" }

func (s *Scene) Actions() []hand.Action {
	keys := append([]ebiten.Key{ebiten.KeyEscape, ebiten.KeyH, ebiten.KeyF1, ebiten.KeySpace}, hand.EnterKeys...)
	return []hand.Action{
		{ID: "esc", Keys: keys, Cap: "cap.esc", Label: s.Say("help.back"), Do: s.To.Back},
		{ID: "cautions", Keys: []ebiten.Key{ebiten.KeyC}, Cap: "cap.c", Label: s.Say("help.cautions"), Do: s.To.Cautions},
		tourAction(s.Base),
		{ID: "full", Cap: "cap.f11", Label: s.Say("help.full"), Do: func() { ebiten.SetFullscreen(!ebiten.IsFullscreen()) }},
		{ID: "tab", KeysOnly: true, Cap: "cap.tab", Label: s.Say("help.tab"), Do: func() { s.Areas.MoveFocus(false, nil) }},
	}
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("help.title"), s.Say("help.of."+s.Of), "slowneedle "+s.Version, "")
	place := draw.R(draw.Margin, top+14, math.Min(c.M.W-2*draw.Margin, 1100), bar-top-24)
	texts := s.texts()
	c.Paragraphs(place, texts, draw.Style{Size: 24, Color: c.Theme.Ink}, 0.5, func(i int, _ float64, st *draw.Style) {
		if s.Sound.Quiet() && i == len(texts)-1 { // why there is no sound
			st.Color = c.Theme.Warn
		}
	})
}

// texts are what a round's drill is about, the paragraphs of a screen's help and, without
// sound, why there is none.
func (s *Scene) texts() []string {
	var all []string
	if s.Drill != "" {
		all = append(all, s.Explain(s.Drill))
	}
	for _, p := range words.HelpParts(s.Of) {
		all = append(all, s.Say(p))
	}
	if s.Sound.Quiet() {
		all = append(all, s.Put(s.Sound.Why()))
	}
	return all
}

// Cautions carries the cautions; it comes before everything on the first
// run.
type Cautions struct {
	scene.Base
	scene.Nothing
	First bool // nothing else has been shown yet
}

func (s *Cautions) Name() string { return "cautions" }

func (s *Cautions) Actions() []hand.Action {
	keys := append([]ebiten.Key{ebiten.KeyEscape, ebiten.KeySpace}, hand.EnterKeys...)
	acts := []hand.Action{{ID: "enter", Keys: keys, Cap: "cap.enter", Label: s.Say("caution.understood"), Do: s.To.Back}}
	if s.First {
		acts[0].Do = s.To.Understood
		acts = append(acts, tourAction(s.Base))
	}
	return append(acts, s.HelpAction())
}

func (s *Cautions) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	y, size := 40+60*math.Sqrt(c.M.Text), 40.0
	if c.M.Landscape {
		y, size = 22+30*math.Sqrt(c.M.Text), 30
	}
	w := math.Min(c.M.W-2*draw.Margin, 1100)
	c.Fit(draw.Margin, y, w, s.Say("caution.title"), draw.Style{Size: size / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true, Said: draw.Heading})
	parts := []string{s.Say("caution.1"), s.Say("caution.2"), s.Say("caution.3"), s.Say("caution.4"), s.Say("caution.5")}
	y += size * 0.6
	c.Paragraphs(draw.R(draw.Margin+28, y, w-28, bar-y-12), parts, draw.Style{Size: 30, Color: c.Theme.Ink}, 0.6, func(i int, y float64, st *draw.Style) {
		if i == len(parts)-1 { // for orientation only
			st.Color = c.Theme.Dim
		}
		c.Disc(draw.Margin+5, y-c.Size(*st)*0.32, 4, c.Theme.Warn)
	})
}
