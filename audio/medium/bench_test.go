package medium

import "testing"

// Silence is as quick as sound: numbers too small to be normal would be slow.
func BenchmarkProcess(b *testing.B) {
	for _, tt := range []struct {
		name  string
		kind  Kind
		level float64
	}{
		{"digital", KindDigital, -12}, {"tape", KindTape, -12}, {"tape in silence", KindTape, -500},
	} {
		b.Run(tt.name, func(b *testing.B) {
			m, err := New(tt.kind, -18, 1)
			if err != nil {
				b.Fatal(err)
			}
			l, r := sine(1000, tt.level, 480), sine(500, tt.level, 480)
			x, y := make([]float32, 480), make([]float32, 480)
			b.ReportAllocs()
			for b.Loop() {
				copy(x, l)
				copy(y, r)
				m.Process(x, y)
			}
			b.ReportMetric(b.Elapsed().Seconds()*1e9/float64(b.N)/960, "ns/sample")
		})
	}
}
