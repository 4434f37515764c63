package source

import (
	"fmt"
	"image/color"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// TestPlot draws the under-read of every sound of the survey, by kind, with the
// recordings' beside them, to a folder that is not kept.
func TestPlot(t *testing.T) {
	t.Parallel()
	p := plot.New()
	p.Title.Text = "Under-read of generated sounds (by kind) and of recordings (hollow)"
	p.Y.Label.Text = "sample peak less needle reading, dB"
	real := recordings(t)
	var names []string
	for fi, f := range Generated() {
		by := map[string]plotter.XYs{}
		at := map[string]float64{}
		for _, k := range kinds[f] {
			at[k.name] = float64(len(names))
			names = append(names, k.name)
		}
		for i, m := range survey(f) {
			jitter := 0.6 * (float64(i*7919%1000)/1000 - 0.5)
			by[m.kind] = append(by[m.kind], plotter.XY{X: at[m.kind] + jitter, Y: m.under})
		}
		shade := []color.RGBA{{60, 60, 60, 255}, {0, 110, 110, 255}, {170, 110, 0, 255}, {150, 50, 40, 255}, {60, 70, 150, 255}}[fi]
		for _, k := range kinds[f] {
			s, err := plotter.NewScatter(by[k.name])
			if err != nil {
				t.Fatal(err)
			}
			s.GlyphStyle = draw.GlyphStyle{Color: shade, Radius: vg.Points(1.2), Shape: draw.CircleGlyph{}}
			p.Add(s)
		}
		var r plotter.XYs
		for i, p := range real {
			if p.family != f {
				continue
			}
			v := p.values[0]
			r = append(r, plotter.XY{X: float64(len(names)) + 0.6*(float64(i*7919%1000)/1000-0.5), Y: v})
		}
		names = append(names, fmt.Sprintf("%s: recordings", f))
		s, err := plotter.NewScatter(r)
		if err != nil {
			t.Fatal(err)
		}
		s.GlyphStyle = draw.GlyphStyle{Color: shade, Radius: vg.Points(2), Shape: draw.RingGlyph{}}
		p.Add(s)
	}
	p.Add(plotter.NewGrid())
	p.NominalX(names...)
	p.X.Tick.Label.Rotation = 0.9
	p.X.Tick.Label.XAlign = draw.XRight
	p.X.Tick.Label.YAlign = draw.YCenter
	p.Y.Min, p.Y.Max = -1, 30
	dir := filepath.Join("..", "..", "shots")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := p.Save(14*vg.Inch, 7*vg.Inch, filepath.Join(dir, "under-read.png")); err != nil {
		t.Fatal(err)
	}
}
