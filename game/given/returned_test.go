package given

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/series"
	"slowneedle/drills/testfiles"
)

// sent writes a series of two short rounds and its answer sheet into a folder; of a
// recording, if one is given.
func sent(t *testing.T, dir, name string, own string) (wav, sheet string) {
	t.Helper()
	wav, sheet = filepath.Join(dir, name+".wav"), filepath.Join(dir, name+".answers.json")
	p := series.Plan{Seed: 5, Count: 2, Family: source.Voice, Rig: drills.DigitalRig(), RoundSeconds: 5, GapSeconds: 1}
	if own != "" {
		data, err := os.ReadFile(own)
		if err != nil {
			t.Fatal(err)
		}
		sum := sha256.Sum256(data)
		p.Family, p.Own = "", &series.Own{File: filepath.Base(own), SHA256: hex.EncodeToString(sum[:]), Open: func() (*wavfile.Reader, error) { return wavfile.Open(own) }}
	}
	testfiles.Series(t, p, wav, sheet)
	return wav, sheet
}

func recorded(t *testing.T, path string) string {
	t.Helper()
	if out, err := exec.Command("sox", "-R", "-n", "-r", "44100", "-b", "16", path, "synth", "20", "pluck", "C3", "tremolo", "2", "gain", "-9").CombinedOutput(); err != nil {
		t.Fatalf("sox: %v %s", err, out)
	}
	return path
}

// What is made of files that are given together: a return is judged by the sheet with
// it, beside it, or given before; anything else is left to the others.
func TestLookForReturn(t *testing.T) {
	dir := t.TempDir()
	wav, sheet := sent(t, dir, "series", "")
	other := recorded(t, filepath.Join(t.TempDir(), "evening.wav"))
	known, err := At(sheet)[0].answers()
	if err != nil {
		t.Fatal(err)
	}
	bad := filepath.Join(t.TempDir(), "letter.json")
	if err := os.WriteFile(bad, []byte(`{"format":"a letter"}`), 0o644); err != nil {
		t.Fatal(err)
	}
	alone := filepath.Join(t.TempDir(), "alone.wav") // no sheet lies beside it
	renamed := filepath.Join(dir, "Moonrake.wav")    // the only sheet in its folder is taken
	for _, to := range []string{alone, renamed} {
		data, err := os.ReadFile(wav)
		if err == nil {
			err = os.WriteFile(to, data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		name  string
		files []string
		known *series.Answers
		want  string // "": nothing; "judged"; "sheet"; or part of the error
	}{
		{"together", []string{sheet, alone}, nil, "judged"},
		{"beside, by its name", []string{wav}, nil, "judged"},
		{"beside, the only one", []string{renamed}, nil, "judged"},
		{"given before", []string{alone}, known, "judged"},
		{"without a sheet", []string{alone}, nil, ""},
		{"the sheet alone", []string{sheet}, nil, "sheet"},
		{"a recording of another kind", []string{other}, known, ""},
		{"one of another kind, with the sheet", []string{other, sheet}, nil, "evening.wav: there is no line-up tone"},
		{"another sort of JSON", []string{bad, alone}, nil, "letter.json:"},
		{"nothing", nil, known, ""},
	} {
		told := 0
		back, by, err := LookForReturn(At(c.files...), c.known, func(_ string, percent int) { told = percent })
		got := ""
		switch {
		case err != nil:
			got = err.Error()
		case back != nil && len(back.Rounds) == 2 && back.Rounds[1].Found && told > 0:
			got = "judged"
		case back == nil && by != nil:
			got = "sheet"
		}
		if got != c.want && (c.want == "" || !strings.Contains(got, c.want)) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// A series of passages of a recording needs that recording, by its hash: among the
// files or beside the sheet.
func TestReturnOfOwnRecording(t *testing.T) {
	dir, apart := t.TempDir(), t.TempDir()
	own := recorded(t, filepath.Join(apart, "evening.wav"))
	wav, sheet := sent(t, dir, "series", own)
	look := func(files ...string) (*series.Judged, error) {
		back, _, err := LookForReturn(At(files...), nil, func(string, int) {})
		return back, err
	}
	if _, err := look(wav, sheet); err == nil || !strings.Contains(err.Error(), "passages of evening.wav") {
		t.Errorf("without it: %v", err)
	}
	if back, err := look(own, sheet, wav); err != nil || back == nil || len(back.Rounds) != 2 {
		t.Errorf("with it: %+v, %v", back, err)
	}
	// A sheet that was given before may be in use for two returns at once: neither
	// changes it.
	known, err := At(sheet)[0].answers()
	if err != nil {
		t.Fatal(err)
	}
	sound, err := os.ReadFile(wav)
	if err != nil {
		t.Fatal(err)
	}
	alone := filepath.Join(t.TempDir(), "back.wav") // with no sheet beside it
	if err := os.WriteFile(alone, sound, 0o644); err != nil {
		t.Fatal(err)
	}
	back, by, err := LookForReturn(At(alone, own), known, func(string, int) {})
	if err != nil || back == nil || by == known || by.Own.Open == nil {
		t.Errorf("with a sheet given before: %+v, %v", back, err)
	}
	if known.Own.Open != nil {
		t.Error("the sheet given before was changed")
	}
	if err := os.WriteFile(filepath.Join(dir, "evening.wav"), []byte("another"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := look(wav, sheet); err == nil || !strings.Contains(err.Error(), "not the recording that the series was made of") {
		t.Errorf("with another beside it: %v", err)
	}
}
