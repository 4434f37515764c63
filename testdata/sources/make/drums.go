package main

import (
	"encoding/xml"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"slowneedle/audio"
	"slowneedle/audio/source/figures"
)

// pattern is lines for one stroke each: its name, and sixteen steps of a strength from 1
// to 9, or of none.
type pattern struct {
	name string
	bpm  float64
	line []string
}

// steps takes a line apart; a step without a stroke has a strength of 0.
func steps(line string) (stroke string, strength [16]int) {
	stroke, marks, _ := strings.Cut(line, " ")
	for i := range strength {
		if marks[i] != '.' {
			strength[i] = int(marks[i] - '0')
		}
	}
	return
}

// keys are those of strokes in banks, as the General MIDI percussion map has them (from
// memory).
var keys = map[string]int{
	"kick": 36, "rim": 37, "snare": 38, "clap": 39, "low-tom": 41, "hat": 42, "tom": 45, "open": 46, "ride": 51, "jingles": 54,
	"bongo": 60, "low-bongo": 61, "slap": 62, "conga": 63, "bass": 64, "shaker": 70, "sticks": 75, "block": 76, "low-block": 77,
}

var kitPatterns = []pattern{
	{"straight", 100, []string{"kick 8.......8.7.....", "snare ....8.......8...", "hat 6.4.6.4.6.4.6.4."}},
	{"busy", 116, []string{"kick 8..7..6.8.7..6..", "snare ....82..2.2.8.2.", "hat 6444644464446444"}},
	{"half time", 84, []string{"kick 8.....6.........", "snare ........8.......", "hat 6.4.6.4.6.4.6.4."}},
	{"four to the bar", 124, []string{"kick 8...8...8...8...", "snare ....7.......7...", "open ..6...6...6...6."}},
	{"toms", 96, []string{"kick 8.......8.......", "tom ...8..6..7.6.7.8", "ride 6...6...6...6..."}},
	{"sparse", 80, []string{"kick 8...............", "snare ........8......."}},
}

var handPatterns = []pattern{
	{"hand drums", 104, []string{"open 6....6..6.6.6...", "slap ..6...6.....6.6.", "bass 8.......8......."}},
	{"hand drums, dense", 116, []string{"open 6.4.6.4.6.4.6.44", "slap ....7.......7...", "bass 8.......8..8...."}},
}

var smallPatterns = []pattern{
	{"shaker and sticks", 104, []string{"shaker 7.4.7.4.7.4.7.4.", "sticks 8..8..8...8.8..."}},
	{"small hand drums", 110, []string{"high 6.4.6.4.6.4.6.44", "low 8.......8..8...."}},
	{"wood blocks", 92, []string{"block 8...6.....8.....", "sticks ......7.......7."}},
	{"hand claps", 88, []string{"clap ....8.......8..."}},
}

// strokes gives a stroke at a strength from 0 to 1.
type strokes func(name string, strength float64) []float32

// sequence lays a pattern out over one passage. An uneven hand is one that is
// less sure, or means it.
func sequence(p pattern, uneven bool, of strokes) [][]float32 {
	x := make([]float32, figures.Seconds*audio.Rate)
	six := 60 / p.bpm / 4
	for i := 0; float64(i)*six < figures.Seconds; i++ {
		for _, l := range p.line {
			name, strength := steps(l)
			v := float64(strength[i%16]) / 9
			if v == 0 {
				continue
			}
			if uneven {
				v = min(1, v*[]float64{1.25, 0.8, 1, 0.65, 1.15, 0.9, 0.75}[(i/16*5+i%16*3)%7])
			}
			for j, s := range of(name, v) {
				x[(int(float64(i)*six*audio.Rate)+j)%len(x)] += s
			}
		}
	}
	return [][]float32{x}
}

func drums() {
	banks, _ := filepath.Glob("/usr/share/sounds/sf2/*_4_LV2.sf2")
	if len(banks) != 2 {
		log.Fatal("package avldrums.lv2-soundfont is missing")
	}
	for _, b := range []struct {
		name, bank, pkg string
		ch              int
	}{{"first bank", banks[0], "avldrums.lv2-soundfont", 0}, {"second bank", banks[1], "avldrums.lv2-soundfont", 0}, {"small bank", smallBank, "timgm6mb-soundfont", 9}} {
		made := map[string][]float32{}
		all(b.name, "samples of a bank, dry", versions(b.pkg, "fluidsynth"), kitPatterns, func(name string, v float64) []float32 {
			vel := min(127, int(v*117)/6*6+6) // few different strokes, so that few are rendered
			id := fmt.Sprint(name, vel)
			if made[id] == nil {
				out := temp("stroke")
				render(b.bank, map[int]int{b.ch: 0}, 120, []note{{0, b.ch, keys[name], vel, 1}, {3, b.ch, keys[name], 1, 0.1}}, out)
				made[id] = load(out)[0][:67200]
			}
			return made[id]
		})
	}
	kits, _ := filepath.Glob("/usr/share/hydrogen/data/drumkits/*/drumkit.xml")
	for i, path := range kits {
		of, has := drumkit(path)
		worth := "single strokes as recorded, layered by strength"
		name := fmt.Sprintf("kit %d", i+1)
		pkg := versions("hydrogen-drumkits")
		if has("kick", "snare", "hat", "open", "tom", "ride") {
			all(name, worth, pkg, kitPatterns, of)
		}
		if has("slap", "bass") {
			all(name, worth, pkg, handPatterns, of)
		}
		if has("shaker", "sticks", "high", "low", "block") {
			all(name, worth, pkg, smallPatterns, of)
		}
	}
}

func all(name, worth, pkgs string, patterns []pattern, of strokes) {
	for _, p := range patterns {
		for _, uneven := range []bool{false, true} {
			hand := map[bool]string{false: "even", true: "uneven"}[uneven]
			measure(recording{"struck", name + ", " + p.name + ", " + hand, "samples", worth, pkgs,
				fmt.Sprintf("%g beats a minute: %s", p.bpm, strings.Join(p.line, ", "))}, sequence(p, uneven, of), 1)
		}
	}
}

// drumkit reads a kit of samples. A stroke is the first instrument whose name
// fits, in the layer for its strength, times the strength, as the program does
// that the kits are made for. Kits with one layer a stroke (but for hand drums)
// are left out.
func drumkit(path string) (strokes, func(...string) bool) {
	var kit struct {
		Instruments []struct {
			Name   string  `xml:"name"`
			Layers []layer `xml:"layer"`
			In     []struct {
				Layers []layer `xml:"layer"`
			} `xml:"instrumentComponent"`
		} `xml:"instrumentList>instrument"`
	}
	text, err := os.ReadFile(path)
	if err != nil {
		log.Fatal(err)
	}
	if err := xml.Unmarshal(text, &kit); err != nil {
		return nil, func(...string) bool { return false }
	}
	words := map[string]*regexp.Regexp{
		"kick": regexp.MustCompile(`(?i)kick|bass ?drum`), "snare": regexp.MustCompile(`(?i)snare`), "hat": regexp.MustCompile(`(?i)hat closed|closed hh`),
		"open": regexp.MustCompile(`(?i)hat open|open hh|tone$`), "tom": regexp.MustCompile(`(?i)tom 1|tom mid|tom floor`), "ride": regexp.MustCompile(`(?i)ride`),
		"slap": regexp.MustCompile(`(?i)drum slap|djembe1 slap`), "bass": regexp.MustCompile(`(?i)djembe1 bass`),
		"shaker": regexp.MustCompile(`(?i)maraca`), "sticks": regexp.MustCompile(`(?i)clave`), "high": regexp.MustCompile(`(?i)bongo hi`),
		"low": regexp.MustCompile(`(?i)bongo lo`), "block": regexp.MustCompile(`(?i)woodblock hi`), "clap": regexp.MustCompile(`(?i)hand ?clap`),
	}
	layers := map[string][]layer{}
	for name, fits := range words {
		for _, in := range kit.Instruments {
			l := in.Layers
			for _, c := range in.In {
				l = append(l, c.Layers...)
			}
			if fits.MatchString(in.Name) && len(l) > 0 && layers[name] == nil {
				layers[name] = l
			}
		}
	}
	has := func(names ...string) bool {
		for _, n := range names {
			if l := layers[n]; l == nil || n == "snare" && len(l) < 2 {
				return false
			}
		}
		return true
	}
	loaded := map[string][]float32{}
	return func(name string, v float64) []float32 {
		best := layers[name][0]
		for _, l := range layers[name] {
			if v >= l.Min && v <= l.Max {
				best = l
				break
			}
		}
		x := loaded[best.File]
		if x == nil {
			x = load(filepath.Join(filepath.Dir(path), best.File))[0]
			loaded[best.File] = x
		}
		y := make([]float32, min(len(x), 2*audio.Rate))
		for i := range y {
			y[i] = x[i] * float32(v)
		}
		return y
	}, has
}

type layer struct {
	File string  `xml:"filename"`
	Min  float64 `xml:"min"`
	Max  float64 `xml:"max"`
}
