//go:build ignore

// Make measures recordings and samples that Debian packages carry and writes
// real.csv, against which the generated families are tested. It needs sox,
// fluidsynth and the packages named in the table:
//
//	go run testdata/sources/make.go
//
// Drums are single strokes rendered from sample banks and sequenced by sox from
// fixed patterns. Strings, bars and small bands are fixed patterns played from a
// sample bank without room or chorus. Voices are prompts, several joined by sox
// with pauses of 0.4 s. Everything is read by the project's own meters, from a
// needle at rest.
package main

import (
	"bytes"
	"encoding/binary"
	"encoding/csv"
	"fmt"
	"io"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"

	"slowneedle/audio/meter"
	"slowneedle/audio/wavfile"
)

type row struct {
	family, sound, packages, made string
	under                         float64
	reading, peak                 float64
}

var (
	dir  string
	rows []row
)

func main() {
	log.SetFlags(0)
	var err error
	if dir, err = os.MkdirTemp("", "real"); err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	voices()
	drums()
	played()
	sort.SliceStable(rows, func(i, j int) bool { return rows[i].family < rows[j].family })
	f, err := os.Create("testdata/sources/real.csv")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Fprintln(f, "# Recordings and samples from Debian packages, read by this project's meters; made by make.go in this folder.")
	fmt.Fprintln(f, "# Levels in dBFS of a sine of the same peak; under-read is sample peak less reading, in dB.")
	w := csv.NewWriter(f)
	w.Write([]string{"family", "sound", "sample_peak_dbfs", "reading_dbfs", "under_read_db", "packages", "made"})
	for _, r := range rows {
		n := func(v float64) string { return fmt.Sprintf("%.2f", v) }
		w.Write([]string{r.family, r.sound, n(r.peak), n(r.reading), n(r.under), r.packages, r.made})
	}
	w.Flush()
	if err := f.Close(); err != nil {
		log.Fatal(err)
	}
}

func run(name string, args ...string) {
	c := exec.Command(name, args...)
	var out bytes.Buffer
	c.Stdout, c.Stderr = &out, &out
	if err := c.Run(); err != nil {
		log.Fatalf("%s %v: %v\n%s", name, args, err, out.String())
	}
}

// versions names packages with their versions.
func versions(names ...string) string {
	for i, n := range names {
		out, err := exec.Command("dpkg-query", "-W", "-f", "${Version}", n).Output()
		if err != nil {
			log.Fatalf("package %s is missing: %v", n, err)
		}
		names[i] = n + " " + string(out)
	}
	return strings.Join(names, "; ")
}

// measure reads the first channel of a file and adds a row.
func measure(r row, path string) {
	f, err := wavfile.Open(path)
	if err != nil {
		log.Fatal(err)
	}
	defer f.Close()
	m := meter.NewReader(f.Format().SampleRate)
	b := wavfile.NewBlock(f.Format().Channels, 4096)
	for {
		n, err := f.Read(b)
		if err == io.EOF {
			break
		} else if err != nil {
			log.Fatal(err)
		}
		m.Process(b[0][:n])
	}
	p := m.Passage()
	r.reading, r.peak, r.under = p.Reading, p.SamplePeak, p.UnderRead()
	rows = append(rows, r)
	fmt.Printf("%-9s %-40s %6.2f\n", r.family, r.sound, r.under)
}

func temp(name string) string { return filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+".wav") }

// voices joins prompts to passages of ten seconds and more. Each is measured as
// it comes and through sox's limiter driven by 6 dB, as a voice is commonly
// limited ahead of a recorder or a transmitter.
func voices() {
	prompts := func(sound, pkg, folder, ext string, names ...string) {
		at, _ := filepath.Glob(folder)
		if len(at) != 1 {
			log.Fatalf("no folder %s", folder)
		}
		pause := temp("pause")
		run("sox", filepath.Join(at[0], names[0]+ext), pause, "trim", "0", "0.4", "vol", "0")
		args := []string{}
		for _, n := range names {
			args = append(args, filepath.Join(at[0], n+ext), pause)
		}
		out := temp(sound)
		run("sox", append(args, "-e", "signed", "-b", "16", out)...)
		measure(row{family: "voice", sound: sound, packages: versions(pkg), made: strings.Join(names, " + ")}, out)
		limited := temp(sound + " limited")
		run("sox", out, "-b", "32", "-e", "float", limited, "gain", "-n", "-1", "gain", "-l", "6")
		measure(row{family: "voice", sound: sound + ", limited", packages: versions(pkg),
			made: strings.Join(names, " + ") + "; sox gain -n -1 gain -l 6"}, limited)
	}
	lists := [][]string{
		{"demo-instruct"}, {"demo-congrats"}, {"demo-echotest"}, {"demo-abouttotry"}, {"demo-moreinfo", "demo-thanks"},
		{"vm-options"}, {"vm-msginstruct"}, {"dir-intro"}, {"demo-nogo", "demo-enterkeywords"},
		{"vm-review", "vm-instructions"}, {"vm-newuser", "vm-intro"},
		{"agent-alreadyon", "vm-invalid-password", "vm-rec-temp"},
	}
	for _, l := range []struct{ speaker, code, pkg, ext string }{
		{"first speaker", "en_US", "asterisk-core-sounds-en-wav", ".wav"},
		{"second speaker", "es_MX", "asterisk-core-sounds-es-gsm", ".gsm"},
		{"third speaker", "fr_CA", "asterisk-core-sounds-fr-gsm", ".gsm"},
		{"fourth speaker", "it_IT", "asterisk-core-sounds-it-gsm", ".gsm"},
		{"fifth speaker", "ru_RU", "asterisk-core-sounds-ru-gsm", ".gsm"},
	} {
		for i, names := range lists {
			prompts(fmt.Sprintf("%s, prompt %d", l.speaker, i+1), l.pkg, "/usr/share/asterisk/sounds/"+l.code+"_*", l.ext, names...)
		}
	}
	const at, pkg = "/usr/share/sounds/alsa", "alsa-utils"
	prompts("studio prompts front", pkg, at, ".wav", "Front_Center", "Front_Left", "Front_Right", "Front_Center", "Front_Left")
	prompts("studio prompts rear", pkg, at, ".wav", "Rear_Center", "Rear_Left", "Rear_Right", "Rear_Center", "Rear_Right")
	prompts("studio prompts side", pkg, at, ".wav", "Side_Left", "Side_Right", "Side_Left", "Side_Right", "Side_Left", "Side_Right")
}

// note is one note of a pattern: beats, channel, key, strength, length in beats.
type note struct {
	at      float64
	ch, key int
	vel     int
	long    float64
}

// render plays notes from a sample bank to a mono file.
func render(bank string, programs map[int]int, bpm float64, notes []note, out string) {
	const ticks = 480
	type event struct {
		at   int
		data []byte
	}
	var ev []event
	for ch, p := range programs {
		ev = append(ev, event{0, []byte{0xC0 | byte(ch), byte(p)}})
	}
	for _, n := range notes {
		ev = append(ev, event{int(n.at * ticks), []byte{0x90 | byte(n.ch), byte(n.key), byte(n.vel)}},
			event{int((n.at + n.long) * ticks), []byte{0x80 | byte(n.ch), byte(n.key), 0}})
	}
	sort.SliceStable(ev, func(i, j int) bool { return ev[i].at < ev[j].at })
	var t bytes.Buffer
	us := int(60e6 / bpm)
	t.Write([]byte{0, 0xFF, 0x51, 3, byte(us >> 16), byte(us >> 8), byte(us)})
	last := 0
	for _, e := range ev {
		d := e.at - last
		last = e.at
		if d >= 1<<14 {
			log.Fatal("gap too long")
		}
		if d >= 128 {
			t.WriteByte(byte(d>>7) | 0x80)
		}
		t.WriteByte(byte(d & 127))
		t.Write(e.data)
	}
	t.Write([]byte{0, 0xFF, 0x2F, 0})
	var f bytes.Buffer
	f.WriteString("MThd")
	binary.Write(&f, binary.BigEndian, uint32(6))
	binary.Write(&f, binary.BigEndian, [3]uint16{0, 1, ticks})
	f.WriteString("MTrk")
	binary.Write(&f, binary.BigEndian, uint32(t.Len()))
	f.Write(t.Bytes())
	mid := filepath.Join(dir, "notes.mid")
	if err := os.WriteFile(mid, f.Bytes(), 0o644); err != nil {
		log.Fatal(err)
	}
	raw := filepath.Join(dir, "raw.wav")
	run("fluidsynth", "-ni", "-R", "0", "-C", "0", "-g", "0.3", "-r", "48000", "-O", "float", "-F", raw, bank, mid)
	run("sox", raw, out, "remix", "1,2")
}

const smallBank = "/usr/share/sounds/sf2/TimGM6mb.sf2"

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

// played renders strings, bars and small bands from the small bank.
func played() {
	chord := [][]int{{40, 47, 52, 56, 59, 64}, {45, 52, 57, 61, 64}, {47, 54, 59, 63, 66}, {40, 47, 52, 56, 59, 64}}
	strum := func(ch int) (n []note) {
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
	pickedBy := func(ch, step int) (n []note) {
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
	tune := func(ch, up int) (n []note) {
		at := 0.0
		for i, s := range []int{0, 4, 7, 12, 11, 7, 9, 5, 4, 2, 0, 7, 4, 5, 2, 0} {
			long := []float64{1, 0.5, 0.5, 1, 1.5, 0.5}[i%6]
			n = append(n, note{at, ch, 52 + up + s, 80 + (i*7)%30, long})
			at += long
		}
		return
	}
	bass := func(ch int) (n []note) {
		for bar := range 4 {
			for i, s := range []int{0, 0, 7, 12} {
				n = append(n, note{float64(4*bar + i), ch, chord[bar][0] - 12 + s, 90 + (i*11)%20, 0.9})
			}
		}
		return
	}
	kit := func() (n []note) {
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
	join := func(all ...[]note) (n []note) {
		for _, a := range all {
			n = append(n, a...)
		}
		return
	}
	// As a hand plays that is less sure, or means it: strength up and down.
	uneven := func(in []note) (n []note) {
		for i, v := range in {
			v.vel = min(127, v.vel*[]int{130, 75, 95, 60, 110, 85, 70}[i*3%7]/100)
			n = append(n, v)
		}
		return
	}
	sparse := func(ch, up int) (n []note) {
		for i, s := range []int{0, 7, 4, 12, 5, 9, 2, 7} {
			n = append(n, note{float64(2 * i), ch, 52 + up + s, 85 + (i*13)%35, 0.7})
		}
		return
	}
	hits := func(of ...any) (n []note) { // a line of sixteenths, its key, and so on
		for l := 0; l < len(of); l += 2 {
			line, key := of[l].(string), of[l+1].(int)
			for i := range 64 {
				if c := line[i%16]; c != '.' {
					n = append(n, note{float64(i) / 4, 9, key, min(127, int(c-'0')*13+(i*7)%15), 0.2})
				}
			}
		}
		return
	}
	pkgs := versions("timgm6mb-soundfont", "fluidsynth")
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
	for _, s := range []string{"sine 1000", "sine 440", "pinknoise", "brownnoise"} {
		out := temp(s)
		run("sox", append([]string{"-R", "-r", "48000", "-n", "-b", "32", "-e", "float", "-c", "1", out, "synth", "12"}, append(strings.Fields(s), "gain", "-12")...)...)
		measure(row{family: "steady", sound: s, packages: versions("sox"), made: "sox synth 12 " + s + " gain -12"}, out)
	}
	// A voice with music under it or beside it, balanced by ear's rule of thumb.
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
	for _, program := range []int{32, 33, 34, 35, 36} {
		out := temp(fmt.Sprint("bass", program))
		render(smallBank, map[int]int{0: program}, 104, bass(0), out)
		measure(row{family: "plucked", sound: fmt.Sprintf("bass %d", program-31), packages: pkgs, made: fmt.Sprintf("program %d, fixed pattern, 104 beats a minute", program)}, out)
	}
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
