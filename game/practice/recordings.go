package practice

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/journal"
	"slowneedle/drills/series"
	"slowneedle/game/page"
	"slowneedle/game/store"
)

// Recording is a file of the learner's own that rounds can be made from.
type Recording struct {
	Name string
	Path string // on the disk; empty in a browser, which gives none
	open func() (io.ReadSeeker, error)
}

// given is what has become of files that were given to the trainer.
type given struct {
	recs  []*Recording
	about said.Sentence     // of one recording, what is worth to be known; its code is empty if nothing is
	book  *Recording        // an exported journal
	takes *journal.Imported // what was in it, or new of a return
	sheet *series.Answers   // an answer sheet without a return, or one whose recording was found
	of    *series.Answers   // the same before it was
	class *sheet.Sheet      // a class's sheet, and the folder that it is in
	dir   string
	back  *Return       // a return that was judged; kept once there are takes or an error
	how   said.Sentence // how far the judging of one is; its code is empty if none is judged
	err   error
}

// maxInMemory is the largest recording taken from where files cannot be
// searched in, as in a browser.
const maxInMemory = 1 << 29

// MaxRecordings is how many recordings of the learner's own are kept.
const MaxRecordings = 64

// Recordings are the files of the learner's own that rounds are made from, and
// what becomes of files that were given to the trainer. Files stay where they are.
type Recordings struct {
	List  []*Recording
	given chan given
	sheet *series.Answers // given last, for returns that are given without one
	back  *Return         // judged, and not looked at yet
}

// RecordingsAt are the files at paths.
func RecordingsAt(paths ...string) (all []*Recording) {
	for _, path := range paths {
		all = append(all, fromPath(path))
	}
	return all
}

// passages are what a round is made on.
func (r Recordings) passages(pause func()) func(turn int, seed uint64) (*source.Sound, error) {
	var all []source.Recording
	for _, rec := range r.List {
		all = append(all, source.Recording{Name: rec.Name, Open: rec.reader})
	}
	return source.Passages(all, pause)
}

// reader opens it as sound.
func (r *Recording) reader() (*wavfile.Reader, error) {
	f, err := r.open()
	if err != nil {
		return nil, err
	}
	w, err := wavfile.NewReader(f)
	if err != nil {
		shut(f)
		return nil, said.Errorf("named", "%s: %w", r.Name, err)
	}
	return w, nil
}

// shut closes what can be closed.
func shut(f io.ReadSeeker) {
	if c, ok := f.(io.Closer); ok {
		c.Close()
	}
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
		if len(d.recs) > 0 {
			p.add(d)
		}
		switch {
		case d.back != nil && d.takes == nil && d.err == nil:
			if d.of != nil && d.of == p.Own.sheet { // and its recording need not be found again
				p.Own.sheet = d.sheet
			}
			p.keep(d.back)
		case d.back != nil:
			p.showBack(d)
		case d.how.Code != "":
			r.Tell(r.Put(d.how))
		case d.sheet != nil:
			p.Own.sheet = d.sheet
			r.Tell(r.Say("desk.sheet", d.sheet.File, len(d.sheet.Rounds)))
		case d.err != nil:
			r.Tell(r.Fault(d.err))
		case d.takes != nil:
			r.reread()
			r.Tell(r.Say("journal.imported", d.takes.Added, d.takes.Known))
		case d.book != nil:
			p.takeIn(d.book)
		case d.class != nil:
			p.offered, p.folder, p.fresh = d.class, d.dir, true
		}
	default:
	}
}

// add puts recordings on the list, in the place of those from the same file.
func (p *Session) add(d given) {
	r := p.Records
	for _, rec := range d.recs {
		p.Own.List = slices.DeleteFunc(p.Own.List, func(o *Recording) bool { return o.Name == rec.Name && o.Path == rec.Path })
		p.Own.List = append(p.Own.List, rec)
		r.Note("own", map[string]any{"name": rec.Name})
	}
	p.Own.List = p.Own.List[max(0, len(p.Own.List)-MaxRecordings):]
	p.keepRecordings(source.Own)
	switch {
	case len(d.recs) > 1:
		r.Tell(r.Say("own.ready_many", len(d.recs)))
	case d.about.Code != "":
		r.Tell(r.Put(d.about))
	default:
		r.Tell(r.Say("own.ready", d.recs[0].Name))
	}
}

// keepRecordings puts the list in the settings, and the family to be practised.
func (p *Session) keepRecordings(f source.Family) {
	p.Prefs.Change(func(s *store.Settings) {
		s.Family, s.Recordings = f, nil
		for _, rec := range p.Own.List {
			if rec.Path != "" {
				s.Recordings = append(s.Recordings, rec.Path)
			}
		}
	})
}

// Forget takes a recording off the list; the file stays where it is.
func (p *Session) Forget(i int) {
	p.Own.List = slices.Delete(p.Own.List, i, i+1)
	f := p.Prefs.Family
	if f == source.Own && len(p.Own.List) == 0 {
		f = ""
	}
	p.keepRecordings(f)
}

// ForgetRecordings empties the list.
func (p *Session) ForgetRecordings() {
	for len(p.Own.List) > 0 {
		p.Forget(0)
	}
}

// Drop takes what was dropped on the window.
func (p *Session) Drop(dropped fs.FS) {
	p.inspect(func() ([]*Recording, error) { return fromFolder(dropped) })
}

// OpenFiles adds files on disk to the learner's recordings.
func (p *Session) OpenFiles(paths ...string) {
	for i, path := range paths { // which are kept
		if abs, err := filepath.Abs(path); err == nil {
			paths[i] = abs
		}
	}
	p.inspect(func() ([]*Recording, error) { return RecordingsAt(paths...), nil })
}

// Choose lets the reader of a page choose recordings.
func (p *Session) Choose() {
	page.Choose(".wav,.flac,audio/*", func(files []page.File) {
		p.inspect(func() (all []*Recording, err error) {
			for _, f := range files {
				all = append(all, &Recording{Name: f.Name, open: func() (io.ReadSeeker, error) { return f.Open(), nil }})
			}
			return all, nil
		})
	})
}

func fromPath(path string) *Recording {
	name := filepath.Base(path)
	return &Recording{Name: name, Path: path, open: func() (io.ReadSeeker, error) {
		f, err := os.Open(path)
		if err != nil {
			return nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
		}
		return f, nil
	}}
}

// Found reports whether it is still where it was.
func (r *Recording) Found() bool {
	if r.Path == "" {
		return true
	}
	_, err := os.Stat(r.Path)
	return err == nil
}

// reason is an error without the path that the sentence names already.
func reason(err error) error {
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err
	}
	return err
}

// inspect tries recordings while the screen is drawn and sends what came of them.
func (p *Session) inspect(find func() ([]*Recording, error)) {
	ch, seed, sheet := p.Own.given, p.seed, p.Own.sheet
	go func() {
		var d given
		all, err := find()
		if back := lookForReturn(all, sheet, ch); back != nil {
			ch <- *back
			return
		}
		for _, rec := range all {
			if rec.isJournal() {
				d.book = rec
				continue
			}
			if rec.isClassSheet() {
				var wrong error
				if d.class, wrong = rec.sheet(); wrong != nil {
					err = wrong
				}
				d.dir = filepath.Dir(rec.Path)
				continue
			}
			about, wrong := rec.try(seed)
			if wrong != nil {
				err = wrong
				continue
			}
			d.recs, d.about = append(d.recs, rec), about
		}
		d.err = err
		ch <- d
	}()
}

// try makes a passage of a recording, and tells what of it cannot be used.
func (r *Recording) try(seed uint64) (about said.Sentence, err error) {
	w, err := r.reader()
	if err != nil {
		return about, err
	}
	defer w.Close()
	if _, err := source.FromRecording(w, r.Name, seed, page.Pauser()); err != nil {
		return about, err
	}
	if odd := w.Warnings(); len(odd) > 0 {
		return said.New("own.warned", "%s is loaded: %s", r.Name, odd[0]), nil
	}
	if seconds := int(w.Frames() / int64(w.Format().SampleRate)); seconds > source.MaxOwnSeconds {
		return said.New("own.long", "%s lasts %d {minute|minutes}; rounds are made of the first %d", r.Name, seconds/60, source.MaxOwnSeconds/60), nil
	}
	return about, nil
}

// takeIn adds an exported journal to the learner's, while the screen is drawn.
func (p *Session) takeIn(rec *Recording) {
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

// isClassSheet reports whether it is a class's sheet, as far as its first field tells.
func (r *Recording) isClassSheet() bool {
	if !strings.EqualFold(filepath.Ext(r.Name), ".json") {
		return false
	}
	f, err := r.open()
	if err != nil {
		return false
	}
	defer shut(f)
	var head struct{ Format string }
	return json.NewDecoder(io.LimitReader(f, sheet.MaxFile+1)).Decode(&head) == nil && head.Format == sheet.Format
}

// sheet reads a class's sheet, whose recordings are in the same folder.
func (r *Recording) sheet() (*sheet.Sheet, error) {
	f, err := r.open()
	if err != nil {
		return nil, err
	}
	defer shut(f)
	data, err := io.ReadAll(io.LimitReader(f, sheet.MaxFile+1))
	if err != nil {
		return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", r.Name, err)
	}
	n, err := sheet.Parse(data)
	if err != nil {
		return nil, said.Errorf("named", "%s: %w", r.Name, err)
	}
	n.Content = sheet.Folder(filepath.Dir(r.Path))
	return &n, nil
}

// Offered is the code of a sheet that was given to the trainer since the last call; "" if
// there is none.
func (p *Session) Offered() string {
	if !p.fresh {
		return ""
	}
	p.fresh = false
	code, err := p.offered.Code()
	if err != nil {
		p.Records.Tell(p.Records.Fault(err))
	}
	return code
}

// withRecordings gives a sheet on recordings what it needs to be played: from the class
// server, if that has sent its list, else from the folder of the sheet that was given.
func (p *Session) withRecordings(n sheet.Sheet, server string, sent sheet.Sheet) (full sheet.Sheet, folder string, err error) {
	code, err := n.Code()
	if err != nil {
		return n, "", err
	}
	if c, err := sent.Code(); err == nil && c == code && server != "" {
		sent.Content = fromServer(server, code)
		return sent, "", nil
	}
	if p.offered != nil {
		if c, err := p.offered.Code(); err == nil && c == code {
			return *p.offered, p.folder, nil
		}
	}
	return n, "", said.Errorf("class.needs_recordings", "these rounds are made of recordings: join at the class's server, or open the sheet.json in the folder of the recordings")
}

// fromServer opens a sheet's recordings from a class server.
func fromServer(server, code string) sheet.Content {
	c := client.Client{Base: server}
	return sheet.Fetched(func(r sheet.Recording) ([]byte, error) { return c.Recording(context.Background(), code, r) })
}

// isJournal reports whether a file is an exported journal, by its name.
func (r *Recording) isJournal() bool {
	ext := strings.ToLower(filepath.Ext(r.Name))
	return ext == ".jsonl" || ext == ".csv"
}

// importInto adds the takes of an exported journal to the learner's.
func (r *Recording) importInto(j *journal.Journal) (journal.Imported, error) {
	if j == nil {
		return journal.Imported{}, said.Errorf("own.no_journal", "%s: there is no history to add it to", r.Name)
	}
	f, err := r.open()
	if err != nil {
		return journal.Imported{}, err
	}
	defer shut(f)
	in, err := j.Import(f)
	if err != nil {
		return in, said.Errorf("named", "%s: %w", r.Name, err)
	}
	return in, nil
}

// fromFolder takes the files that were dropped together.
func fromFolder(dropped fs.FS) (all []*Recording, err error) {
	entries, err := fs.ReadDir(dropped, ".")
	if err != nil {
		return nil, said.Errorf("own.drop", "what was dropped cannot be read: %w", err)
	}
	for _, e := range entries {
		if e.IsDir() {
			continue
		}
		rec, err := fromDrop(dropped, e.Name())
		if err != nil {
			return all, err
		}
		all = append(all, rec)
	}
	if len(all) == 0 {
		err = said.Errorf("own.folders", "no file was dropped, only folders: drop WAV or FLAC files")
	}
	return all, err
}

func fromDrop(dropped fs.FS, name string) (*Recording, error) {
	f, err := dropped.Open(name)
	if err != nil {
		return nil, said.Errorf("own.cannot_open", "%s cannot be opened: %w", name, reason(err))
	}
	defer f.Close()
	if disk, ok := f.(*os.File); ok {
		return fromPath(disk.Name()), nil
	}
	data, err := io.ReadAll(io.LimitReader(f, maxInMemory))
	if err != nil {
		return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", name, err)
	}
	return &Recording{Name: name, open: func() (io.ReadSeeker, error) { return bytes.NewReader(data), nil }}, nil
}
