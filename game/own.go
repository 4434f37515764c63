package game

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
)

// recording is a file of the learner's that rounds can be made from.
type recording struct {
	name string
	open func() (io.ReadSeeker, func(), error)
}

// drop is what has become of a file that was given to the trainer.
type drop struct {
	rec   *recording
	takes *journal.Imported // of a journal that was given
	err   error
}

// maxInMemory is the largest recording taken from where files cannot be
// searched in, as in a browser.
const maxInMemory = 1 << 29

// takeDrops looks for files dropped on the window, and for what has become of
// those dropped before. That waits while a take is being kept: the journal read
// again would not have it yet.
func (g *Game) takeDrops() {
	if dropped := ebiten.DroppedFiles(); dropped != nil {
		g.inspect(func() (*recording, error) { return fromFolder(dropped) })
	}
	if g.keeping != nil {
		return
	}
	select {
	case d := <-g.drops:
		if d.err != nil {
			g.tell(g.Fault(d.err))
			return
		}
		if d.takes != nil {
			g.reread()
			g.tell(g.Say("journal.imported", d.takes.Added, d.takes.Known))
			return
		}
		if d.rec.isJournal() {
			g.takeIn(d.rec)
			return
		}
		g.own, g.set.Family, g.dirty = d.rec, source.Own, true
		g.tell(g.Say("own.ready", d.rec.name))
		g.probe.note("own", map[string]any{"name": d.rec.name})
	default:
	}
}

// openFile makes a file on disk the learner's recording.
func (g *Game) openFile(path string) {
	g.inspect(func() (*recording, error) {
		return &recording{name: filepath.Base(path), open: func() (io.ReadSeeker, func(), error) {
			f, err := os.Open(path)
			if err != nil {
				return nil, nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", filepath.Base(path), reason(err))
			}
			return f, func() { f.Close() }, nil
		}}, nil
	})
}

// reason is an error without the path that the sentence names already.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// inspect tries a recording apart from the screen and sends what came of it.
func (g *Game) inspect(find func() (*recording, error)) {
	drops, seed := g.drops, g.seed
	go func() {
		rec, err := find()
		if err == nil && !rec.isJournal() {
			_, err = rec.sound(seed)
		}
		drops <- drop{rec: rec, err: err}
	}()
}

// takeIn adds an exported journal to the learner's, apart from the screen.
func (g *Game) takeIn(rec *recording) {
	g.takeRecords(true) // it may have been given at the start
	drops, book := g.drops, g.rec.journal
	go func() {
		in, err := rec.importInto(book)
		if err != nil {
			drops <- drop{err: err}
			return
		}
		drops <- drop{takes: &in}
	}()
}

// isJournal says whether a file is an exported journal, by its name.
func (r *recording) isJournal() bool {
	ext := strings.ToLower(filepath.Ext(r.name))
	return ext == ".jsonl" || ext == ".csv"
}

// importInto adds the takes of an exported journal to the learner's.
func (r *recording) importInto(j *journal.Journal) (journal.Imported, error) {
	if j == nil {
		return journal.Imported{}, said.Errorf("own.no_journal", "%s: there is no history to add it to", r.name)
	}
	f, done, err := r.open()
	if err != nil {
		return journal.Imported{}, err
	}
	defer done()
	in, err := j.Import(f)
	if err != nil {
		return in, said.Errorf("named", "%s: %w", r.name, err)
	}
	return in, nil
}

// reread takes the journal's marks in again.
func (g *Game) reread() {
	g.dirty = true
	marks, err := g.rec.journal.Marks()
	if err != nil {
		g.tell(g.Say("journal.failed", g.Fault(err)))
		return
	}
	g.rec.book = progress.Read(marks)
}

// fromFolder takes the first file of those dropped together.
func fromFolder(dropped fs.FS) (*recording, error) {
	entries, err := fs.ReadDir(dropped, ".")
	if err != nil {
		return nil, said.Errorf("own.drop", "what was dropped cannot be read: %w", err)
	}
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		name := e.Name()
		f, err := dropped.Open(name)
		if err != nil {
			return nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
		}
		defer f.Close()
		if _, ok := f.(io.Seeker); ok {
			return &recording{name: name, open: func() (io.ReadSeeker, func(), error) {
				again, err := dropped.Open(name)
				if err != nil {
					return nil, nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
				}
				return again.(io.ReadSeeker), func() { again.Close() }, nil
			}}, nil
		}
		data, err := io.ReadAll(io.LimitReader(f, maxInMemory))
		if err != nil {
			return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", name, err)
		}
		return &recording{name: name, open: func() (io.ReadSeeker, func(), error) {
			return bytes.NewReader(data), func() {}, nil
		}}, nil
	}
	return nil, said.Errorf("own.folders", "no file was dropped, only folders: drop one WAV file")
}

// sound makes a loop from a passage of the recording.
func (r *recording) sound(seed uint64) (*source.Sound, error) {
	f, done, err := r.open()
	if err != nil {
		return nil, err
	}
	defer done()
	w, err := wavfile.NewReader(f)
	if err != nil {
		return nil, said.Errorf("named", "%s: %w", r.name, err)
	}
	defer w.Close()
	return source.FromRecording(w, r.name, seed)
}
