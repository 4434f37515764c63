package game

import (
	"fmt"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// helpScene explains the screen it was called from.
type helpScene struct {
	base
	nothing
	to      helpGuide
	of      string // the screen it explains
	version string // of the trainer
	sound   *player
}

// helpGuide is where the screens of help lead to.
type helpGuide interface {
	guide
	Cautions()
	Tour()
	Understood()
}

func (s *helpScene) Name() string { return "help" }

func (s *helpScene) Actions() []action {
	keys := append([]ebiten.Key{ebiten.KeyEscape, ebiten.KeyH, ebiten.KeyF1, ebiten.KeySpace}, enterKeys...)
	return []action{
		{id: "esc", keys: keys, cap: "cap.esc", label: s.Say("help.back"), do: s.to.Back},
		{id: "cautions", keys: []ebiten.Key{ebiten.KeyC}, cap: "cap.c", label: s.Say("help.cautions"), do: s.to.Cautions},
		tourAction(s.base, s.to),
		{id: "full", cap: "cap.f11", label: s.Say("help.full"), do: func() { ebiten.SetFullscreen(!ebiten.IsFullscreen()) }},
		{id: "tab", keysOnly: true, cap: "cap.tab", label: s.Say("help.tab"), do: func() { s.areas.moveFocus(false, nil) }},
	}
}

func (s *helpScene) Draw(c *draw.Canvas) {
	bar := s.drawBar(c, s.Actions())
	top := s.drawHead(c, s.Say("help.title"), s.Say("help.of."+s.of), "slowneedle "+s.version, "")
	// The text takes as large a size as its place allows.
	w := math.Min(c.M.W-2*draw.Margin, 1040)
	size := 21.0
	var y float64
	for ; size > 9; size -= 0.5 {
		st := draw.Style{Size: size}
		y = top + 20
		for _, text := range s.texts() {
			y += float64(len(c.Wrap(text, w, st)))*c.Lead(st) + size*c.M.Text*0.5
		}
		if y < bar-8 {
			break
		}
	}
	st := draw.Style{Size: size, Color: c.Theme.Ink}
	y = top + 20 + size*c.M.Text*0.6
	for i, text := range s.texts() {
		if i == len(helpParts(s.of)) {
			st.Color = c.Theme.Amber
		}
		y = c.Para(draw.Margin, y, w, text, st) + size*c.M.Text*0.5
	}
}

// texts are the paragraphs of a screen's help and, without sound, why there is
// none.
func (s *helpScene) texts() []string {
	var all []string
	for _, p := range helpParts(s.of) {
		all = append(all, s.Say(p))
	}
	if s.sound.quiet() {
		all = append(all, s.Put(s.sound.Why()))
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
type cautionScene struct {
	base
	nothing
	to    helpGuide
	first bool // nothing else has been shown yet
}

func (s *cautionScene) Name() string { return "cautions" }

func (s *cautionScene) Actions() []action {
	keys := append([]ebiten.Key{ebiten.KeyEscape, ebiten.KeySpace}, enterKeys...)
	acts := []action{{id: "enter", keys: keys, cap: "cap.enter", label: s.Say("caution.understood"), do: s.to.Back}}
	if s.first {
		acts[0].do = s.to.Understood
		acts = append(acts, tourAction(s.base, s.to))
	}
	return append(acts, s.helpAction(s.to))
}

func (s *cautionScene) Draw(c *draw.Canvas) {
	bar := s.drawBar(c, s.Actions())
	y := 40 + 60*math.Sqrt(c.M.Text)
	w := math.Min(c.M.W-2*draw.Margin, 1100)
	c.Fit(draw.Margin, y, w, s.Say("caution.title"), draw.Style{Size: 40 / math.Sqrt(c.M.Text), Color: c.Theme.Ink, Bold: true})
	y += 36 * c.M.Text
	parts := []string{"caution.1", "caution.2", "caution.3", "caution.4"}
	size := 26.0
	for ; size > 10; size -= 0.5 {
		st, end := draw.Style{Size: size}, y
		for _, p := range parts {
			end += float64(len(c.Wrap(s.Say(p), w-28, st)))*c.Lead(st) + size*c.M.Text*0.8
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
		y = c.Para(draw.Margin+28, y, w-28, s.Say(p), st) + size*c.M.Text*0.8
	}
}
