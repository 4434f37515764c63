package practice

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/drills/series"
	"slowneedle/game/page"
	"slowneedle/game/words"
)

// Return is what came back of a series from a real desk, judged.
type Return struct {
	Judged   *series.Judged
	of       int  // rounds of the series
	Live     bool // it comes back while it goes out
	exercise func(i int) (*drills.Exercise, error)
}

// Rounds is how many rounds the series has.
func (r *Return) Rounds() int { return r.of }

// Over reports whether all of them have come back.
func (r *Return) Over() bool { return len(r.Judged.Rounds) == r.of }

// Assignment makes round i again, from 0, with what came back of it.
func (r *Return) Assignment(i int) (*Assignment, error) {
	e, err := r.exercise(i)
	if err != nil {
		return nil, err
	}
	return &Assignment{Exercise: e, number: i + 1, of: r.Rounds(), Return: r, Came: &r.Judged.Rounds[i]}, nil
}

// Number is which round of its return an assignment is, from 1.
func (a *Assignment) Number() int { return a.number }

// About tells what holds for the whole return: its line-up tone, and what is odd
// about it.
func (r *Return) About(w *words.Speech) string {
	j := r.Judged
	parts := []string{w.Say("desk.tone", w.Number(float64(j.LineUp.LevelDBFS), 1))}
	if math.Abs(j.SpeedPercent) >= 0.05 {
		parts = append(parts, w.Say("desk.speed", w.Signed(j.SpeedPercent, 1)))
	}
	if j.Inverted {
		parts = append(parts, w.Say("desk.inverted"))
	}
	if j.OneSide != "" {
		parts = append(parts, w.Say("desk.one_side", w.Say("side."+j.OneSide)))
	}
	return strings.Join(parts, " · ")
}

// Summary tells how many rounds were right, and how far off they were.
func (r *Return) Summary(w *words.Speech) string {
	sum := r.Judged.Sum()
	if sum.Judged == 0 {
		return w.Say("desk.none_judged")
	}
	return w.Say("desk.sum", sum.Right, r.Rounds(), w.Signed(sum.BiasDB, 1))
}

// Return is the return that was judged and not looked at yet, nil if there is none.
func (p *Session) Return() *Return { return p.Own.back }

// TakeReturn returns it, to be looked at.
func (p *Session) TakeReturn() *Return {
	r := p.Own.back
	p.Own.back = nil
	return r
}

// keep puts the figures of a return into the journal, while the screen is drawn.
// One that is there already is left as it is.
func (p *Session) keep(r *Return) {
	p.Records.Take(true)
	ch, book, version, now := p.Own.given, p.Records.journal, p.version, time.Now()
	go func() {
		d := given{back: r}
		if book == nil {
			d.err = said.Errorf("desk.no_journal", "there is no history to keep it in")
		} else if lines, err := r.lines(version, now); err != nil {
			d.err = err
		} else if in, err := book.Import(bytes.NewReader(lines)); err != nil {
			d.err = err
		} else {
			d.takes = &in
		}
		ch <- d
	}()
}

// showBack has a return looked at that has been kept, or that cannot be.
func (p *Session) showBack(d given) {
	r := p.Records
	p.Own.back = d.back
	if d.err != nil {
		r.Tell(r.Say("journal.not_kept", r.Fault(d.err)))
	} else {
		r.reread()
		r.Tell(d.back.Summary(r.Speech) + " " + r.Say("desk.kept", d.takes.Added))
	}
	r.Note("return", map[string]any{"name": d.back.Judged.File, "rounds": d.back.Rounds(), "right": d.back.Judged.Sum().Right, "kept": d.takes != nil})
}

// lines are the rounds with a verdict as lines of an exported journal.
func (r *Return) lines(version string, now time.Time) ([]byte, error) {
	var b bytes.Buffer
	out := json.NewEncoder(&b)
	for i, round := range r.Judged.Rounds {
		if !round.ErrorDB.Exists() {
			continue
		}
		a, err := r.Assignment(i)
		if err != nil {
			return nil, err
		}
		e, err := a.entry(now)
		if err != nil {
			return nil, err
		}
		e.Version = version
		if err := out.Encode(e); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// entry is what the journal keeps of a round that came back: figures, no sound. The same
// return again has the same name.
func (a *Assignment) entry(now time.Time) (journal.Entry, error) {
	e, err := journal.Of(a.Exercise, drills.Settings{}, a.CameTake(), a.Came.Verdict, now)
	if err != nil {
		return e, err
	}
	e.Drill, e.Level, e.Settings = progress.RealDesk, 0, nil
	if a.Return.Live {
		return e, nil
	}
	same, err := json.Marshal([]any{e.Drill, e.Seed, e.Index, e.Rig, e.Take, a.Came.StartS})
	sum := sha256.Sum256(same)
	e.ID = hex.EncodeToString(sum[:16])
	return e, err
}

// CameTake is what came back as a take: the moves of the level, the last to where
// it held.
func (a *Assignment) CameTake() drills.Take {
	got := a.Came
	to := float64(got.ChangeDB)
	t := drills.Take{LockAt: int64(got.Measured.Steady.End * audio.Rate)}
	for i := len(got.Moves) - 1; i >= 0; i-- {
		at := int64(got.Moves[i].AtS * audio.Rate)
		if at < t.LockAt {
			t.Moves = append([]drills.Move{{At: at, To: math.Round(to*10) / 10}}, t.Moves...)
			to -= got.Moves[i].DB
		}
	}
	if len(t.Moves) == 0 {
		t.Moves = []drills.Move{{To: to}}
	}
	t.Moves[len(t.Moves)-1].To = float64(got.ChangeDB)
	return t
}

// lookForReturn judges a return among files that were given together, by the
// answer sheet among them, beside it, or given before. nil means that there is
// none. What it says on the way goes to ch.
func lookForReturn(files []*Recording, known *series.Answers, ch chan<- given) *given {
	var sheet, back *Recording
	for _, f := range files {
		if strings.EqualFold(filepath.Ext(f.Name), ".json") && !f.isClassSheet() {
			sheet = f
		}
	}
	together := sheet != nil
	for _, f := range files {
		if sheet == nil {
			sheet = f.sheetBeside()
		}
	}
	if sheet != nil {
		answers, err := sheet.answers()
		if err != nil && together {
			return &given{err: err}
		}
		if err == nil {
			known = answers
		}
	}
	if known == nil {
		return nil
	}
	var before *series.Answers // a sheet whose own recording had to be found
	for _, f := range files {
		made := known.Own != nil && f.Name == known.Own.File // from it
		if back == nil && f != sheet && !f.isJournal() && !made {
			back = f
		}
	}
	switch {
	case back == nil && together:
		return &given{sheet: known}
	case back == nil:
		return nil
	}
	if known.Own != nil && known.Own.Open == nil {
		open, err := findOwn(known.Own, files, sheet)
		if err != nil {
			return &given{err: err}
		}
		// A copy: a sheet that was given before may be in use for another return.
		found, own := *known, *known.Own
		own.Open, found.Own = open, &own
		known, before = &found, known
	}
	judged, err := back.judge(known, ch)
	switch {
	case err == nil:
		if before == nil {
			return &given{back: judged}
		}
		return &given{back: judged, sheet: known, of: before}
	case words.IsFault(err, "return.tone") && !together: // a recording of another kind
		return nil
	}
	return &given{err: err}
}

// sheetBeside is the answer sheet in a recording's folder: that of its name or, if
// there is none, the only one.
func (r *Recording) sheetBeside() *Recording {
	const ending = ".answers.json"
	if r.Path == "" {
		return nil
	}
	dir, own := filepath.Split(r.Path)
	own = strings.TrimSuffix(own, filepath.Ext(own)) + ending
	var found []string
	list, _ := os.ReadDir(dir)
	for _, e := range list {
		if e.Name() == own {
			return fromPath(filepath.Join(dir, own))
		}
		if strings.HasSuffix(e.Name(), ending) {
			found = append(found, e.Name())
		}
	}
	if len(found) == 1 {
		return fromPath(filepath.Join(dir, found[0]))
	}
	return nil
}

// answers reads an answer sheet.
func (r *Recording) answers() (*series.Answers, error) {
	f, err := r.open()
	if err != nil {
		return nil, err
	}
	defer shut(f)
	data, err := io.ReadAll(io.LimitReader(f, 8<<20))
	if err != nil {
		return nil, said.Errorf("own.cannot_read", "%s cannot be read: %w", r.Name, reason(err))
	}
	a, err := series.Parse(data)
	if err != nil {
		return nil, said.Errorf("named", "%s: %w", r.Name, err)
	}
	return a, nil
}

// findOwn finds the recording that the rounds of a series are passages of, among
// files given together or beside the sheet, and returns what opens it.
func findOwn(own *series.Own, files []*Recording, sheet *Recording) (open func() (*wavfile.Reader, error), err error) {
	if sheet != nil && sheet.Path != "" {
		files = append(files, fromPath(filepath.Join(filepath.Dir(sheet.Path), filepath.Base(own.File))))
	}
	for _, f := range files {
		if f.Name != own.File {
			continue
		}
		in, err := f.open()
		if err != nil {
			continue
		}
		sum := sha256.New()
		_, err = io.Copy(sum, in)
		shut(in)
		if err != nil || hex.EncodeToString(sum.Sum(nil)) != own.SHA256 {
			return nil, said.Errorf("desk.own_other", "%s is not the recording that the series was made of", own.File)
		}
		return f.reader, nil
	}
	return nil, said.Errorf("desk.own", "the rounds are passages of %s; drop that recording together with the return and the answer sheet", own.File)
}

// judge judges what came back of a series.
func (r *Recording) judge(a *series.Answers, ch chan<- given) (*Return, error) {
	w, err := r.reader()
	if err != nil {
		return nil, err
	}
	defer w.Close()
	told, pause := 0, page.Pauser()
	j, err := a.Judge(w, func(share float64) {
		if percent := int(100 * share); percent >= told+5 {
			told = percent
			ch <- given{how: said.New("desk.judging", "%s: looking for the rounds, %d %% done.", r.Name, percent)}
		}
		if pause != nil {
			pause()
		}
	})
	if err != nil {
		return nil, said.Errorf("named", "%s: %w", r.Name, err)
	}
	j.File, j.Who = r.Name, strings.TrimSuffix(r.Name, filepath.Ext(r.Name))
	return &Return{Judged: j, of: len(j.Rounds), exercise: a.Exercise}, nil
}
