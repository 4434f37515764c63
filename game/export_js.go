package game

import (
	"bytes"
	"time"
)

// exportJournal hands the journal as JSON lines to the browser as a download.
func exportJournal(g *Game) {
	if g.rec.journal == nil {
		return
	}
	var b bytes.Buffer
	err := g.rec.journal.ExportJSON(&b)
	name := exportName(time.Now(), ".jsonl")
	if err == nil {
		name, err = writeDocument(name, b.Bytes())
	}
	if err != nil {
		g.tell(g.say("journal.failed", g.fault(err)))
		return
	}
	g.tell(g.say("progress.exported", name))
}
