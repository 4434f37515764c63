//go:build !js

package game

import (
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/adrg/xdg"
)

// exportJournal writes the journal as JSON lines and as CSV to the user's
// documents and says where.
func exportJournal(g *Game) {
	if g.rec.journal == nil {
		return
	}
	dir := xdg.UserDirs.Documents
	if _, err := os.Stat(dir); err != nil {
		dir = xdg.Home
	}
	now := time.Now()
	lines := filepath.Join(dir, exportName(now, "jsonl"))
	err := writeWhole(lines, g.rec.journal.ExportJSON)
	if err == nil {
		err = writeWhole(filepath.Join(dir, exportName(now, "csv")), g.rec.journal.ExportCSV)
	}
	if err != nil {
		g.tell(g.say("journal.failed", g.fault(err)))
		return
	}
	g.tell(g.say("progress.exported", lines))
}

// writeWhole makes a file that is complete or not there.
func writeWhole(path string, write func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), ".slowneedle-*")
	if err != nil {
		return err
	}
	err = write(f)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}
