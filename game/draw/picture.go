package draw

import (
	"image/color"

	"github.com/hajimehoshi/ebiten/v2"
)

// Picture puts a screen together from two layers: a static one, which is drawn
// again only when something on it has changed, and what moves, which is drawn
// over it every frame. The zero value is a picture that must be drawn.
type Picture struct {
	// Items are the texts and controls on the static layer, in the order in
	// which they were drawn.
	Items []Item

	layer    *ebiten.Image // the static one
	drawn    bool          // it shows what it should
	fullBlit bool          // all of it must be copied to the screen
	static   Canvas
	dynamic  Canvas
	on, all  tiles // drawn on by the static layer, and by both
	vs       []ebiten.Vertex
	is       []uint16
}

// Redraw has the static layer drawn again with the next frame.
func (p *Picture) Redraw() { p.drawn = false }

// Drawn reports whether the static layer shows what it should.
func (p *Picture) Drawn() bool { return p.drawn }

// Static draws the static layer by paint, on bare ground.
func (p *Picture) Static(m Metrics, th *Theme, paint func(c *Canvas)) {
	if p.layer == nil || p.layer.Bounds().Dx() != m.PxW || p.layer.Bounds().Dy() != m.PxH {
		if p.layer != nil {
			p.layer.Deallocate()
		}
		p.layer = ebiten.NewImage(m.PxW, m.PxH)
	}
	p.drawn, p.fullBlit = true, true
	p.Items = p.Items[:0]
	p.layer.Fill(th.Ground)
	p.on.reset(m.PxW, m.PxH)
	c := &p.static
	c.Img, c.M, c.Theme, c.Items, c.ink.marks = p.layer, m, th, &p.Items, &p.on
	paint(c)
	c.ink.flush(p.layer)
}

// Dynamic draws what moves over the static layer. Where all of that has to be
// copied first, it calls restart, so that nothing is taken to stand there yet.
// veil is how much of the ground still lies over the picture, 0 to 1.
func (p *Picture) Dynamic(screen *ebiten.Image, m Metrics, th *Theme, veil float64, restart func(), paint func(c *Canvas)) {
	if p.fullBlit || veil > 0 {
		screen.DrawImage(p.layer, nil)
		restart()
		p.fullBlit = veil > 0 // once more when it has passed
	}
	c := &p.dynamic
	c.Img, c.M, c.Theme, c.under = screen, m, th, p.layer
	paint(c)
	if veil > 0 {
		ground := th.Ground
		ground.A = uint8(255 * veil)
		c.ink.box(screen, 0, 0, float64(m.PxW), float64(m.PxH), ground)
	}
	c.ink.flush(screen)
}

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
		panic("draw: a built-in shader does not compile: " + err.Error())
	}
	return s
}

// Present puts the finished picture on the window; moving, if any, adds where
// the parts that move stand now.
func (p *Picture) Present(window ebiten.FinalScreen, picture *ebiten.Image, geoM ebiten.GeoM, ground color.NRGBA, moving func(c *Canvas, add func(Rect))) {
	b := picture.Bounds()
	p.all.reset(b.Dx(), b.Dy())
	copy(p.all.on, p.on.on)
	if moving != nil {
		u := p.dynamic.M.Unit
		moving(&p.dynamic, func(r Rect) { p.all.mark(r.X*u-1, r.Y*u-1, r.Right()*u+1, r.Bottom()*u+1) })
	}
	w, h := float32(b.Dx()), float32(b.Dy())
	fill := ebiten.DrawTrianglesShaderOptions{Blend: ebiten.BlendCopy, Uniforms: map[string]any{
		"Ground": []float32{float32(ground.R) / 255, float32(ground.G) / 255, float32(ground.B) / 255, 1},
	}}
	p.quads(w, h, geoM, false)
	window.DrawTrianglesShader(p.vs, p.is, fillShader, &fill)
	op := ebiten.DrawTrianglesShaderOptions{Blend: ebiten.BlendCopy}
	op.Images[0] = picture
	p.quads(w, h, geoM, true)
	window.DrawTrianglesShader(p.vs, p.is, copyShader, &op)
}

// quads makes a rectangle of each run of drawn squares, or of bare ones.
func (p *Picture) quads(w, h float32, geoM ebiten.GeoM, drawn bool) {
	p.vs, p.is = p.vs[:0], p.is[:0]
	for y := range p.all.h {
		row := p.all.on[y*p.all.w : (y+1)*p.all.w]
		for x := 0; x < len(row); x++ {
			if row[x] != drawn {
				continue
			}
			from := x
			for x < len(row) && row[x] == drawn {
				x++
			}
			p.quad(float32(from*tile), float32(y*tile), min(w, float32(x*tile)), min(h, float32((y+1)*tile)), geoM)
		}
	}
}

func (p *Picture) quad(x0, y0, x1, y1 float32, geoM ebiten.GeoM) {
	n := uint16(len(p.vs))
	for _, at := range [4][2]float32{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}} {
		dx, dy := geoM.Apply(float64(at[0]), float64(at[1]))
		p.vs = append(p.vs, ebiten.Vertex{DstX: float32(dx), DstY: float32(dy), SrcX: at[0], SrcY: at[1], ColorR: 1, ColorG: 1, ColorB: 1, ColorA: 1})
	}
	p.is = append(p.is, n, n+1, n+2, n, n+2, n+3)
}
