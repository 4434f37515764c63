//go:build !js

package store

import (
	"os"
	"path/filepath"
	"testing"
)

// A second export on one day, as after everything was forgotten, leaves the
// first as it is.
func TestExportsOfOneDayAreAllKept(t *testing.T) {
	dir, name := t.TempDir(), "slowneedle-journal-2026-11-26"
	for i, want := range []string{name, name + "-2", name + "-3"} {
		lines, table := exportPaths(dir, name)
		if lines != filepath.Join(dir, want+".jsonl") || table != filepath.Join(dir, want+".csv") {
			t.Errorf("export %d goes to %s and %s, want %s", i+1, lines, table, want)
		}
		// One of the two is enough for a name to be taken.
		if err := os.WriteFile([]string{lines, table}[i%2], []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
