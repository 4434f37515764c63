//go:build !js

package handin

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/testfiles"
	"slowneedle/drills/testform"
)

// In place of a drill, testForm stands for a test form and oneRound for a sheet that has but one.
const (
	testForm = "form"
	oneRound = "one round"
)

func TestOnRecordings(t *testing.T) {
	n, dir := testfiles.Sheet(t, drills.SetTake, 20)
	t.Run("check", func(t *testing.T) { checkOnRecordings(t, n, dir) })
	t.Run("sheet", func(t *testing.T) { recordedSheet(t, n) })
}

// Takes on a teacher's recordings check clean where these are at hand; one that is missing, or
// is another, is one sentence.
func checkOnRecordings(t *testing.T, on sheet.Sheet, dir string) {
	for _, drill := range []string{drills.SetTake, drills.WholeDesk, oneRound, testForm} {
		n := on
		switch n.Drill = drill; drill {
		case oneRound:
			n.Drill, n.Rounds = drills.SetTake, 1
		case testForm:
			n = sheet.Sheet{Form: testform.B, Seed: 4711, Recordings: on.Recordings, Content: on.Content}
			for i := range testform.Rounds {
				n.Index = append(n.Index, 40+i)
			}
			var err error
			if n, err = n.Canonical(); err != nil {
				t.Fatal(err)
			}
		}
		h, err := Begin("Moonrake", n, Program(), time.Now())
		if err != nil {
			t.Fatal(err)
		}
		for i := range min(n.Rounds, 4) {
			e, err := n.Exercise(i)
			if err != nil {
				t.Fatal(err)
			}
			turn := i
			if n.Form != "" {
				turn = n.Index[i]
			}
			if want := n.Recordings[turn%2].Name; e.Channels[0].Sound.Kind != want {
				t.Errorf("%s: round %d is on %s, want %s", drill, i+1, e.Channels[0].Sound.Kind, want)
			}
			take := e.ShowMe()
			take.Moves[len(take.Moves)-1].To -= 2
			v, err := e.Judge(take)
			if err != nil {
				t.Fatal(err)
			}
			if err := h.Add(take, v, time.Now().Add(time.Hour)); err != nil {
				t.Fatal(err)
			}
		}
		file, err := h.File()
		if err != nil {
			t.Fatal(err)
		}
		check := func(dir string) Result {
			var c RoundCache
			if dir != "" {
				c.Content = sheet.Folder(dir)
			}
			return c.Check(file)
		}
		if r := check(dir); !r.Sound() {
			t.Errorf("%s: %v", drill, r.Findings)
		}
		other := t.TempDir()
		for _, rec := range n.Recordings { // whichever a round asks for first
			if err := os.WriteFile(filepath.Join(other, rec.Name), []byte("RIFF and so on"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		for _, c := range []struct{ dir, says string }{
			{"", "recordings that are not here"},
			{t.TempDir(), ", which the sheet is made of, is not in"},
			{other, " is not the recording that the sheet was made of"},
		} {
			if r := check(c.dir); r.Sound() || len(r.Findings) != 1 || r.Findings[0].Round != 0 || !strings.Contains(r.Findings[0].Says.String(), c.says) {
				t.Errorf("%s: %v, want one with %q", drill, r.Findings, c.says)
			}
		}
	}
}

// A sheet on recordings keeps what it is through its file; its code tells that it is one, and
// that its rounds need more than the code.
func recordedSheet(t *testing.T, n sheet.Sheet) {
	text, err := n.File()
	if err != nil {
		t.Fatal(err)
	}
	back, err := sheet.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	x, _ := n.Hash()
	if y, err := back.Hash(); err != nil || x != y || !back.Recorded || len(back.Recordings) != 2 {
		t.Errorf("%+v, %v", back, err)
	}
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	typed, err := sheet.ParseCode(code)
	if err != nil || !typed.Recorded || typed.Rounds != n.Rounds || typed.Seed != n.Seed {
		t.Errorf("%s stands for %+v, %v", code, typed, err)
	}
	if _, err := typed.Exercise(0); err == nil || !strings.Contains(err.Error(), "join at the class server, or open the sheet's folder") {
		t.Errorf("a round without its recordings: %v", err)
	}
	plain := n
	plain.Recordings, plain.Recorded = nil, false
	if other, _ := plain.Code(); other == code {
		t.Errorf("%s is the code of a sheet without recordings, too", other)
	}
	for to, from := range map[string]string{
		`"name": "../choir.wav"`: `"name": "choir.wav"`, `"name": ".."`: `"name": "choir.wav"`, `"name": "."`: `"name": "choir.wav"`,
		`"name": "choir.wav"`: `"name": "drums.flac"`, `"at": -1`: `"at": `, `"drill": "line-up"`: `"drill": "take"`,
		`"sha256": "x`: `"sha256": "`, `"exam": true, "rounds": 2`: `"rounds": 2`,
	} {
		if bad := strings.Replace(string(text), from, to, 1); bad == string(text) {
			t.Errorf("nothing was changed for %s", to)
		} else if _, err := sheet.Parse([]byte(bad)); err == nil {
			t.Errorf("a sheet with %s is accepted", to)
		}
	}
}
