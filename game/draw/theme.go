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
	Amber  color.NRGBA // the lamp
	Teal   color.NRGBA // right
	Brick  color.NRGBA // spoiled
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// slate is chalk on a dark slate; paper is its counterpart for projectors.
var (
	Slate = Theme{
		Name: "slate", Ground: rgb(0x1d2729), Panel: rgb(0x243133), Band: rgb(0x274543),
		Ink: rgb(0xece8dc), Dim: rgb(0xa9b0ab), Faint: rgb(0x4a5a5b),
		Amber: rgb(0xf2b134), Teal: rgb(0x58b8a8), Brick: rgb(0xe5806a),
	}
	Paper = Theme{
		Name: "paper", Ground: rgb(0xf4f1e8), Panel: rgb(0xe8e4d8), Band: rgb(0xc9e0d9),
		Ink: rgb(0x1f2a2c), Dim: rgb(0x4e5a5b), Faint: rgb(0xb3b5aa),
		Amber: rgb(0x865500), Teal: rgb(0x0f6457), Brick: rgb(0xa33a20),
	}
)

// ThemeNamed returns the palette of a name; an unknown name is slate.
func ThemeNamed(name string) *Theme {
	if name == Paper.Name {
		return &Paper
	}
	return &Slate
}

// Verdict is the colour of what is right, or of what is spoiled.
func (th *Theme) Verdict(right bool) color.NRGBA {
	if right {
		return th.Teal
	}
	return th.Brick
}
