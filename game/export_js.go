package game

import (
	"bytes"
	"syscall/js"
	"time"
)

// exportJournal hands the journal as JSON lines to the browser as a download.
func exportJournal(g *Game) {
	if g.rec.journal == nil {
		return
	}
	var b bytes.Buffer
	if err := g.rec.journal.ExportJSON(&b); err != nil {
		g.tell(g.say("journal.failed", err.Error()))
		return
	}
	name := exportName(time.Now(), "jsonl")
	blob := js.Global().Get("Blob").New([]any{b.String()}, map[string]any{"type": "application/x-ndjson"})
	url := js.Global().Get("URL").Call("createObjectURL", blob)
	a := js.Global().Get("document").Call("createElement", "a")
	a.Set("href", url)
	a.Set("download", name)
	a.Call("click")
	js.Global().Get("URL").Call("revokeObjectURL", url)
	g.tell(g.say("progress.exported", name))
}
