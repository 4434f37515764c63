package handin

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// testForm asks recorded for a test form in place of a drill.
const testForm = "form"

// recorded makes a sheet on two recordings that sox writes into a folder.
func recorded(t *testing.T, drill string) (n sheet.Sheet, dir string) {
	t.Helper()
	dir = t.TempDir()
	n = sheet.New(4711)
	n.Drill, n.Rounds, n.Level = drill, 2, 3
	for _, name := range []string{"choir.wav", "drums.flac"} {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", "-R", "-n", "-r", "44100", "-b", "16", path, "synth", "60", "pinknoise", "tremolo", "0.7", "90").CombinedOutput(); err != nil {
			t.Fatalf("sox: %v %s", err, out)
		}
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		rec, err := sheet.Choose(name, data)
		if err != nil {
			t.Fatal(err)
		}
		n.Recordings = append(n.Recordings, rec)
	}
	n.Content = sheet.Folder(dir)
	if drill == testForm {
		forms, err := sheet.NewForms(4711, n.Recordings, n.Content)
		if err != nil {
			t.Fatal(err)
		}
		n = forms[1]
	}
	return n, dir
}

// Takes on a teacher's recordings check clean where these are at hand; one that is missing, or
// is another, is one sentence.
func TestCheckOnRecordings(t *testing.T) {
	for _, drill := range []string{drills.SetTake, drills.WholeDesk, testForm} {
		n, dir := recorded(t, drill)
		h, err := Begin("Moonrake", n, Program(), time.Now())
		if err != nil {
			t.Fatal(err)
		}
		for i := range n.Rounds {
			e, err := n.Exercise(i)
			if err != nil {
				t.Fatal(err)
			}
			if want := n.Recordings[i%2].Name; e.Channels[0].Sound.Kind != want {
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
		for _, c := range []struct{ dir, says string }{
			{"", "recordings that are not here"},
			{t.TempDir(), "choir.wav, which the sheet is made of, is not in"},
			{other, "choir.wav is not the recording that the sheet was made of"},
		} {
			if c.dir == other {
				if err := os.WriteFile(filepath.Join(other, "choir.wav"), []byte("RIFF and so on"), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			if r := check(c.dir); r.Sound() || len(r.Findings) != 1 || !strings.Contains(r.Findings[0].Says.String(), c.says) {
				t.Errorf("%s: %v, want one with %q", drill, r.Findings, c.says)
			}
		}
	}
}

// A sheet on recordings keeps what it is through its file; its code tells that it is one, and
// that its rounds need more than the code.
func TestRecordedSheet(t *testing.T) {
	n, _ := recorded(t, drills.SetTake)
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
