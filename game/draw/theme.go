package draw

import (
	"image/color"
)

// Theme is the one palette every screen draws from. A meaning is never told by
// colour alone: a word or a shape stands beside it.
type Theme struct {
	Name   string
	Ground color.NRGBA // behind everything
	Panel  color.NRGBA // behind the strip and cards
	Band   color.NRGBA // behind what is right, as an area
	Ink    color.NRGBA // text and strokes
	Dim    color.NRGBA // second text
	Faint  color.NRGBA // rules and tracks; never text
	Arc    color.NRGBA // of a needle's face, from 0 VU on
	RedArc color.NRGBA // the same for those who expect it red
	Needle color.NRGBA // the needle, and its line in the strip
	Peak   color.NRGBA // the bars of the strip
	Lit    color.NRGBA // the lamp's fill
	Unlit  color.NRGBA
	OnLit  color.NRGBA // the word on it
	Amber  color.NRGBA // over the lamp's threshold
	Teal   color.NRGBA // right
	Brick  color.NRGBA // spoiled, or over the ceiling
	Warn   color.NRGBA // what is to be heeded
	Focus  color.NRGBA // the ring around what the keys act on
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// slate is chalk on a dark slate; paper is its counterpart for projectors.
var (
	Slate = Theme{
		Name: "slate", Ground: rgb(0x1d2729), Panel: rgb(0x243133), Band: rgb(0x274543),
		Ink: rgb(0xece8dc), Dim: rgb(0xa9b0ab), Faint: rgb(0x4a5a5b),
		Arc: rgb(0xece8dc), RedArc: rgb(0xff5a4a), Needle: rgb(0x8fc7f2), Peak: rgb(0x7f8b8a),
		Lit: rgb(0xffbf3f), Unlit: rgb(0x3a3526), OnLit: rgb(0x1d2729),
		Amber: rgb(0xffbf3f), Teal: rgb(0x58b8a8), Brick: rgb(0xe5806a), Warn: rgb(0xc8b0f4), Focus: rgb(0x8fc7f2),
	}
	Paper = Theme{
		Name: "paper", Ground: rgb(0xf4f1e8), Panel: rgb(0xe8e4d8), Band: rgb(0xc9e0d9),
		Ink: rgb(0x1f2a2c), Dim: rgb(0x4e5a5b), Faint: rgb(0xb3b5aa),
		Arc: rgb(0x1f2a2c), RedArc: rgb(0xcc3325), Needle: rgb(0x14568c), Peak: rgb(0x767a74),
		Lit: rgb(0xffb52e), Unlit: rgb(0x5f5648), OnLit: rgb(0x1f2a2c),
		Amber: rgb(0x865500), Teal: rgb(0x0f6457), Brick: rgb(0x7d200d), Warn: rgb(0x5b3a94), Focus: rgb(0x14568c),
	}
)

// ThemeNamed returns the palette of a name, by choice with a red arc from 0 VU on; an
// unknown name is slate.
func ThemeNamed(name string, redArc bool) *Theme {
	th := Slate
	if name == Paper.Name {
		th = Paper
	}
	if redArc {
		th.Arc = th.RedArc
	}
	return &th
}

// Verdict is the colour of what is right, or of what is spoiled.
func (th *Theme) Verdict(right bool) color.NRGBA {
	if right {
		return th.Teal
	}
	return th.Brick
}

// LampRing is the dark ring around the lamp's fill.
func (th *Theme) LampRing() color.NRGBA { return th.OnLit }
