//go:build !js

package report

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/testfiles"
)

// On a teacher's recordings the mark book says of class and learners what it says on
// generated sounds: here of somebody who leaves every take 4 dB above its aim.
func TestBookOnRecordings(t *testing.T) {
	n, _ := testfiles.Sheet(t, drills.SetTake, 20)
	n.Rounds = 6
	h, err := handin.Begin("Moonrake", n, handin.Program(), time.Now())
	if err != nil {
		t.Fatal(err)
	}
	for i := range n.Rounds {
		e, err := n.Exercise(i)
		if err != nil {
			t.Fatal(err)
		}
		take := e.ShowMe()
		take.Moves[len(take.Moves)-1].To += 4
		v, err := e.Judge(take)
		if err != nil {
			t.Fatal(err)
		}
		if err := h.Add(take, v, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	data, err := h.File()
	if err != nil {
		t.Fatal(err)
	}
	rounds := &handin.RoundCache{Content: n.Content}
	b, err := Build([]Submission{New("moonrake.json", data, rounds.Check(data), Arrival{}, rounds)}, rounds, Options{Words: english})
	if err != nil || b.Counted != 1 {
		t.Fatalf("%+v, %v", b.Issues, err)
	}
	class := b.Sheets[0].Class
	if len(class) != 1 || class[0].Family != source.Own || class[0].N != 6 || class[0].Hot != 6 {
		t.Errorf("the class: %+v", class)
	}
	if list, _ := b.Sheets[0].Leanings(); len(list) != 1 || list[0].Stat.Claim() != 1 {
		t.Errorf("nobody is said to be too hot: %+v", list)
	}
	var page, table bytes.Buffer
	if err := b.WriteHTML(&page); err != nil {
		t.Fatal(err)
	}
	if text := page.String(); !strings.Contains(text, "1 learner hot") || strings.Count(text, ">own recording</text>") != 2 || !strings.Contains(text, `<circle`) {
		t.Error("the plots of class and learner have no own recordings, or no learner who is too hot")
	}
	if err := b.WriteLearnersCSV(&table); err != nil || !strings.Contains(table.String(), ",own,6,0,6,0,") {
		t.Errorf("%s, %v", &table, err)
	}
	// Where the recordings are not at hand it is not sound, and does not count.
	none := new(handin.RoundCache)
	p := New("moonrake.json", data, none.Check(data), Arrival{}, none)
	b, err = Build([]Submission{p}, none, Options{Words: english})
	if err != nil || p.Sound() || b.Counted != 0 || len(b.Issues) != 1 || b.Issues[0].Kind != "damaged" || b.Issues[0].Counted {
		t.Errorf("without its recordings: %v, %+v", err, b)
	}
}
