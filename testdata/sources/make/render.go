package main

import (
	"bytes"
	"encoding/binary"
	"log"
	"os"
	"path/filepath"
	"sort"
)

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

const (
	smallBank = "/usr/share/sounds/sf2/TimGM6mb.sf2"
	largeBank = "/usr/share/sounds/sf2/FluidR3_GM.sf2"
)
