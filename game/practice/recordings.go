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
	"slowneedle/drills/series"
	"slowneedle/game/store"
)

// recording is a file of the learner's: a recording that rounds can be made from
// or that came back from a real desk, an answer sheet, or an exported journal.
type recording struct {
	name string
	path string // on disk, if it is known
	open func() (io.ReadSeeker, func(), error)
}

// given is what has become of files that were given to the trainer.
type given struct {
	rec     *recording
	takes   *journal.Imported // of a journal that was given, or of a return
	sheet   *series.Answers   // that was given without a return
	back    *Return           // that was judged; kept once there are takes or an error
	percent int               // of a return that is being judged
	err     error
}

// maxInMemory is the largest recording taken from where files cannot be
// searched in, as in a browser.
const maxInMemory = 1 << 29

// recordings are the file of the learner's own that rounds are made from, and
// what becomes of files that were given to the trainer.
type recordings struct {
	Chosen *recording // nil: none
	given  chan given
	sheet  *series.Answers // given last, for returns that are given without one
	back   *Return         // judged, and not looked at yet
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
		case d.back != nil && d.takes == nil && d.err == nil:
			p.keep(d.back)
		case d.back != nil:
			p.showBack(d)
		case d.percent > 0:
			r.Tell(r.Say("desk.judging", d.rec.name, d.percent))
		case d.sheet != nil:
			p.Own.sheet = d.sheet
			r.Tell(r.Say("desk.sheet", d.sheet.File, len(d.sheet.Rounds)))
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
	p.inspect(func() ([]*recording, error) { return fromFolder(dropped) })
}

// OpenFile makes a file on disk the learner's recording.
func (p *Session) OpenFile(path string) {
	p.inspect(func() ([]*recording, error) { return []*recording{onDisk(path)}, nil })
}

// onDisk is a file on disk.
func onDisk(path string) *recording {
	name := filepath.Base(path)
	return &recording{name: name, path: path, open: func() (io.ReadSeeker, func(), error) {
		f, err := os.Open(path)
		if err != nil {
			return nil, nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
		}
		return f, func() { f.Close() }, nil
	}}
}

// reason is an error without the path that the sentence names already.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// inspect looks at files while the screen is drawn and sends what came of them.
func (p *Session) inspect(find func() ([]*recording, error)) {
	ch, seed, sheet := p.Own.given, p.seed, p.Own.sheet
	go func() {
		files, err := find()
		if err != nil {
			ch <- given{err: err}
			return
		}
		if d := lookForReturn(files, sheet, ch); d != nil {
			ch <- *d
			return
		}
		rec := files[0]
		if !rec.isJournal() {
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

// fromFolder takes the files that were dropped together.
func fromFolder(dropped fs.FS) (all []*recording, err error) {
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
		if onSystem, ok := f.(*os.File); ok {
			all = append(all, onDisk(onSystem.Name()))
			continue
		}
		data, err := io.ReadAll(io.LimitReader(f, maxInMemory))
		if err != nil {
			return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", name, err)
		}
		all = append(all, &recording{name: name, open: func() (io.ReadSeeker, func(), error) {
			return bytes.NewReader(data), func() {}, nil
		}})
	}
	if len(all) == 0 {
		return nil, said.Errorf("own.folders", "no file was dropped, only folders: drop one WAV file")
	}
	return all, nil
}

// sound makes a loop from a passage of the recording.
func (r *recording) sound(seed uint64) (*source.Sound, error) {
	w, done, err := r.wav()
	if err != nil {
		return nil, err
	}
	defer done()
	return source.FromRecording(w, r.name, seed)
}

// wav opens the recording.
func (r *recording) wav() (*wavfile.Reader, func(), error) {
	f, done, err := r.open()
	if err != nil {
		return nil, nil, err
	}
	w, err := wavfile.NewReader(f)
	if err != nil {
		done()
		return nil, nil, said.Errorf("named", "%s: %w", r.name, err)
	}
	return w, done, nil
}
