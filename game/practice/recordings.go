package practice

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/journal"
	"slowneedle/game/store"
)

// recording is a file of the learner's that rounds can be made from.
type recording struct {
	name string
	open func() (io.ReadSeeker, func(), error)
}

// given is what has become of a file that was given to the trainer.
type given struct {
	rec   *recording
	takes *journal.Imported // of a journal that was given
	err   error
}

// maxInMemory is the largest recording taken from where files cannot be
// searched in, as in a browser.
const maxInMemory = 1 << 29

// recordings are the file of the learner's own that rounds are made from, and
// what becomes of files that were given to the trainer.
type recordings struct {
	Chosen *recording // nil: none
	given  chan given
}

// takeGiven handles files that were given, once they have been read. That waits while
// a take is being kept: the journal read again would not have it yet.
func (p *Session) takeGiven() {
	if p.Records.Saving != nil {
		return
	}
	select {
	case d := <-p.Own.given:
		r := p.Records
		switch {
		case d.err != nil:
			r.Tell(r.Fault(d.err))
		case d.takes != nil:
			r.reread()
			r.Tell(r.Say("journal.imported", d.takes.Added, d.takes.Known))
		case d.rec.isJournal():
			p.takeIn(d.rec)
		default:
			p.Own.Chosen = d.rec
			p.Prefs.Change(func(s *store.Settings) { s.Family = source.Own })
			r.Tell(r.Say("own.ready", d.rec.name))
			r.Note("own", map[string]any{"name": d.rec.name})
		}
	default:
	}
}

// Drop takes what was dropped on the window.
func (p *Session) Drop(dropped fs.FS) {
	p.inspect(func() (*recording, error) { return fromFolder(dropped) })
}

// OpenFile makes a file on disk the learner's recording.
func (p *Session) OpenFile(path string) {
	p.inspect(func() (*recording, error) {
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

// inspect tries a recording while the screen is drawn and sends what came of it.
func (p *Session) inspect(find func() (*recording, error)) {
	ch, seed := p.Own.given, p.seed
	go func() {
		rec, err := find()
		if err == nil && !rec.isJournal() {
			_, err = rec.sound(seed)
		}
		ch <- given{rec: rec, err: err}
	}()
}

// takeIn adds an exported journal to the learner's, while the screen is drawn.
func (p *Session) takeIn(rec *recording) {
	p.Records.Take(true) // it may have been given at the start
	ch, book := p.Own.given, p.Records.journal
	go func() {
		in, err := rec.importInto(book)
		if err != nil {
			ch <- given{err: err}
			return
		}
		ch <- given{takes: &in}
	}()
}

// isJournal reports whether a file is an exported journal, by its name.
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
