package practice

import (
	"context"
	"io"
	"io/fs"
	"path/filepath"
	"slices"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/series"
	"slowneedle/game/given"
	"slowneedle/game/page"
	"slowneedle/game/store"
)

// MaxRecordings is how many recordings of the learner's own are kept.
const MaxRecordings = 64

// Recordings are the files of the learner's own that rounds are made from, and
// what becomes of files that were given to the trainer. Files stay where they are.
type Recordings struct {
	List    []*given.File
	answers *series.Answers // given last, for returns that are given without them
	back    *Return         // judged, and not looked at yet
}

// passages are what a round is made on.
func (r Recordings) passages(pause func()) func(turn int, seed uint64) (*source.Sound, error) {
	var all []source.Recording
	for _, rec := range r.List {
		all = append(all, source.Recording{Name: rec.Name, Open: rec.Sound})
	}
	return source.Passages(all, pause)
}

// add puts recordings on the list, in the place of those from the same file; about is
// what is worth to be known of the last one.
func (p *Session) add(recs []*given.File, about said.Sentence) {
	r := p.Records
	for _, rec := range recs {
		p.Own.List = slices.DeleteFunc(p.Own.List, func(o *given.File) bool { return o.Name == rec.Name && o.Path == rec.Path })
		p.Own.List = append(p.Own.List, rec)
		r.Note("own", map[string]any{"name": rec.Name})
	}
	p.Own.List = p.Own.List[max(0, len(p.Own.List)-MaxRecordings):]
	p.keepRecordings(source.Own)
	switch {
	case len(recs) > 1:
		r.Tell(r.Say("own.ready_many", len(recs)))
	case about.Code != "":
		r.Tell(r.Put(about))
	default:
		r.Tell(r.Say("own.ready", recs[0].Name))
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
	p.inspect(func() ([]*given.File, error) { return given.Dropped(dropped) })
}

// OpenFiles adds files on disk to the learner's recordings.
func (p *Session) OpenFiles(paths ...string) {
	for i, path := range paths { // which are kept
		if abs, err := filepath.Abs(path); err == nil {
			paths[i] = abs
		}
	}
	p.inspect(func() ([]*given.File, error) { return given.At(paths...), nil })
}

// Choose lets the reader of a page choose recordings, and whatever else can be dropped:
// on a phone nothing can.
func (p *Session) Choose() {
	page.Choose(".wav,.flac,audio/*,.jsonl,.json,.csv", func(files []page.File) {
		p.inspect(func() (all []*given.File, err error) {
			for _, f := range files {
				all = append(all, given.New(f.Name, func() (io.ReadSeeker, error) { return f.Open(), nil }))
			}
			return all, nil
		})
	})
}

// inspect looks into files while the screen is drawn, and takes each as what it is.
func (p *Session) inspect(find func() ([]*given.File, error)) {
	known := p.Own.answers
	p.files.Do(func() func() {
		all, err := find()
		back, answers, wrong := given.LookForReturn(all, known, p.tellJudging)
		switch {
		case wrong != nil:
			return func() { p.Records.Tell(p.Records.Fault(wrong)) }
		case back != nil:
			return func() {
				if sameSeries(answers, p.Own.answers) { // whose recording need not be found again
					p.Own.answers = answers
				}
				p.keep(&Return{Judged: back, of: len(back.Rounds), exercise: answers.Exercise})
			}
		case answers != nil:
			return func() { p.takeAnswers(answers) }
		}
		return p.sort(all, err)
	})
}

// sameSeries reports whether two answer sheets are of the same series of passages.
func sameSeries(a, b *series.Answers) bool {
	return b != nil && a.Own != nil && b.Own != nil && a.File == b.File && a.Own.SHA256 == b.Own.SHA256
}

// sort tries files of which none is a return: recordings, an exported journal, a class's
// sheet. err is why there are not more. What is returned takes them over.
func (p *Session) sort(all []*given.File, err error) (then func()) {
	var recs []*given.File
	var about said.Sentence
	other := func() {}
	for _, rec := range all {
		var wrong error
		switch rec.Kind() {
		case given.Journal:
			other = func() { p.takeIn(rec) }
		case given.ClassSheet:
			var n *sheet.Sheet
			n, wrong = rec.Sheet()
			other = func() { p.offered, p.folder, p.fresh = n, filepath.Dir(rec.Path), true }
		default:
			var odd said.Sentence
			if odd, wrong = rec.Try(p.seed); wrong == nil {
				recs, about = append(recs, rec), odd
			}
		}
		if wrong != nil {
			err = wrong
		}
	}
	return func() {
		if len(recs) > 0 {
			p.add(recs, about)
		}
		if err != nil {
			p.Records.Tell(p.Records.Fault(err))
			return
		}
		other()
	}
}

// takeIn adds an exported journal to the learner's, while the screen is drawn.
func (p *Session) takeIn(rec *given.File) {
	p.Records.Wait() // it may have been given at the start
	r, book := p.Records, p.Records.journal
	p.files.Do(func() func() {
		in, err := rec.ImportInto(book)
		return func() {
			if err != nil {
				r.Tell(r.Fault(err))
				return
			}
			r.reread()
			r.Tell(r.Say("journal.imported", in.Added, in.Known))
		}
	})
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
