package game

import (
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/scene"
)

// mirror has the page show what is on the screen to those who do not see the
// picture.
func (g *Game) mirror(now scene.Scene) {
	s := g.screen
	th := g.theme()
	m := page.Mirror{
		Screen: now.Name(), Language: s.Say("language.code"), Filled: g.hands.Filled,
		Panel: css(th.Panel), Ink: css(th.Ink), Items: mirrored(s.Picture.Items, s.M),
	}
	if f, ok := now.(hand.Form); ok {
		m.Field = f.Field()
	}
	page.Show(m)
	g.mirroredSliders = nil
}

// sliders tell the page where the sliders stand that have moved.
func (g *Game) sliders(now scene.Scene) {
	moving, ok := now.(scene.Sliders)
	if !ok {
		return
	}
	for name, at := range moving.Sliders() {
		if g.mirroredSliders[name] != at {
			if g.mirroredSliders == nil {
				g.mirroredSliders = map[string]page.Slider{}
			}
			g.mirroredSliders[name] = at
			page.Set(name, at)
		}
	}
}

func css(c color.NRGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// mirrored are the texts and controls of a screen as a page has them: the heading
// first, the keys of the bar last. What is written on a control is its label, and
// lines under each other are one text.
func mirrored(items []draw.Item, m draw.Metrics) []page.Item {
	var all []page.Item
	add := func(role string, i draw.Item, label string, place draw.Rect) {
		all = append(all, page.Item{
			Role: role, Name: i.Name, Label: label, Text: i.Value, Live: i.Said == draw.Live, On: i.On,
			X: place.X / m.W, Y: place.Y / m.H, W: place.W / m.W, H: place.H / m.H,
		})
	}
	for at := 0; at < len(items); at++ {
		switch i := items[at]; {
		case i.Role == draw.RoleText && onControl(i, items):
		case i.Role == draw.RoleText:
			role := "text"
			if i.Said == draw.Heading {
				role = "heading"
			}
			label, place := i.Label, i.Place
			for ; at+1 < len(items) && follows(items[at], items[at+1]) && !onControl(items[at+1], items); at++ {
				next := items[at+1]
				label += " " + next.Label
				right := math.Max(place.Right(), next.Place.Right())
				place.X = math.Min(place.X, next.Place.X)
				place.W, place.H = right-place.X, next.Place.Bottom()-place.Y
			}
			add(role, i, label, place)
		case strings.HasSuffix(i.Name, ".track"): // its knob is mirrored
		default:
			add(string(i.Role), i, i.Label, i.Place)
		}
	}
	rank := func(i page.Item) int {
		switch {
		case i.Role == "heading":
			return 0
		case strings.HasPrefix(i.Name, "key."):
			return 2
		}
		return 1
	}
	slices.SortStableFunc(all, func(a, b page.Item) int { return rank(a) - rank(b) })
	return all
}

// onControl reports whether a text is written on a control.
func onControl(text draw.Item, items []draw.Item) bool {
	mid := draw.P(text.Place.X+text.Place.W/2, text.Place.Y+text.Place.H/2)
	return slices.ContainsFunc(items, func(i draw.Item) bool {
		return i.Role != draw.RoleText && i.Role != draw.RoleSlider && i.Place.Has(mid.X, mid.Y)
	})
}

// follows reports whether a text is the next line of another.
func follows(a, b draw.Item) bool {
	down := b.Place.Y - a.Place.Y
	return b.Role == draw.RoleText && a.Size == b.Size && a.Said == b.Said && down > 0 && down < 1.8*a.Size &&
		math.Min(a.Place.Right(), b.Place.Right()) > math.Max(a.Place.X, b.Place.X)
}
