//go:build !js

package game

import (
	"os"
	"path/filepath"
	"testing"
	"time"
)

// A second export on one day, as after everything was forgotten, leaves the
// first as it is.
func TestExportsOfOneDayAreAllKept(t *testing.T) {
	dir, now := t.TempDir(), time.Date(2026, 11, 26, 8, 0, 0, 0, time.UTC)
	for i, want := range []string{"slowneedle-journal-2026-11-26", "slowneedle-journal-2026-11-26-2", "slowneedle-journal-2026-11-26-3"} {
		lines, table := exportPaths(dir, now)
		if lines != filepath.Join(dir, want+".jsonl") || table != filepath.Join(dir, want+".csv") {
			t.Errorf("export %d goes to %s and %s, want %s", i+1, lines, table, want)
		}
		// One of the two is enough for a name to be taken.
		if err := os.WriteFile([]string{lines, table}[i%2], []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}
