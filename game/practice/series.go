package practice

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/beside"
	"slowneedle/game/page"
	"slowneedle/game/store"
)

// Series is a class's sheet that is being played: it knows which round comes
// next, keeps every take that is locked, and hands in after the last. What has a name in
// JSON is kept between two starts.
type Series struct {
	Hand   *handin.HandIn `json:"hand"`
	Server string         `json:"server,omitempty"` // address of the class server; empty: there is none
	Title  string         `json:"title,omitempty"`  // of the class, if it has one
	Path   string         `json:"path,omitempty"`   // where the hand-in has been written, if it has
	State  handState      `json:"state"`
	Says   string         `json:"says,omitempty"`   // why the server refuses, in one sentence
	Folder string         `json:"folder,omitempty"` // of a sheet's recordings; empty: they are the server's
	Shown  string         `json:"result,omitempty"` // where the server shows the result again
	// Closed is set if the exam was closed before all rounds were played, Given are the
	// verdicts of one that is over.
	Closed bool             `json:"closed,omitempty"`
	Given  []drills.Verdict `json:"verdicts,omitempty"`

	Tries    int `json:"-"` // how often it has been sent in vain
	server   beside.Queue
	stop     context.CancelFunc // of the sending; nil: it is not being sent
	standing client.Standing    // what the server last said to a report
	silent   int                // reports since then that it did not answer
	refused  *client.Refused    // why it would not have the last one
	asked    time.Time          // when the server was last asked
	asking   bool               // for the verdicts of an exam
}

// handState is how far a hand-in has come.
type handState string

const (
	handPlaying handState = "playing" // rounds are left
	handWritten handState = "written" // it goes to no server
	HandSending handState = "sending"
	HandIn      handState = "in"      // the server has it for good
	HandRefused handState = "refused" // the server will not take it
)

// NewSeries begins a sheet under a name. The error is one sentence about either.
func NewSeries(n sheet.Sheet, who, server, title string) (*Series, error) {
	h, err := handin.Begin(who, n, handin.Program(), time.Now())
	if err != nil {
		return nil, err
	}
	return &Series{Hand: h, Server: server, Title: title, State: handPlaying, server: beside.New()}, nil
}

// round is the round to be played, from 1; one more than there are when all
// have been.
func (s *Series) round() int { return len(s.Hand.Takes) + 1 }

// Over reports whether no round is left to be played.
func (s *Series) Over() bool { return s.Hand.Complete() || s.Closed }

// Exam reports whether verdicts come when the teacher has closed the exam.
func (s *Series) Exam() bool { return s.Hand.Sheet.Exam }

// drawn returns what the round to be played is, in an exam; nil: the server has not
// told it yet.
func (s *Series) drawn() *sheet.Drawn {
	if s.standing.Round == s.round() {
		return s.standing.Drawn
	}
	return nil
}

// assign makes the round to be played. In an exam it must have been drawn.
func (s *Series) assign() *Making {
	n, i := s.Hand.Sheet, len(s.Hand.Takes)
	a := &Assignment{number: i + 1, Again: i > 0, Series: s, NoVerdict: s.Exam() || s.Hand.Sheet.Form != ""}
	if s.Exam() {
		if a.drawn = s.drawn(); a.drawn == nil {
			return failed(said.Errorf("class.no_round", "the class server has not given this round yet"))
		}
		i = a.drawn.Index
		var err error
		if n, err = n.With([]sheet.Drawn{*a.drawn}); err != nil {
			return failed(err)
		}
	}
	a.Settings = n.Settings(i)
	return begin(a, func(pause func()) (*drills.Exercise, error) { return n.Make(i, pause) })
}

// Next makes the next round of the series, or nil after the last, and tells the
// teacher's board how far the learner is.
func (s *Series) Next() *Making {
	if s.Over() {
		return nil
	}
	m := s.assign()
	s.report()
	return m
}

// add takes a take in and tells the teacher's board. It returns the series as it
// is to be kept, or nil, having said why not.
func (s *Series) add(r *Records, a *Assignment, t drills.Take, v drills.Verdict) []byte {
	var err error
	if a.drawn != nil {
		err = s.Hand.AddDrawn(t, *a.drawn, time.Now())
	} else {
		err = s.Hand.Add(t, v, time.Now())
	}
	var data []byte
	if err == nil {
		data, err = json.Marshal(s)
	}
	if err != nil {
		r.Tell(r.Say("class.not_kept", r.Fault(err)))
		return nil
	}
	s.report()
	return data
}

// report tells the board how far the learner is, if there is a server; that it
// does not arrive hurts nothing.
func (s *Series) report() {
	if s.Server == "" {
		return
	}
	p := client.Progress{Code: s.Hand.Code, ID: s.Hand.ID, Who: s.Hand.Who, Round: s.round(), Takes: []client.Mark{}}
	for _, t := range s.Hand.Takes {
		if s.Exam() {
			p.Locked = append(p.Locked, t.Digest())
			continue
		}
		p.Takes = append(p.Takes, client.Mark{ErrorDB: t.Verdict.ErrorDB, InWindow: t.Verdict.InWindow, Points: t.Verdict.Points})
	}
	c := client.Client{Base: s.Server}
	s.server.Do(func() func() {
		st, err := c.Progress(context.Background(), p)
		return func() {
			switch {
			case err == nil:
				s.standing, s.silent = st, 0
			case !errors.As(err, &s.refused):
				s.silent++
			}
		}
	})
}

// Held reports whether the next round has to be waited for: until the teacher
// releases it to all of the class, or, in an exam, until the server gives it. While
// it does it asks the server again, every second.
func (s *Series) Held() bool {
	if s.Over() || !s.Together() && (!s.Exam() || s.drawn() != nil) {
		return false
	}
	if time.Since(s.asked) >= time.Second {
		s.asked = time.Now()
		s.report()
	}
	return true
}

// Unanswered reports whether the server no longer answers: one report may get lost.
func (s *Series) Unanswered() bool { return s.silent > 1 }

// Together reports whether the teacher has not yet released the next round.
func (s *Series) Together() bool {
	return s.standing.Together && s.round() > s.standing.Released
}

// Verdicts are those of the takes, nil while they are withheld. A test form has none
// for whoever plays it.
func (s *Series) Verdicts() []drills.Verdict {
	if s.Exam() || s.Hand.Sheet.Form != "" {
		return s.Given
	}
	var all []drills.Verdict
	for _, t := range s.Hand.Takes {
		all = append(all, t.Verdict)
	}
	return all
}

// examNews looks after an exam: closed before its end it is handed in as it is, and
// once it has been handed in the server is asked for the verdicts.
func (s *Series) examNews(r *Records) {
	if s.refused != nil && !s.Over() {
		r.Tell(r.Say("class.server_says", r.Put(s.refused.Why)))
	}
	s.refused = nil
	late := s.State != HandIn && s.standing.Locked < len(s.Hand.Takes)
	if s.standing.Over && (late || !s.Over()) {
		s.Closed, s.Path = true, ""                                                     // it is written again
		s.Hand.Takes = s.Hand.Takes[:max(0, min(s.standing.Locked, len(s.Hand.Takes)))] // one was too late
		if len(s.Hand.Takes) > 0 {
			s.finish(r)
		} else {
			s.State, s.Says = HandRefused, r.Say("class.exam_over")
		}
		s.Keep(r)
	}
	if s.State == HandIn && s.Given == nil && !s.asking && time.Since(s.asked) >= 5*time.Second {
		s.askVerdicts(r)
	}
}

// askVerdicts asks the server for the verdicts of an exam; while they are withheld there
// are none.
func (s *Series) askVerdicts(r *Records) {
	s.asked, s.asking = time.Now(), true
	c := client.Client{Base: s.Server}
	s.server.Do(func() func() {
		v, _ := c.Verdicts(context.Background(), s.Hand.ID)
		return func() {
			s.asking = false
			if len(v.Verdicts) != len(s.Hand.Takes) {
				return
			}
			s.Given = v.Verdicts
			r.Changed()
			s.Keep(r)
			r.Note("verdicts", map[string]any{"count": len(s.Given)})
		}
	})
}

// Result is the address at which the server shows the hand-in's result again, or
// "" if there is none.
func (s *Series) Result() string {
	if s.Shown == "" {
		return ""
	}
	return s.Server + s.Shown
}

// finish writes the hand-in, where files are written, and sends it, where there
// is a server.
func (s *Series) finish(r *Records) {
	if !page.Browser && s.Path == "" {
		if path, err := s.Write(); err != nil {
			r.Tell(r.Say("class.not_written", r.Fault(err)))
		} else {
			s.Path = path
		}
	}
	if s.Server == "" {
		s.State = handWritten
		return
	}
	s.Send(r)
}

// Send sends the hand-in until the server has it for good or refuses it.
func (s *Series) Send(r *Records) {
	file, err := s.Hand.File()
	if err != nil {
		s.State, s.Says = HandRefused, r.Fault(err)
		return
	}
	if s.stop != nil {
		s.stop()
	}
	ctx, stop := context.WithCancel(context.Background())
	s.State, s.Says, s.Tries, s.stop = HandSending, "", 0, stop
	c := client.Client{Base: s.Server, Wait: func(attempt int) time.Duration {
		select {
		case s.server <- func() { s.tried(r, attempt) }:
		case <-ctx.Done(): // nobody waits for it
		}
		return client.Patiently(attempt)
	}}
	s.server.Do(func() func() {
		receipt, err := c.HandIn(ctx, file)
		return func() {
			if ctx.Err() == nil { // else it is sent again
				s.handedIn(r, receipt, err)
			}
		}
	})
	r.Note("handin", map[string]any{"state": s.State})
}

// update handles what the server answered. It reports whether it has just taken the
// hand-in.
func (s *Series) update(r *Records) (handedIn bool) {
	before := s.State
	s.server.Update()
	if s.Exam() {
		s.examNews(r)
	}
	return before == HandSending && s.State == HandIn
}

// tried counts an attempt to send the hand-in that was in vain.
func (s *Series) tried(r *Records, attempt int) {
	s.Tries = attempt
	r.Changed()
	r.Note("handin", map[string]any{"state": s.State, "tries": s.Tries})
}

// handedIn keeps what the server made of the hand-in.
func (s *Series) handedIn(r *Records, receipt client.Receipt, err error) {
	s.stop()
	s.stop = nil
	var refused *client.Refused
	switch {
	case err == nil:
		s.State, s.Shown = HandIn, receipt.Result
	case errors.As(err, &refused):
		s.State, s.Says = HandRefused, r.Put(refused.Why)
		if s.Exam() {
			s.report() // the last take may have been too late; the others were not
		}
	default:
		s.State, s.Says = HandRefused, r.Fault(err)
	}
	r.Changed()
	s.Keep(r)
	r.Note("handin", map[string]any{"state": s.State, "id": s.Hand.ID, "says": s.Says})
}

// Safe reports whether the series may be dropped without losing anything.
func (s *Series) Safe() bool {
	return len(s.Hand.Takes) == 0 || s.Over() && (s.State == HandIn || s.Path != "")
}

// Keep stores the series so that a take once locked is there after a restart.
func (s *Series) Keep(r *Records) {
	data, err := json.Marshal(s)
	if err == nil {
		err = store.SaveSeries(data)
	}
	if err != nil {
		r.Tell(r.Say("class.not_kept", r.Fault(err)))
	}
}

// readSeries is the series that was kept. The error says why what is there is
// none.
func readSeries(data []byte) (*Series, error) {
	s := &Series{server: beside.New()}
	err := json.Unmarshal(data, s)
	if err == nil {
		err = s.restore()
	}
	if err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	return s, nil
}

// restore completes what was kept of a series. The error says what of it cannot be.
func (s *Series) restore() error {
	h := s.Hand
	if h == nil {
		return said.Errorf("class.other_version", "they were written by another version of the program")
	}
	n := &h.Sheet
	if code, err := n.Code(); err != nil || code != h.Code {
		return cmp.Or(err, errors.New("their code is of other rounds"))
	}
	if len(h.Takes) > n.Rounds {
		return said.Errorf("class.too_many_takes", "there are %d {take|takes} of %d {round|rounds}", len(h.Takes), n.Rounds)
	}
	for _, t := range h.Takes {
		if n.Exam != (t.Drawn != nil) {
			return errors.New("a take is not of its rounds")
		}
		if n.Exam {
			var err error
			if *n, err = n.With([]sheet.Drawn{*t.Drawn}); err != nil {
				return err
			}
		}
	}
	if s.Folder != "" {
		n.Content = sheet.Folder(s.Folder)
	} else if n.Recorded {
		n.Content = fromServer(s.Server, h.Code)
	}
	return nil
}

// OpenSeries takes up the series that was kept, if there is one; a hand-in that
// was on its way goes on.
func (p *Session) OpenSeries() {
	data, err := store.LoadSeries()
	if err == nil && len(data) > 0 {
		p.Series, err = readSeries(data)
	}
	if err != nil {
		p.Records.Tell(p.Records.Fault(err))
	}
	if s := p.Series; s != nil && s.Over() && s.State != HandIn && s.State != handWritten {
		s.finish(p.Records)
	}
}

// Write puts the hand-in where documents go and returns where that is.
func (s *Series) Write() (string, error) {
	file, err := s.Hand.File()
	if err != nil {
		return "", err
	}
	return store.WriteDocument(s.Hand.FileName(), file)
}
