package main

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/testscript"
)

// TestMeasureScripts call the command as a teacher does; $WAV is the folder of small sound and broken files.
func TestMeasureScripts(t *testing.T) {
	wav, err := filepath.Abs("../../testdata/wav")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/measure",
		RequireExplicitExec: true,
		Cmds:                map[string]func(*testscript.TestScript, bool, []string){"status": status},
		Setup: func(env *testscript.Env) error {
			env.Setenv("WAV", wav)
			return nil
		},
	})
}

// TestMeasureJSON: standard output is one JSON array in the order given, with the keys of the contract, and
// nothing else, even where progress is shown on a terminal.
func TestMeasureJSON(t *testing.T) {
	const folder = "../../testdata/wav/"
	for _, terminal := range []bool{false, true} {
		var out, errs bytes.Buffer
		status := run([]string{"measure", "--json", folder + "letter.wav", folder + "tone.wav", folder + "empty.wav"},
			streams{out: &out, err: &errs, terminal: terminal})
		if status != 1 {
			t.Errorf("exit status %d, want 1: two files cannot be read", status)
		}
		var files []map[string]any
		if err := json.Unmarshal(out.Bytes(), &files); err != nil {
			t.Fatalf("%v in\n%s", err, out.Bytes())
		}
		if len(files) != 3 {
			t.Fatalf("%d objects for 3 files", len(files))
		}
		for i, name := range []string{"letter.wav", "tone.wav", "empty.wav"} {
			if files[i]["file"] != folder+name {
				t.Errorf("object %d is of %v, want %s", i, files[i]["file"], name)
			}
		}
		if files[0]["error"] == nil || files[2]["error"] == nil {
			t.Errorf("no error given for a broken file: %v", files)
		}
		want := []string{"file", "sample_rate", "channels", "bits", "float", "duration_s",
			"reading_vu", "needle_max_vu", "sample_peak_dbfs", "true_peak_dbtp", "under_read_db",
			"rms_dbfs", "dc_percent", "loudness_integrated_lufs", "loudness_momentary_max_lufs",
			"loudness_short_term_max_lufs", "lamp_flicks", "clipped_samples", "deciding_channel"}
		var got []string
		for _, key := range want {
			if _, ok := files[1][key]; ok {
				got = append(got, key)
			}
		}
		if d := cmp.Diff(want, got); d != "" || len(files[1]) != len(want) {
			t.Errorf("keys of an object: %s\nin %v", d, files[1])
		}
		if bar := strings.Contains(errs.String(), "measuring"); bar != terminal {
			t.Errorf("terminal %v: the progress bar is shown: %v\n%s", terminal, bar, errs.String())
		}
	}
}

// TestLength: durations as people write them.
func TestLength(t *testing.T) {
	for seconds, want := range map[float64]string{
		0: "0s", 0.0056: "6ms", 1: "1s", 3.44: "3.4s", 59.96: "1m0s", 61: "1m1s", 3599.97: "1h0m0s", 14400: "4h0m0s",
	} {
		if got := length(seconds); got != want {
			t.Errorf("%v s is written %q, want %q", seconds, got, want)
		}
	}
}
