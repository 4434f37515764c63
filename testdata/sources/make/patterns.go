package main

import "slowneedle/audio/source/figures"

var chord = [][]int{{40, 47, 52, 56, 59, 64}, {45, 52, 57, 61, 64}, {47, 54, 59, 63, 66}, {40, 47, 52, 56, 59, 64}}

func strum(ch int) (n []note) {
	for bar := range 4 {
		for i, v := range []int{100, 0, 70, 85, 0, 60, 90, 60} {
			for j, k := range chord[bar] {
				if v > 0 {
					at := float64(4*bar) + float64(i)/2
					n = append(n, note{at + 0.02*float64(j), ch, k, v - 3*j, 0.9 - 0.02*float64(j)})
				}
			}
		}
	}
	return
}

func pickedBy(ch, step int) (n []note) {
	for bar := range 4 {
		c := chord[bar]
		for i := range 16 / step {
			v := 75 + (i*5)%17
			if i == 0 {
				v = 100
			}
			n = append(n, note{float64(4*bar) + float64(i*step)/4, ch, c[[]int{0, 2, 3, 4, 3, 2, 4, 1}[i%8]], v, 1.8})
		}
	}
	return
}

func tune(ch, up int) (n []note) {
	at := 0.0
	for i, s := range []int{0, 4, 7, 12, 11, 7, 9, 5, 4, 2, 0, 7, 4, 5, 2, 0} {
		long := []float64{1, 0.5, 0.5, 1, 1.5, 0.5}[i%6]
		n = append(n, note{at, ch, 52 + up + s, 80 + (i*7)%30, long})
		at += long
	}
	return
}

func bass(ch int) (n []note) {
	for bar := range 4 {
		for i, s := range []int{0, 0, 7, 12} {
			n = append(n, note{float64(4*bar + i), ch, chord[bar][0] - 12 + s, 90 + (i*11)%20, 0.9})
		}
	}
	return
}

func kit() (n []note) {
	for i := range 64 {
		at := float64(i) / 4
		if i%8 == 0 || i%16 == 10 {
			n = append(n, note{at, 9, 36, 105, 0.2})
		}
		if i%8 == 4 {
			n = append(n, note{at, 9, 38, 100, 0.2})
		}
		if i%2 == 0 {
			n = append(n, note{at, 9, 42, 75 - 15*(i/2%2), 0.2})
		}
	}
	return
}

func join(all ...[]note) (n []note) {
	for _, a := range all {
		n = append(n, a...)
	}
	return
}

// uneven is as a hand plays that is less sure, or means it: strength up and down.
func uneven(in []note) (n []note) {
	for i, v := range in {
		v.vel = min(127, v.vel*[]int{130, 75, 95, 60, 110, 85, 70}[i*3%7]/100)
		n = append(n, v)
	}
	return
}

func sparse(ch, up int) (n []note) {
	for i, s := range []int{0, 7, 4, 12, 5, 9, 2, 7} {
		n = append(n, note{float64(2 * i), ch, 52 + up + s, 85 + (i*13)%35, 0.7})
	}
	return
}

// fill repeats four bars until they last longer than a passage.
func fill(bpm float64, in []note) (n []note) {
	for at := 0.0; at*60/bpm < figures.Seconds; at += 16 {
		for _, v := range in {
			v.at += at
			n = append(n, v)
		}
	}
	return append(n, note{(figures.Seconds + 1) * bpm / 60, 0, 60, 1, 0.1})
}

// hits plays lines of strokes, see pattern, for four bars.
func hits(lines ...string) (n []note) {
	for _, l := range lines {
		stroke, strength := steps(l)
		for i := range 64 {
			if v := strength[i%16]; v > 0 {
				n = append(n, note{float64(i) / 4, 9, keys[stroke], min(127, v*13+(i*7)%15), 0.2})
			}
		}
	}
	return
}
