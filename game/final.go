package game

import (
	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/game/draw"
)

// Two shaders put the finished picture on the window: one copies where
// something is drawn, one fills the bare ground between. Where the processor
// has to draw, this is what a frame costs most, and a pixel copied costs
// several filled.
var (
	copyShader = mustShader(`//kage:unit pixels
package main

func Fragment(dstPos vec4, srcPos vec2) vec4 {
	return imageSrc0UnsafeAt(srcPos)
}
`)
	fillShader = mustShader(`//kage:unit pixels
package main

var Ground vec4

func Fragment(dstPos vec4, srcPos vec2) vec4 {
	return Ground
}
`)
)

// mustShader compiles a shader that is part of the program.
func mustShader(src string) *ebiten.Shader {
	s, err := ebiten.NewShader([]byte(src))
	if err != nil {
		panic("game: a built-in shader does not compile: " + err.Error())
	}
	return s
}

// final is what is needed to put a picture on the window.
type final struct {
	board draw.Tiles // drawn on by what stands still
	all   draw.Tiles // and by what moves
	vs    []ebiten.Vertex
	is    []uint16
}

// moving is a scene that says where its moving parts stand now.
type moving interface {
	spots(c *draw.Canvas, add func(draw.Rect))
}

// DrawFinalScreen puts what Draw made on the window.
func (g *Game) DrawFinalScreen(screen ebiten.FinalScreen, offscreen *ebiten.Image, geoM ebiten.GeoM) {
	b := offscreen.Bounds()
	f := &g.final
	f.all.Reset(b.Dx(), b.Dy())
	copy(f.all.On, f.board.On)
	if m, ok := g.scene.(moving); ok {
		u := g.m.Unit
		m.spots(&g.moved, func(r draw.Rect) { f.all.Mark(r.X*u-1, r.Y*u-1, r.Right()*u+1, r.Bottom()*u+1) })
	}
	w, h := float32(b.Dx()), float32(b.Dy())
	ground := g.th.Ground
	fill := ebiten.DrawTrianglesShaderOptions{Blend: ebiten.BlendCopy, Uniforms: map[string]any{
		"Ground": []float32{float32(ground.R) / 255, float32(ground.G) / 255, float32(ground.B) / 255, 1},
	}}
	f.quads(w, h, geoM, false)
	screen.DrawTrianglesShader(f.vs, f.is, fillShader, &fill)
	op := ebiten.DrawTrianglesShaderOptions{Blend: ebiten.BlendCopy}
	op.Images[0] = offscreen
	f.quads(w, h, geoM, true)
	screen.DrawTrianglesShader(f.vs, f.is, copyShader, &op)
}

// quads makes a rectangle of each run of drawn squares, or of bare ones.
func (f *final) quads(w, h float32, geoM ebiten.GeoM, drawn bool) {
	f.vs, f.is = f.vs[:0], f.is[:0]
	for y := range f.all.H {
		row := f.all.On[y*f.all.W : (y+1)*f.all.W]
		for x := 0; x < len(row); x++ {
			if row[x] != drawn {
				continue
			}
			from := x
			for x < len(row) && row[x] == drawn {
				x++
			}
			f.quad(float32(from*draw.Tile), float32(y*draw.Tile), min(w, float32(x*draw.Tile)), min(h, float32((y+1)*draw.Tile)), geoM)
		}
	}
}

func (f *final) quad(x0, y0, x1, y1 float32, geoM ebiten.GeoM) {
	n := uint16(len(f.vs))
	for _, p := range [4][2]float32{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} {
		dx, dy := geoM.Apply(float64(p[0]), float64(p[1]))
		f.vs = append(f.vs, ebiten.Vertex{DstX: float32(dx), DstY: float32(dy), SrcX: p[0], SrcY: p[1], ColorR: 1, ColorG: 1, ColorB: 1, ColorA: 1})
	}
	f.is = append(f.is, n, n+1, n+2, n, n+2, n+3)
}
