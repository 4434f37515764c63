package practice

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"math"
	"strings"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/drills/series"
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

// takeAnswers keeps an answer sheet that was given without a return.
func (p *Session) takeAnswers(a *series.Answers) {
	p.Own.answers = a
	p.Records.Tell(p.Records.Say("desk.sheet", a.File, len(a.Rounds)))
}

// keep puts the figures of a return into the journal, while the screen is drawn, and then
// has it looked at. One that is there already is left as it is.
func (p *Session) keep(back *Return) {
	p.Records.Wait()
	r, book, version, now := p.Records, p.Records.journal, p.version, time.Now()
	p.files.Do(func() func() {
		added, err := back.addTo(book, version, now)
		return func() {
			p.Own.back = back
			if err != nil {
				r.Tell(r.Say("journal.not_kept", r.Fault(err)))
			} else {
				r.reread()
				r.Tell(back.Summary(r.Speech) + " " + r.Say("desk.kept", added))
			}
			r.Note("return", map[string]any{"name": back.Judged.File, "rounds": back.Rounds(), "right": back.Judged.Sum().Right, "kept": err == nil})
		}
	})
}

// addTo puts the rounds with a verdict into a journal, and returns how many are new there.
func (r *Return) addTo(j *journal.Journal, version string, now time.Time) (added int, err error) {
	if j == nil {
		return 0, said.Errorf("desk.no_journal", "there is no history to keep it in")
	}
	lines, err := r.lines(version, now)
	if err != nil {
		return 0, err
	}
	in, err := j.Import(bytes.NewReader(lines))
	return in.Added, err
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

// tellJudging tells how far the judging of a return is.
func (p *Session) tellJudging(name string, percent int) {
	so := said.New("desk.judging", "%s: looking for the rounds, %d %% done.", name, percent)
	p.files <- func() { p.Records.Tell(p.Records.Put(so)) }
}
