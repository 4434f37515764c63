//go:build !js

package store

import (
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestSettingsAreKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "deep", "settings.json")
	first, err := loadSettings(path)
	if err != nil || first.MonitorDB != -30 {
		t.Fatalf("the first start: monitor %g dB, error %v; want -30 dB and none", first.MonitorDB, err)
	}
	first.MonitorDB, first.Theme, first.MyRig.ReferenceDBFS = -42, "paper", -20
	if err := saveSettings(path, first); err != nil {
		t.Fatal(err)
	}
	second, err := loadSettings(path)
	if err != nil || second.MonitorDB != -42 || second.Theme != "paper" || second.MyRig.ReferenceDBFS != -20 {
		t.Errorf("kept %+v, error %v", second, err)
	}
	if all, err := os.ReadDir(filepath.Dir(path)); err != nil || len(all) != 1 {
		t.Errorf("beside the settings: %v, %v", all, err)
	}
}

func TestDamagedSettingsAreSetAside(t *testing.T) {
	path := filepath.Join(t.TempDir(), "settings.json")
	for _, damage := range []string{"", "{", "[]", `{"monitor_db":"loud"}`, "\x00\xff", `{"my_rig":"gramophone"}`} {
		if err := os.WriteFile(path, []byte(damage), 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := loadSettings(path)
		if err == nil || !strings.Contains(err.Error(), path+".damaged") {
			t.Errorf("%q: error %v, want one that says where the file is kept", damage, err)
		}
		if s.MonitorDB != -30 {
			t.Errorf("%q: monitor at %g dB, want -30", damage, s.MonitorDB)
		}
		if kept, err := os.ReadFile(path + ".damaged"); err != nil || string(kept) != damage {
			t.Errorf("%q: kept %q, error %v", damage, kept, err)
		}
	}
}

func TestNonsenseInSettingsIsMended(t *testing.T) {
	s, err := readSettings([]byte(`{"monitor_db": 40, "text_percent": 9000, "theme": "neon", "rig_choice": "x", "family": "own", "my_rig": "digital:ceiling=-11.5,reference=-30"}`))
	if err != nil {
		t.Fatal(err)
	}
	d := DefaultSettings()
	if s.MonitorDB != d.MonitorDB || s.TextPercent != 100 || s.Theme != "slate" || s.RigChoice != RigDrawn || s.Family != "" {
		t.Errorf("not mended: %+v", s)
	}
	if s.MyRig.ReferenceDBFS != -18 || s.MyRig.CeilingDBFS != -11.5 {
		t.Errorf("rig %+v, want reference -18 and ceiling -11.5", s.MyRig)
	}
	if err := s.MyRig.Validate(); err != nil {
		t.Errorf("the mended rig cannot be worked: %v", err)
	}
}

// Whatever the rows of the learner's own rig are stepped to, rounds can be made in
// it; each row moves, and the lamp never lights above the ceiling.
func TestNoRigOfTheSettingsIsRefused(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	s := DefaultSettings()
	moved := map[string]bool{}
	for range 5000 {
		row := SettingsTable[rng.IntN(len(SettingsTable))]
		if !row.MyRig || row.Step == nil {
			continue
		}
		before := s.MyRig
		row.Step(&s, 1-2*rng.IntN(2))
		if err := s.MyRig.Validate(); err != nil {
			t.Fatalf("%s stepped from %s: %v", row.Key, before, err)
		}
		if s.MyRig != before {
			moved[row.Key] = true
		}
	}
	if len(moved) != 5 {
		t.Errorf("only these rows move: %v", moved)
	}
}

func TestSettingsOnAFullOrForbiddenPlace(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := saveSettings(filepath.Join(file, "settings.json"), DefaultSettings()); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("error %v, want one sentence", err)
	}
}
