//go:build !js

package game

import (
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
	lines, table := filepath.Join(dir, exportName(now, "jsonl")), exportName(now, "csv")
	err := writeWhole(lines, g.rec.journal.ExportJSON)
	if err == nil {
		err = writeWhole(filepath.Join(dir, table), g.rec.journal.ExportCSV)
	}
	if err != nil {
		g.tell(g.Say("journal.failed", g.Fault(err)))
		return
	}
	g.tell(g.Say("progress.exported", lines+", "+table))
}
