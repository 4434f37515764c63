package source

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkKind makes sounds of each kind in turn, one seed after another.
func BenchmarkKind(b *testing.B) {
	for _, f := range Generated() {
		for _, k := range kinds[f] {
			b.Run(string(f)+"/"+k.name, func(b *testing.B) {
				for i := range b.N {
					k.generate(Request{Family: f}, rand.New(rand.NewPCG(uint64(i), stream(f))))
				}
			})
		}
	}
}

// BenchmarkGenerate makes sounds of each family as rounds draw them.
func BenchmarkGenerate(b *testing.B) {
	for _, f := range Generated() {
		b.Run(string(f), func(b *testing.B) {
			for i := range b.N {
				if _, err := Generate(f, uint64(i), Difficulty{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
