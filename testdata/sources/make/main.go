// Command make measures recordings and samples that Debian packages carry and
// writes real.csv, against which the generated sources are tested, and growth.csv,
// by how much long recordings grow. It needs sox, ffmpeg, fluidsynth, festival and
// the packages named in the tables:
//
//	go run ./testdata/sources/make
//
// Everything is brought to 48 kHz and cut into passages of 12 s, each measured as
// a loop by package figures. Prompts are joined as they are, with the silence they
// were recorded with. Strings, bars and small bands are fixed patterns played from
// sample banks without room or chorus; drums are single strokes, laid out by fixed
// patterns. The state says what a passage may be compared with:
//
//	raw       from the microphone, as far as can be told: no limiting to be seen
//	finished  limited or levelled, here or before it was packed
//	samples   single recorded notes or strokes, put together by a fixed pattern
//	spoken    put together from one speaker's diphones by a synthesizer
package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strings"

	"slowneedle/audio"
	"slowneedle/audio/source/figures"
	"slowneedle/audio/wavfile"
)

// recording is what is measured.
type recording struct {
	family, sound, state string
	worth                string // what it can be trusted for
	packages, made       string
}

var (
	dir    string
	rows   [][]string
	growth [][]string
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
	music()
	sort.SliceStable(rows, func(i, j int) bool { return rows[i][0] < rows[j][0] })
	write("testdata/sources/real.csv",
		"# Passages of 12 s of recordings and samples from Debian packages, measured by package figures; made by the program in make.",
		append([]string{"family", "sound", "state", "passage"}, append(figures.Names, "worth", "packages", "made")...), rows)
	write("testdata/sources/growth.csv",
		"# By how much the minute after 12 s of a recording peaks higher than those 12 s, every 12 s; made by the program in make.",
		[]string{"family", "sound", "start_s", "growth_db", "worth", "packages"}, growth)
}

func write(path, comment string, head []string, rows [][]string) {
	f, err := os.Create(path)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Fprintln(f, comment)
	w := csv.NewWriter(f)
	w.Write(head)
	w.WriteAll(rows)
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

// load reads a file that sox or ffmpeg can, at 48 kHz.
func load(path string) [][]float32 {
	out := temp("load")
	run("ffmpeg", "-v", "error", "-y", "-i", path, "-ar", "48000", "-c:a", "pcm_f32le", out)
	f, err := wavfile.Open(out)
	if err != nil {
		log.Fatal(err)
	}
	defer f.Close()
	x, err := f.Span(0, int(f.Frames()), func() {})
	if err != nil {
		log.Fatal(err)
	}
	return x
}

// measure adds a row for each whole passage, at most so many.
func measure(r recording, x [][]float32, most int) {
	const n = figures.Seconds * audio.Rate
	for i := 0; i < most && (i+1)*n <= len(x[0]); i++ {
		var part [][]float32
		for _, c := range x {
			part = append(part, c[i*n:(i+1)*n])
		}
		row := []string{r.family, r.sound, r.state, fmt.Sprint(i + 1)}
		for _, v := range figures.Of(part...).Values() {
			row = append(row, fmt.Sprintf("%.2f", v))
		}
		rows = append(rows, append(row, r.worth, r.packages, r.made))
	}
	fmt.Printf("%-9s %-9s %s\n", r.family, r.state, r.sound)
}

// grow measures by how much the minute after each 12 s peaks higher.
func grow(r recording, x [][]float32) {
	peak := func(from, to int) (top float32) {
		for _, c := range x {
			for _, v := range c[from*audio.Rate : to*audio.Rate] {
				top = max(top, v, -v)
			}
		}
		return top
	}
	for at := 0; (at+72)*audio.Rate <= len(x[0]); at += 12 {
		first, later := peak(at, at+12), peak(at+12, at+72)
		if first < 0.01 { // it has not begun
			continue
		}
		growth = append(growth, []string{r.family, r.sound, fmt.Sprint(at), fmt.Sprintf("%.2f", audio.DB(float64(later/first))), r.worth, r.packages})
	}
}

func temp(name string) string { return filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+".wav") }
