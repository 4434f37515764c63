package game

import "image/color"

// theme is the one palette every screen draws from. A meaning is never told by
// colour alone: a word or a shape stands beside it.
type theme struct {
	name   string
	ground color.NRGBA // behind everything
	panel  color.NRGBA // behind the strip and cards
	band   color.NRGBA // behind what is right, as an area
	ink    color.NRGBA // text and strokes
	dim    color.NRGBA // second text
	faint  color.NRGBA // rules and tracks; never text
	amber  color.NRGBA // the lamp
	teal   color.NRGBA // right
	brick  color.NRGBA // spoiled
}

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// slate is chalk on a dark slate; paper is its counterpart for projectors.
var (
	slate = theme{
		name: "slate", ground: rgb(0x1d2729), panel: rgb(0x243133), band: rgb(0x274543),
		ink: rgb(0xece8dc), dim: rgb(0xa9b0ab), faint: rgb(0x4a5a5b),
		amber: rgb(0xf2b134), teal: rgb(0x58b8a8), brick: rgb(0xe5806a),
	}
	paper = theme{
		name: "paper", ground: rgb(0xf4f1e8), panel: rgb(0xe8e4d8), band: rgb(0xc9e0d9),
		ink: rgb(0x1f2a2c), dim: rgb(0x4e5a5b), faint: rgb(0xb3b5aa),
		amber: rgb(0x865500), teal: rgb(0x0f6457), brick: rgb(0xa33a20),
	}
)

// themeNamed returns the palette of a name; an unknown name is slate.
func themeNamed(name string) *theme {
	if name == paper.name {
		return &paper
	}
	return &slate
}
