package source

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"slowneedle/audio"
)

// TestPictures lets sox read a sound of each family, which peaks where it should. With
// SLOWNEEDLE_SPECTROGRAMS=1 it also draws it, a recording beside it, to be looked at:
//
//	SLOWNEEDLE_SPECTROGRAMS=1 go test ./audio/source -run TestPictures
//
// The pictures go to shots, generated on the left. Recordings are spoken words of
// alsa-utils, a song of fretsonfire-songs-sectoid, and single notes and strokes of
// fluid-soundfont-gm and avldrums.lv2-soundfont, played by fluidsynth.
func TestPictures(t *testing.T) {
	dir := t.TempDir()
	for _, c := range []struct {
		family Family
		kind   string
		take   func(out string) // makes the recording
	}{
		{Steady, "held organ pipe", func(out string) { played(t, out, "FluidR3_GM.sf2", 19, []midiNote{{0, 13, 60, 90}}) }},
		{Voice, "read speech", func(out string) { run(t, "sh", "-c", "sox /usr/share/sounds/alsa/[FRS]*.wav "+out) }},
		{Plucked, "picked", func(out string) { played(t, out, "FluidR3_GM.sf2", 25, arpeggio()) }},
		{Struck, "drum groove", func(out string) { played(t, out, "*_4_LV2.sf2", 0, groove()) }},
		{Ensemble, "band", func(out string) { song(t, out) }},
	} {
		seed := uint64(0)
		s, err := Generate(c.family, seed, Difficulty{})
		for ; err == nil && !regexp.MustCompile("^"+c.kind).MatchString(s.Kind); s, err = Generate(c.family, seed, Difficulty{}) {
			seed++
		}
		if err != nil {
			t.Fatal(err)
		}
		wav := filepath.Join(dir, string(c.family)+".wav")
		save(t, wav, s)
		level := regexp.MustCompile(`Pk lev dB\s+(\S+)`).FindStringSubmatch(sox(t, wav, "-n", "stats"))
		if peak, err := strconv.ParseFloat(level[1], 64); err != nil || math.Abs(peak-PeakDBFS) > 0.01 {
			t.Errorf("%s, %s: sox reads a peak of %s dB, want %g", c.family, s.Kind, level[1], PeakDBFS)
		}
		if os.Getenv("SLOWNEEDLE_SPECTROGRAMS") == "" {
			continue
		}
		recorded := filepath.Join(dir, "recorded.wav")
		c.take(recorded)
		var both []string
		for i, from := range []string{wav, recorded} {
			png := filepath.Join(dir, fmt.Sprintf("%d.png", i))
			title := []string{s.Kind + ", " + s.State(), "recorded"}[i]
			sox(t, from, "-n", "remix", "1", "trim", "0", "10", "gain", "-n", "-6", "spectrogram", "-x", "800", "-y", "513", "-z", "90", "-t", title, "-o", png)
			both = append(both, png)
		}
		shots := filepath.Join("..", "..", "shots")
		if err := os.MkdirAll(shots, 0o755); err != nil {
			t.Fatal(err)
		}
		run(t, "convert", append(both, "+append", filepath.Join(shots, "spectrogram-"+string(c.family)+".png"))...)
	}
}

// save writes a sound as 32-bit floats.
func save(t *testing.T, path string, s *Sound) {
	t.Helper()
	var raw []byte
	for i := range s.Len() {
		for _, x := range s.Channels {
			raw = binary.LittleEndian.AppendUint32(raw, math.Float32bits(x[i]))
		}
	}
	if err := os.WriteFile(path+".f32", raw, 0o600); err != nil {
		t.Fatal(err)
	}
	sox(t, "-r", strconv.Itoa(audio.Rate), "-c", strconv.Itoa(len(s.Channels)), path+".f32", path)
}

func run(t *testing.T, name string, args ...string) {
	t.Helper()
	if out, err := exec.Command(name, args...).CombinedOutput(); err != nil {
		t.Fatalf("%s %v: %v: %s", name, args, err, out)
	}
}

// midiNote is a note of a bank: when and how long in seconds, key and strength.
type midiNote struct {
	at, long float64
	key, vel byte
}

func arpeggio() (n []midiNote) {
	for i := range 44 {
		key := []byte{40, 52, 56, 59, 64, 59, 56, 52, 45, 57, 61, 64, 69, 64, 61, 57}[i%16]
		n = append(n, midiNote{float64(i) * 0.24, 1.4, key, byte(70 + i*37%40)})
	}
	return
}

func groove() (n []midiNote) {
	for i := range 80 {
		at := float64(i) * 0.14
		if i%8 == 0 || i%16 == 10 {
			n = append(n, midiNote{at, 0.1, 36, 110})
		}
		if i%8 == 4 {
			n = append(n, midiNote{at, 0.1, 38, byte(95 + i%13)})
		}
		if i%2 == 0 {
			n = append(n, midiNote{at, 0.1, 42, byte(60 + i*29%35)})
		}
	}
	return
}

// played plays notes from a bank, dry.
func played(t *testing.T, out, bank string, program byte, notes []midiNote) {
	t.Helper()
	banks, _ := filepath.Glob("/usr/share/sounds/sf2/" + bank)
	if len(banks) == 0 {
		t.Fatalf("there is no bank %s", bank)
	}
	type event struct {
		ms   int
		data []byte
	}
	ev := []event{{0, []byte{0xC0, program}}}
	for _, n := range notes {
		ev = append(ev, event{int(1000 * n.at), []byte{0x90, n.key, n.vel}}, event{int(1000 * (n.at + n.long)), []byte{0x80, n.key, 0}})
	}
	slices.SortStableFunc(ev, func(a, b event) int { return a.ms - b.ms })
	var track []byte
	last := 0
	for _, e := range ev { // 500 ticks a beat of half a second: one a millisecond
		d := e.ms - last
		last = e.ms
		track = append(append(track, byte(d>>7)|0x80, byte(d&127)), e.data...)
	}
	track = append(track, 0, 0xFF, 0x2F, 0)
	mid := binary.BigEndian.AppendUint32([]byte("MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xf4MTrk"), uint32(len(track)))
	if err := os.WriteFile(out+".mid", append(mid, track...), 0o600); err != nil {
		t.Fatal(err)
	}
	run(t, "fluidsynth", "-ni", "-R", "0", "-C", "0", "-g", "0.4", "-r", "48000", "-F", out, banks[0], out+".mid")
}

// song mixes the tracks of a song, from its second half minute on.
func song(t *testing.T, out string) {
	t.Helper()
	songs, _ := filepath.Glob("/usr/share/games/fretsonfire/data/songs/sectoid/*/song.ogg")
	if len(songs) == 0 {
		t.Fatal("package fretsonfire-songs-sectoid is missing")
	}
	run(t, "sox", "-m", songs[1], filepath.Join(filepath.Dir(songs[1]), "guitar.ogg"), out, "trim", "30", "12", "rate", "48000")
}
