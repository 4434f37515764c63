package practice

import (
	"encoding/json"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/journal"
	"slowneedle/game/given"
	"slowneedle/game/words"
)

// What a learner meets when something is wrong is German in the German
// interface, from the errors that the rooms really return.
func TestGermanFaults(t *testing.T) {
	s := &words.Speech{}
	if err := s.Load("de"); err != nil {
		t.Fatal(err)
	}
	n := sheet.New(4711)
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	parse := func(text string) error { _, err := sheet.ParseCode(text); return err }
	rig := drills.DigitalRig()
	rig.TargetVU = 0.5
	n.Rig = &rig
	_, fine := n.Canonical()
	rig.ReferenceDBFS, rig.CeilingDBFS, rig.LampDBFS = -9, -9, -9
	_, wrongFile := given.New("brief.wav", file("Sehr geehrte Damen und Herren, anbei die Aufnahme")).Try(1)
	_, mp3 := given.New("brief.wav", file("ID3\x04 and so on, a song")).Try(1)
	body, err := json.Marshal(client.RefusalFor(parse(code[:12] + "$")))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	book, err := journal.Open(filepath.Join(dir, "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	lines := func(text string) error { _, err := book.Import(strings.NewReader(text)); return err }
	_, held := journal.Open(filepath.Join(dir, "journal.db"))
	_, noFolder := journal.Open(filepath.Join(dir, "journal.db", "in", "journal.db"))
	_, gone := journal.OpenReadOnly(filepath.Join(dir, "other.db"))
	_, series := readSeries([]byte(strings.Replace(keptText(t, 10), `"takes":null`, `"takes":[{},{},{},{},{},{},{},{},{},{},{}]`, 1)))
	for _, c := range []struct {
		err  error
		want string
	}{
		{parse("4GAH"), "Der Code hat 4 Zeichen; ein Code hat 12, 16 oder 20"},
		{parse("4GAH $"), "„$“"},
		{parse(code[:10] + code[11:12] + code[10:11] + code[12:]), "Zeichen"},
		{handin.CheckWho(""), "Es fehlt ein Name oder Deckname"},
		{handin.CheckWho("…"), "Der Name braucht einen Buchstaben oder eine Ziffer"},
		{rig.Validate(), "weniger als 1 dB Reserve"},
		{fine, "Sollwert: 0,5 VU"},
		{wrongFile, "brief.wav: Das ist weder WAV noch FLAC"},
		{mp3, "brief.wav: Das ist eine MP3-Datei"},
		{lines(""), "Die Datei ist leer"},
		{lines("{\n"), "Zeile 1: "},
		{lines(`{"format":"another","version":1}`), "Zeile 1: Das ist kein Verlauf, sondern „another“; es wurde nichts übernommen"},
		{lines("when,what\n"), "Zeile 1: Das sind weder JSON-Zeilen noch CSV mit einer Spalte „"},
		{held, "Ein anderes Fenster hat deinen Verlauf geöffnet"},
		{noFolder, "Der Ordner lässt sich nicht anlegen: "},
		{gone, "Es lässt sich nicht zum Lesen öffnen: Das gibt es nicht"},
		{fmt.Errorf("journal: %w", journal.ErrReadOnly), "Der Verlauf ist nur zum Lesen geöffnet"},
		{fmt.Errorf("journal: %w", journal.ErrFull), "Es ist kein Platz mehr dafür"},
		{noAddress("192.168.1.20:x"), "„192.168.1.20:x“ ist keine Adresse wie 192.168.1.20:8410"},
		{series, "Die gespeicherten Runden der Klasse lassen sich nicht lesen: Es sind 11 Versuche zu 10 Runden"},
	} {
		got := s.Fault(c.err)
		if !strings.Contains(got, c.want) || strings.Contains(got, "%") {
			t.Errorf("%v\n\tis said as %q, want %q in it", c.err, got, c.want)
		}
	}
	var r client.Refusal
	if err := json.Unmarshal(body, &r); err != nil || r.Code != "code.character" {
		t.Errorf("a refusal goes over the wire as %s", body)
	}
}

func noAddress(text string) error { _, err := address(text); return err }

func file(text string) func() (io.ReadSeeker, error) {
	return func() (io.ReadSeeker, error) { return strings.NewReader(text), nil }
}
