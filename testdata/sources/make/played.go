package main

import (
	"fmt"
	"path/filepath"
	"strings"
)

// played measures what is played from the small bank, and tones.
func played() {
	pkgs := versions("timgm6mb-soundfont", "fluidsynth")
	plucked(pkgs)
	held(pkgs)
	tones()
	mixed()
	bands(pkgs)
}

// plucked are strings, and basses.
func plucked(pkgs string) {
	fretted := []struct {
		name    string
		program int
	}{
		{"gut strings", 24}, {"steel strings", 25}, {"jazz strings", 26}, {"electric strings", 27}, {"muted strings", 28},
		{"zither", 107}, {"long lute", 106}, {"banjo", 105}, {"harp", 46}, {"plucked violins", 45}, {"harpsichord", 6},
	}
	for _, st := range fretted {
		for _, pt := range []struct {
			name  string
			bpm   float64
			notes []note
		}{
			{"strummed", 104, strum(0)}, {"strummed unevenly", 104, uneven(strum(0))},
			{"picked", 92, pickedBy(0, 2)}, {"picked unevenly", 92, uneven(pickedBy(0, 1))},
			{"tune", 100, tune(0, 12)}, {"few notes", 100, sparse(0, 0)},
		} {
			out := temp(st.name + pt.name)
			render(smallBank, map[int]int{0: st.program}, pt.bpm, pt.notes, out)
			measure(row{family: "plucked", sound: st.name + ", " + pt.name, packages: pkgs, made: fmt.Sprintf("program %d, fixed pattern, %g beats a minute", st.program, pt.bpm)}, out)
		}
	}
	for _, program := range []int{32, 33, 34, 35, 36} {
		out := temp(fmt.Sprint("bass", program))
		render(smallBank, map[int]int{0: program}, 104, bass(0), out)
		measure(row{family: "plucked", sound: fmt.Sprintf("bass %d", program-31), packages: pkgs, made: fmt.Sprintf("program %d, fixed pattern, 104 beats a minute", program)}, out)
	}
}

// held are notes and chords that last.
func held(pkgs string) {
	for _, h := range []struct {
		name    string
		program int
	}{
		{"drawbar organ", 16}, {"pipe organ", 19}, {"reed organ", 20}, {"violin", 40}, {"cello", 42}, {"bowed strings", 48},
		{"horn", 60}, {"clarinet", 71}, {"flute", 73}, {"recorder", 74},
	} {
		for i, keys := range [][]int{{60}, {48, 55, 64}} {
			var n []note
			for _, k := range keys {
				n = append(n, note{0, 0, k, 90, 12})
			}
			out := temp(fmt.Sprint(h.name, i))
			render(smallBank, map[int]int{0: h.program}, 60, n, out)
			what := []string{"note", "chord"}[i]
			measure(row{family: "steady", sound: h.name + ", " + what, packages: pkgs, made: fmt.Sprintf("program %d, held for 12 s", h.program)}, out)
		}
	}
}

// tones are what sox makes.
func tones() {
	for _, s := range []string{"sine 1000", "sine 440", "pinknoise", "brownnoise"} {
		out := temp(s)
		run("sox", append([]string{"-R", "-r", "48000", "-n", "-b", "32", "-e", "float", "-c", "1", out, "synth", "12"}, append(strings.Fields(s), "gain", "-12")...)...)
		measure(row{family: "steady", sound: s, packages: versions("sox"), made: "sox synth 12 " + s + " gain -12"}, out)
	}
}

// mixed is a voice with music under it or beside it, balanced by ear's rule of
// thumb.
func mixed() {
	for i, v := range []struct{ pkg, path, name string }{
		{"alsa-utils", "/usr/share/sounds/alsa", "Front_Center.wav"},
		{"asterisk-core-sounds-en-wav", "/usr/share/asterisk/sounds/en_US_*", "demo-congrats.wav"},
		{"asterisk-core-sounds-it-gsm", "/usr/share/asterisk/sounds/it_IT_*", "demo-congrats.gsm"},
		{"asterisk-core-sounds-fr-gsm", "/usr/share/asterisk/sounds/fr_CA_*", "demo-congrats.gsm"},
	} {
		for _, m := range []struct {
			name  string
			under string // level of the music's peaks
			notes []note
		}{
			{"picked strings under it", "-14", pickedBy(0, 2)}, {"strummed strings beside it", "-5", strum(0)},
		} {
			at, _ := filepath.Glob(filepath.Join(v.path, v.name))
			voice, music, out := temp("voice"), temp("music"), temp(fmt.Sprint("mix", i))
			run("sox", at[0], "-b", "32", "-e", "float", voice, "rate", "48000", "gain", "-n", "-2", "gain", "-l", "6", "repeat", "3", "trim", "0", "10")
			render(smallBank, map[int]int{0: 25}, 96, m.notes, music)
			run("sox", "-m", voice, "|sox "+music+" -p gain -n "+m.under, "-b", "32", "-e", "float", out, "gain", "-n", "-6")
			measure(row{family: "ensemble", sound: fmt.Sprintf("voice %d, %s", i+1, m.name), packages: versions(v.pkg, "timgm6mb-soundfont", "fluidsynth"),
				made: fmt.Sprintf("%s limited as above, strings' peaks at %s dBFS, 10 s", v.name, m.under)}, out)
		}
	}
}

// bands are bars, drums and several together.
func bands(pkgs string) {
	for _, c := range []struct {
		family, sound string
		bpm           float64
		programs      map[int]int
		notes         []note
	}{
		{"struck", "wooden bars, tune", 100, map[int]int{0: 12}, tune(0, 12)},
		{"struck", "hard wooden bars, tune", 100, map[int]int{0: 13}, tune(0, 24)},
		{"struck", "metal bars, tune", 96, map[int]int{0: 11}, tune(0, 12)},
		{"struck", "small metal bars, tune", 96, map[int]int{0: 9}, tune(0, 24)},
		{"struck", "wooden bars, few notes", 100, map[int]int{0: 12}, sparse(0, 12)},
		{"struck", "hard wooden bars, few notes", 100, map[int]int{0: 13}, sparse(0, 24)},
		{"struck", "small metal bars, few notes", 96, map[int]int{0: 9}, sparse(0, 24)},
		{"struck", "hand drums, high", 104, nil, hits("6....6..6.6.6...", 60, "..6...6.....6.6.", 61)},
		{"struck", "hand drums, low", 96, nil, hits("6...6.......6...", 62, "......66......66", 63, "8.......8.......", 64)},
		{"struck", "hand drums, all", 110, nil, hits("6.4.6.4.6.4.6.44", 62, "..6...6.....6.6.", 60, "....7.......7...", 63, "8.......8..8....", 64)},
		{"struck", "shaker and sticks", 104, nil, hits("7.4.7.4.7.4.7.4.", 70, "8..8..8...8.8...", 75)},
		{"struck", "shaker, sticks and jingles", 100, nil, hits("7.4.7.4.7.4.7.4.", 70, "8..8..8...8.8...", 75, "....7.......7...", 54)},
		{"struck", "wood blocks", 92, nil, hits("8...6.....8.....", 76, "......7.......7.", 77)},
		{"struck", "wood block, single hits", 84, nil, hits("8.......7.......", 76)},
		{"struck", "hand claps, single hits", 84, nil, hits("....8.......8...", 39)},
		{"struck", "low drum, single hits", 84, nil, hits("8.......7.......", 41)},
		{"struck", "snare, single hits", 84, nil, hits("8.......7.......", 38)},
		{"struck", "rim, single hits", 84, nil, hits("8.......7.......", 37)},
		{"struck", "kettle drum", 84, map[int]int{0: 47}, sparse(0, -12)},
		{"ensemble", "bass and kit", 104, map[int]int{0: 33}, join(bass(0), kit())},
		{"ensemble", "strings and kit", 104, map[int]int{0: 25}, join(strum(0), kit())},
		{"ensemble", "strings, bass and kit", 100, map[int]int{0: 25, 1: 33}, join(strum(0), bass(1), kit())},
		{"ensemble", "strings, organ, bass and kit", 100, map[int]int{0: 27, 1: 33, 2: 16}, join(pickedBy(0, 2), bass(1), kit(), strum(2))},
		{"ensemble", "tune, strings, bass and kit", 108, map[int]int{0: 25, 1: 33, 2: 73}, join(strum(0), bass(1), kit(), tune(2, 24))},
		{"ensemble", "tune and strings", 92, map[int]int{0: 24, 1: 71}, join(pickedBy(0, 2), tune(1, 12))},
	} {
		out := temp(c.family + c.sound)
		render(smallBank, c.programs, c.bpm, c.notes, out)
		measure(row{family: c.family, sound: c.sound, packages: pkgs, made: fmt.Sprintf("fixed pattern, %g beats a minute", c.bpm)}, out)
	}
}
