package game

import "github.com/hajimehoshi/ebiten/v2"

// copyShader puts the finished picture on the window as it is. Without colour
// scale and blending it costs half of what the library's own copy costs where
// the processor has to draw.
var copyShader = mustShader(`//kage:unit pixels
package main

func Fragment(dstPos vec4, srcPos vec2) vec4 {
	return imageSrc0UnsafeAt(srcPos)
}
`)

// mustShader compiles a shader that is part of the program.
func mustShader(src string) *ebiten.Shader {
	s, err := ebiten.NewShader([]byte(src))
	if err != nil {
		panic("game: a built-in shader does not compile: " + err.Error())
	}
	return s
}

// DrawFinalScreen copies what Draw made to the window.
func (g *Game) DrawFinalScreen(screen ebiten.FinalScreen, offscreen *ebiten.Image, geoM ebiten.GeoM) {
	op := ebiten.DrawRectShaderOptions{GeoM: geoM, Blend: ebiten.BlendCopy}
	op.Images[0] = offscreen
	b := offscreen.Bounds()
	screen.DrawRectShader(b.Dx(), b.Dy(), copyShader, &op)
}
