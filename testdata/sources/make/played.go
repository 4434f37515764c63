package main

import (
	"fmt"
	"log"
	"path/filepath"
	"slices"
	"strings"

	"slowneedle/audio"
	"slowneedle/audio/source/figures"
)

const bankWorth = "notes of a bank, dry, some of them looped"

// played measures what is played from two banks, and tones.
func played() {
	for i, b := range []struct{ bank, pkg string }{{smallBank, "timgm6mb-soundfont"}, {largeBank, "fluid-soundfont-gm"}} {
		pkgs := versions(b.pkg, "fluidsynth")
		name := []string{"small bank: ", "large bank: "}[i]
		plucked(name, b.bank, pkgs)
		held(name, b.bank, pkgs)
		bands(name, b.bank, pkgs)
	}
	tones()
	mixed()
}

// plucked are strings, and basses.
func plucked(bank, file, pkgs string) {
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
			render(file, map[int]int{0: st.program}, pt.bpm, fill(pt.bpm, pt.notes), out)
			measure(recording{"plucked", bank + st.name + ", " + pt.name, "samples", bankWorth, pkgs, fmt.Sprintf("program %d, fixed pattern, %g beats a minute", st.program, pt.bpm)}, load(out), 1)
		}
	}
	for _, program := range []int{32, 33, 34, 35, 36} {
		out := temp(fmt.Sprint("bass", program))
		render(file, map[int]int{0: program}, 104, fill(104, bass(0)), out)
		measure(recording{"plucked", bank + fmt.Sprintf("bass %d", program-31), "samples", bankWorth, pkgs, fmt.Sprintf("program %d, fixed pattern, 104 beats a minute", program)}, load(out), 1)
	}
}

// held are notes and chords that last.
func held(bank, file, pkgs string) {
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
				n = append(n, note{0, 0, k, 90, figures.Seconds + 1})
			}
			out := temp(fmt.Sprint(h.name, i))
			render(file, map[int]int{0: h.program}, 60, n, out)
			what := []string{"note", "chord"}[i]
			measure(recording{"steady", bank + h.name + ", " + what, "samples", bankWorth, pkgs, fmt.Sprintf("program %d, held", h.program)}, load(out), 1)
		}
	}
}

// tones are what sox makes.
func tones() {
	for _, s := range []string{"sine 1000", "sine 440", "pinknoise", "brownnoise"} {
		out := temp(s)
		run("sox", append([]string{"-R", "-r", "48000", "-n", "-b", "32", "-e", "float", "-c", "1", out, "synth", "12"}, append(strings.Fields(s), "gain", "-12")...)...)
		measure(recording{"steady", s, "finished", "made by sox", versions("sox"), "sox synth 12 " + s + " gain -12"}, load(out), 1)
	}
}

// mixed is a limited voice with music under it or beside it, balanced by ear's
// rule of thumb.
func mixed() {
	for i, v := range []struct{ folder, pkg string }{
		{"en_US", "asterisk-core-sounds-en-g722"}, {"it_IT", "asterisk-core-sounds-it-g722"},
		{"fr_CA", "asterisk-core-sounds-fr-g722"}, {"ru_RU", "asterisk-core-sounds-ru-g722"},
	} {
		voice := longest("/usr/share/asterisk/sounds/"+v.folder+"_*/demo-*.g722", 3*8000)[0]
		for _, m := range []struct {
			name  string
			under float64 // level of the music's peaks against the voice's
			notes []note
		}{
			{"picked strings under it", -12, pickedBy(0, 2)}, {"strummed strings beside it", -3, strum(0)},
		} {
			out := temp("music")
			render(smallBank, map[int]int{0: 25}, 96, fill(96, m.notes), out)
			x := load(out)[0][:figures.Seconds*audio.Rate]
			voice := voice[:len(x)]
			g := audio.Gain(m.under) * peak(voice) / peak(x)
			for i := range x {
				x[i] = float32(g)*x[i] + voice[i]
			}
			measure(recording{"ensemble", fmt.Sprintf("voice %d, %s", i+1, m.name), "finished", "16 kHz voice, one channel", versions(v.pkg, "timgm6mb-soundfont", "fluidsynth"),
				fmt.Sprintf("strings' peaks %g dB from the voice's", m.under)}, [][]float32{x}, 1)
		}
	}
}

func peak(x []float32) float64 { return float64(max(slices.Max(x), -slices.Min(x))) }

// music is mastered pieces for whoever waits on the telephone, and, for their growth,
// songs of two bands that carry their guitar as a track of its own.
func music() {
	at, _ := filepath.Glob("/usr/share/asterisk/moh/*.g722")
	for i, p := range at {
		r := recording{"ensemble", fmt.Sprintf("piece %d", i+1), "finished", "16 kHz, lossy, mastered, one channel", versions("asterisk-moh-opsound-g722"), ""}
		x := load(p)
		measure(r, x, 12)
		grow(r, x)
	}
	bands, _ := filepath.Glob("/usr/share/games/fretsonfire/data/songs/*")
	if len(bands) != 2 {
		log.Fatal("packages fretsonfire-songs-* are missing")
	}
	for b, band := range bands {
		songs, _ := filepath.Glob(band + "/*/guitar.ogg")
		pkg := versions("fretsonfire-songs-" + filepath.Base(band))
		for i, p := range songs {
			x, guitar := load(filepath.Join(filepath.Dir(p), "song.ogg")), load(p)
			name := fmt.Sprintf("band %d, song %d", b+1, i+1)
			grow(recording{family: "plucked", sound: name + ", guitar", worth: "distorted guitar alone, lossy", packages: pkg}, guitar)
			for c := range x {
				for i := range min(len(x[c]), len(guitar[c])) {
					x[c][i] += guitar[c][i]
				}
			}
			grow(recording{family: "ensemble", sound: name, worth: "loud music throughout, mastered, lossy", packages: pkg}, x)
		}
	}
}

// bands are bars, drums and several together.
func bands(bank, file, pkgs string) {
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
		{"struck", "hand drums, high", 104, nil, hits("bongo 6....6..6.6.6...", "low-bongo ..6...6.....6.6.")},
		{"struck", "hand drums, low", 96, nil, hits("slap 6...6.......6...", "conga ......66......66", "bass 8.......8.......")},
		{"struck", "hand drums, all", 110, nil, hits("slap 6.4.6.4.6.4.6.44", "bongo ..6...6.....6.6.", "conga ....7.......7...", "bass 8.......8..8....")},
		{"struck", "shaker and sticks", 104, nil, hits("shaker 7.4.7.4.7.4.7.4.", "sticks 8..8..8...8.8...")},
		{"struck", "shaker, sticks and jingles", 100, nil, hits("shaker 7.4.7.4.7.4.7.4.", "sticks 8..8..8...8.8...", "jingles ....7.......7...")},
		{"struck", "wood blocks", 92, nil, hits("block 8...6.....8.....", "low-block ......7.......7.")},
		{"struck", "wood block, single hits", 84, nil, hits("block 8.......7.......")},
		{"struck", "hand claps, single hits", 84, nil, hits("clap ....8.......8...")},
		{"struck", "low drum, single hits", 84, nil, hits("low-tom 8.......7.......")},
		{"struck", "snare, single hits", 84, nil, hits("snare 8.......7.......")},
		{"struck", "rim, single hits", 84, nil, hits("rim 8.......7.......")},
		{"struck", "kettle drum", 84, map[int]int{0: 47}, sparse(0, -12)},
		{"ensemble", "bass and kit", 104, map[int]int{0: 33}, join(bass(0), kit())},
		{"ensemble", "strings and kit", 104, map[int]int{0: 25}, join(strum(0), kit())},
		{"ensemble", "strings, bass and kit", 100, map[int]int{0: 25, 1: 33}, join(strum(0), bass(1), kit())},
		{"ensemble", "strings, organ, bass and kit", 100, map[int]int{0: 27, 1: 33, 2: 16}, join(pickedBy(0, 2), bass(1), kit(), strum(2))},
		{"ensemble", "tune, strings, bass and kit", 108, map[int]int{0: 25, 1: 33, 2: 73}, join(strum(0), bass(1), kit(), tune(2, 24))},
		{"ensemble", "tune and strings", 92, map[int]int{0: 24, 1: 71}, join(pickedBy(0, 2), tune(1, 12))},
	} {
		out := temp(c.family + c.sound)
		render(file, c.programs, c.bpm, fill(c.bpm, c.notes), out)
		measure(recording{c.family, bank + c.sound, "samples", bankWorth, pkgs, fmt.Sprintf("fixed pattern, %g beats a minute", c.bpm)}, load(out), 1)
	}
}
