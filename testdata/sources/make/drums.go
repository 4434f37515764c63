package main

import (
	"fmt"
	"log"
	"path/filepath"
	"strings"
)

// drums renders strokes and sequences them with sox, four bars of sixteenths.
func drums() {
	banks, _ := filepath.Glob("/usr/share/sounds/sf2/*_4_LV2.sf2")
	if len(banks) != 2 {
		log.Fatal("package avldrums.lv2-soundfont is missing")
	}
	kits := []struct {
		name, bank, pkg string
		ch              int
	}{
		{"first kit", banks[0], "avldrums.lv2-soundfont", 0},
		{"second kit", banks[1], "avldrums.lv2-soundfont", 0},
		{"small kit", smallBank, "timgm6mb-soundfont", 9},
	}
	keys := map[byte]int{'k': 36, 's': 38, 'h': 42, 'o': 46, 't': 45, 'r': 51, 'c': 39}
	patterns := []struct {
		name string
		bpm  float64
		line []string // one string a sound: letter, then sixteen steps of strength 0 to 9
	}{
		{"straight", 100, []string{"k8000000080700000", "s0000800000008000", "h6040604060406040"}},
		{"busy", 116, []string{"k8007006080700600", "s0000820020208020", "h6444644464446444"}},
		{"half time", 84, []string{"k8000006000000000", "s0000000080000000", "h6040604060406040"}},
		{"four to the bar", 124, []string{"k8000800080008000", "s0000700000007000", "o0060006000600060"}},
		{"toms", 96, []string{"k8000000080000000", "t0008006007060708", "r6000600060006000"}},
		{"sparse", 80, []string{"k8000000000000000", "s0000000080000000"}},
	}
	for _, kit := range kits {
		made := map[string]string{}
		for _, p := range patterns {
			for _, hand := range []string{"even", "uneven"} {
				six := 60 / p.bpm / 4
				args := []string{"-m"}
				for bar := range 4 {
					for _, l := range p.line {
						for i := range 16 {
							v := int(l[1+i]-'0') * 13
							if v == 0 {
								continue
							}
							if hand == "uneven" {
								v = v * []int{125, 80, 100, 65, 115, 90, 75}[(bar*5+i*3)%7] / 100
							}
							v = min(127, v/6*6+6) // few different strokes, so that few are rendered
							id := fmt.Sprintf("%c%d", l[0], v)
							if made[id] == "" {
								made[id] = temp(kit.name + id)
								whole := temp("whole")
								render(kit.bank, map[int]int{kit.ch: 0}, 120, []note{{0, kit.ch, keys[l[0]], v, 1}, {3, kit.ch, keys[l[0]], 1, 0.1}}, whole)
								run("sox", whole, made[id], "trim", "0", "1.4")
							}
							args = append(args, fmt.Sprintf("|sox %s -p pad %.4f 0", made[id], six*float64(16*bar+i)))
						}
					}
				}
				out := temp(kit.name + p.name)
				run("sox", append(args, "-b", "32", "-e", "float", out, "gain", "-n", "-6")...)
				measure(row{family: "struck", sound: kit.name + ", " + p.name + ", " + hand, packages: versions(kit.pkg, "fluidsynth"),
					made: fmt.Sprintf("strokes sequenced by sox, %g beats a minute: %s", p.bpm, strings.Join(p.line, " "))}, out)
			}
		}
	}
}
