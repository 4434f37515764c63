package medium

import (
	"math"
	"testing"
)

func BenchmarkProcess(b *testing.B) {
	for _, k := range []Kind{KindDigital, KindTape} {
		b.Run(string(k), func(b *testing.B) {
			m, err := New(k, -18, 1)
			if err != nil {
				b.Fatal(err)
			}
			var l, r, x, y [480]float32
			for i := range l {
				l[i] = 0.2 * float32(math.Sin(float64(i)*math.Pi/24))
				r[i] = 0.3 * float32(math.Cos(float64(i)*math.Pi/24))
			}
			b.ReportAllocs()
			for b.Loop() {
				x, y = l, r
				m.Process(x[:], y[:])
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e9/float64(b.N)/960, "ns/sample")
		})
	}
}
