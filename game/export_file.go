//go:build !js

package game

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"slowneedle/audio/wholefile"

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
	lines, table := exportPaths(dir, time.Now())
	err := wholefile.Write(lines, 0o644, g.rec.journal.ExportJSON)
	if err == nil {
		err = wholefile.Write(table, 0o644, g.rec.journal.ExportCSV)
	}
	if err != nil {
		g.tell(g.Say("journal.failed", g.Fault(err)))
		return
	}
	g.tell(g.Say("progress.exported", lines+", "+filepath.Base(table)))
}

// exportPaths returns two paths in a folder at which there is nothing yet: an
// earlier export of the day may be all that is left of a journal.
func exportPaths(dir string, now time.Time) (lines, table string) {
	for i := 1; ; i++ {
		again := ""
		if i > 1 {
			again = fmt.Sprintf("-%d", i)
		}
		lines = filepath.Join(dir, exportName(now, again+".jsonl"))
		table = filepath.Join(dir, exportName(now, again+".csv"))
		_, noLines := os.Lstat(lines)
		_, noTable := os.Lstat(table)
		if noLines != nil && noTable != nil {
			return lines, table
		}
	}
}
