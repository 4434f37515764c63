package game

import (
	"fmt"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// helpScene explains the screen it was called from; the sound waits.
type helpScene struct {
	back   scene
	silent bool // it paused the sound
}

func helpAction(g *Game) action {
	return action{id: "help", keys: []ebiten.Key{ebiten.KeyH, ebiten.KeyF1}, cap: "cap.h", label: g.Say("key.help"), do: func(g *Game) {
		h := &helpScene{back: g.scene}
		if r, ok := g.scene.(*playScene); ok && r.playing && !r.paused {
			h.silent = true
			g.out.Pause(true)
		}
		g.enter(h)
	}}
}

func (*helpScene) name() string { return "help" }

func (s *helpScene) close(g *Game) {
	if s.silent {
		g.out.Pause(false)
	}
	if r, ok := s.back.(*playScene); ok && !r.playing {
		r.rest()
	}
	g.enter(s.back)
}

func (s *helpScene) actions(g *Game) []action {
	keys := append([]ebiten.Key{ebiten.KeyEscape, ebiten.KeyH, ebiten.KeyF1, ebiten.KeySpace}, enterKeys...)
	return []action{
		{id: "esc", keys: keys, cap: "cap.esc", label: g.Say("help.back"), do: s.close},
		{id: "cautions", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: g.Say("help.cautions"), do: func(g *Game) { g.enter(&cautionScene{back: s}) }},
		tourAction(g, s),
		{id: "full", cap: "cap.f11", label: g.Say("help.full"), do: func(*Game) { ebiten.SetFullscreen(!ebiten.IsFullscreen()) }},
		{id: "tab", desk: true, cap: "cap.tab", label: g.Say("help.tab"), do: func(g *Game) { g.moveFocus(false) }},
	}
}

func (*helpScene) update(*Game) {}

func (s *helpScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.Say("help.title"), g.Say("help.of."+s.back.name()), "slowneedle "+g.opt.Version, "")
	// The text takes as large a size as its place allows.
	w := math.Min(c.M.W-2*draw.Margin, 1040)
	size := 21.0
	var y float64
	for ; size > 9; size -= 0.5 {
		st := draw.Style{Size: size}
		y = top + 20
		for _, text := range s.texts(g) {
			y += float64(len(c.Wrap(text, w, st)))*c.Lead(st) + size*c.M.Text*0.5
		}
		if y < bar-8 {
			break
		}
	}
	st := draw.Style{Size: size, Color: c.Theme.Ink}
	y = top + 20 + size*c.M.Text*0.6
	for i, text := range s.texts(g) {
		if i == len(helpParts(s.back.name())) {
			st.Color = c.Theme.Amber
		}
		y = c.Para(draw.Margin, y, w, text, st) + size*c.M.Text*0.5
	}
}

// texts are the paragraphs of a screen's help and, without sound, why there is
// none.
func (s *helpScene) texts(g *Game) []string {
	var all []string
	for _, p := range helpParts(s.back.name()) {
		all = append(all, g.Say(p))
	}
	if g.silent {
		all = append(all, g.Put(g.out.Why()))
	}
	return all
}

// helpParts are the word keys of a screen's help.
func helpParts(screen string) []string {
	n := 4
	switch screen {
	case "cautions", "tour":
		n = 1
	case "room":
		n = 2
	case "join", "handin":
		n = 3
	}
	var all []string
	for i := range n {
		all = append(all, fmt.Sprintf("help.%s.%d", screen, i+1))
	}
	return all
}

// cautionScene carries the cautions; it comes before everything on the first
// run.
type cautionScene struct{ back scene }

func (*cautionScene) name() string { return "cautions" }

func (s *cautionScene) actions(g *Game) []action {
	keys := append([]ebiten.Key{ebiten.KeyEscape, ebiten.KeySpace}, enterKeys...)
	acts := []action{{id: "enter", keys: keys, cap: "cap.enter", label: g.Say("caution.understood"), do: func(g *Game) {
		if s.back != nil {
			g.enter(s.back)
			return
		}
		g.set.CautionSeen = true
		g.keep()
		g.first()
	}}}
	if s.back == nil {
		acts = append(acts, tourAction(g, s))
	}
	return append(acts, helpAction(g))
}

func (s *cautionScene) update(*Game) {}

func (s *cautionScene) draw(g *Game, c *draw.Canvas) {
	bar := g.drawBar(c, s.actions(g))
	y := 40 + 60*math.Sqrt(c.M.Text)
	w := math.Min(c.M.W-2*draw.Margin, 1100)
	c.Fit(draw.Margin, y, w, g.Say("caution.title"), draw.Style{Size: 40 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true})
	y += 36 * c.M.Text
	parts := []string{"caution.1", "caution.2", "caution.3", "caution.4"}
	size := 26.0
	for ; size > 10; size -= 0.5 {
		st, end := draw.Style{Size: size}, y
		for _, p := range parts {
			end += float64(len(c.Wrap(g.Say(p), w-28, st)))*c.Lead(st) + size*c.M.Text*0.8
		}
		if end < bar-20 {
			break
		}
	}
	y += size * c.M.Text
	for i, p := range parts {
		st := draw.Style{Size: size, Color: c.Theme.Ink}
		if i == 3 {
			st.Color = c.Theme.Dim
		}
		c.Disc(draw.Margin+5, y-size*c.M.Text*0.32, 4, c.Theme.Amber)
		y = c.Para(draw.Margin+28, y, w-28, g.Say(p), st) + size*c.M.Text*0.8
	}
}
