// Command make measures recordings and samples that Debian packages carry and writes
// real.csv, against which the generated families are tested. It needs sox,
// fluidsynth and the packages named in the table:
//
//	go run ./testdata/sources/make
//
// Drums are single strokes rendered from sample banks and sequenced by sox from
// fixed patterns. Strings, bars and small bands are fixed patterns played from a
// sample bank without room or chorus. Voices are prompts, several joined by sox
// with pauses of 0.4 s. Everything is read by the project's own meters, from a
// needle at rest.
package main

import (
	"bytes"
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
	fmt.Fprintln(f, "# Recordings and samples from Debian packages, read by this project's meters; made by the program in make.")
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
