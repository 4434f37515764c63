package practice

import (
	"context"
	"encoding/json"
	"errors"
	"sync/atomic"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/page"
	"slowneedle/game/store"
)

// Series is a class's sheet that is being played: it knows which round comes
// next, keeps every take that is locked, and hands in after the last.
type Series struct {
	Hand   *handin.HandIn
	Server string // address of the class server; empty: there is none
	Title  string // of the class, if it has one
	Path   string // where the hand-in has been written, if it has
	State  handState
	Says   string // why the server refuses, in one sentence
	Tries  int    // how often it has been sent in vain
	folder string // of a sheet's recordings; empty: they are the server's
	points int    // as acknowledged
	result string // where the server shows it again
	news   chan handNews
	stop   context.CancelFunc

	standing atomic.Pointer[client.Standing] // what the server last said to a report
	refused  atomic.Pointer[client.Refused]  // why it would not have the last one
	asked    time.Time                       // when Held last asked it

	ended    bool             // the exam was closed before all rounds were played
	verdicts []drills.Verdict // of an exam that is over
	fetched  chan client.Verdicts
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

// handNews is what the sending of a hand-in reports.
type handNews struct {
	tries   int
	receipt client.Receipt
	err     error
	over    bool
}

// NewSeries begins a sheet under a name. The error is one sentence about either.
func NewSeries(n sheet.Sheet, who, server, title string) (*Series, error) {
	h, err := handin.Begin(who, n, handin.Program(), time.Now())
	if err != nil {
		return nil, err
	}
	return &Series{Hand: h, Server: server, Title: title, State: handPlaying}, nil
}

// round is the round to be played, from 1; one more than there are when all
// have been.
func (s *Series) round() int { return len(s.Hand.Takes) + 1 }

// Over reports whether no round is left to be played.
func (s *Series) Over() bool { return s.Hand.Complete() || s.ended }

// Exam reports whether verdicts come when the teacher has closed the exam.
func (s *Series) Exam() bool { return s.Hand.Sheet.Exam }

// drawn returns what the round to be played is, in an exam; nil: the server has not
// told it yet.
func (s *Series) drawn() *sheet.Drawn {
	if st := s.standing.Load(); st != nil && st.Round == s.round() {
		return st.Drawn
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
		data, err = json.Marshal(s.kept())
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
	go func() {
		st, err := c.Progress(context.Background(), p)
		var refused *client.Refused
		switch {
		case err == nil:
			s.standing.Store(&st)
		case errors.As(err, &refused):
			s.refused.Store(refused)
		}
	}()
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

// Together reports whether the teacher has not yet released the next round.
func (s *Series) Together() bool {
	st := s.standing.Load()
	return st != nil && st.Together && s.round() > st.Released
}

// Verdicts are those of the takes, nil while they are withheld. A test form has none
// for whoever plays it.
func (s *Series) Verdicts() []drills.Verdict {
	if s.Exam() || s.Hand.Sheet.Form != "" {
		return s.verdicts
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
	if why := s.refused.Swap(nil); why != nil && !s.Over() {
		r.Tell(r.Say("class.server_says", r.Put(why.Why)))
	}
	if st := s.standing.Load(); st != nil && st.Over && !s.Over() {
		s.ended = true
		s.Hand.Takes = s.Hand.Takes[:max(0, min(st.Locked, len(s.Hand.Takes)))] // one was too late
		if len(s.Hand.Takes) > 0 {
			s.finish(r)
		} else {
			s.State, s.Says = HandRefused, r.Say("class.exam_over")
		}
		s.Keep(r)
	}
	if s.State != HandIn || s.verdicts != nil {
		return
	}
	if s.fetched == nil && time.Since(s.asked) >= 5*time.Second {
		s.asked, s.fetched = time.Now(), make(chan client.Verdicts, 1)
		c, id, into := client.Client{Base: s.Server}, s.Hand.ID, s.fetched
		go func() {
			v, _ := c.Verdicts(context.Background(), id) // while they are withheld there are none
			into <- v
		}()
	}
	select {
	case v := <-s.fetched:
		s.fetched = nil
		if len(v.Verdicts) == len(s.Hand.Takes) {
			s.verdicts = v.Verdicts
			r.Changed()
			s.Keep(r)
			r.Note("verdicts", map[string]any{"count": len(s.verdicts)})
		}
	default:
	}
}

// Result is the address at which the server shows the hand-in's result again, or
// "" if there is none.
func (s *Series) Result() string {
	if s.result == "" {
		return ""
	}
	return s.Server + s.result
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
	news := make(chan handNews, 64)
	s.news = news
	c := client.Client{Base: s.Server, Wait: func(attempt int) time.Duration {
		select {
		case news <- handNews{tries: attempt}:
		default: // nobody reads it
		}
		return client.Patiently(attempt)
	}}
	go func() {
		receipt, err := c.HandIn(ctx, file)
		select {
		case news <- handNews{receipt: receipt, err: err, over: true}:
		case <-ctx.Done():
		}
	}()
	r.Note("handin", map[string]any{"state": s.State})
}

// update handles what the sending reports. It reports whether the server has
// just taken the hand-in.
func (s *Series) update(r *Records) (handedIn bool) {
	if s.Exam() {
		s.examNews(r)
	}
	for s.news != nil {
		select {
		case n := <-s.news:
			handedIn = s.heard(r, n)
		default:
			return handedIn
		}
	}
	return handedIn
}

func (s *Series) heard(r *Records, n handNews) (handedIn bool) {
	r.Changed()
	if !n.over {
		s.Tries = n.tries
		r.Note("handin", map[string]any{"state": s.State, "tries": s.Tries})
		return false
	}
	s.news = nil
	s.stop()
	s.stop = nil
	var refused *client.Refused
	switch {
	case n.err == nil:
		s.State, s.points, s.result = HandIn, n.receipt.Points, n.receipt.Result
	case errors.As(n.err, &refused):
		s.State, s.Says = HandRefused, r.Put(refused.Why)
	default:
		s.State, s.Says = HandRefused, r.Fault(n.err)
	}
	s.Keep(r)
	r.Note("handin", map[string]any{"state": s.State, "id": s.Hand.ID, "says": s.Says})
	return s.State == HandIn
}

// Safe reports whether the series may be dropped without losing anything.
func (s *Series) Safe() bool {
	return len(s.Hand.Takes) == 0 || s.Over() && (s.State == HandIn || s.Path != "")
}

// keptSeries is a series as it is kept between two starts.
type keptSeries struct {
	Server   string        `json:"server,omitempty"`
	Title    string        `json:"title,omitempty"`
	ID       string        `json:"id"`
	Who      string        `json:"who"`
	Code     string        `json:"code"`
	Program  string        `json:"program"`
	Language string        `json:"language,omitempty"`
	Began    time.Time     `json:"began"`
	Ended    time.Time     `json:"ended"`
	Takes    []handin.Take `json:"takes"`
	Path     string        `json:"path,omitempty"`
	State    handState     `json:"state"`
	Says     string        `json:"says,omitempty"`
	Points   int           `json:"points,omitempty"`
	Result   string        `json:"result,omitempty"`

	// Of a sheet on recordings: what it is, and their folder where they are not the server's.
	Sheet  *sheet.Sheet `json:"sheet,omitempty"`
	Folder string       `json:"folder,omitempty"`

	Closed   bool             `json:"closed,omitempty"`
	Verdicts []drills.Verdict `json:"verdicts,omitempty"`
}

// Keep stores the series so that a take once locked is there after a restart.
func (s *Series) Keep(r *Records) {
	data, err := json.Marshal(s.kept())
	if err == nil {
		err = store.SaveSeries(data)
	}
	if err != nil {
		r.Tell(r.Say("class.not_kept", r.Fault(err)))
	}
}

func (s *Series) kept() keptSeries {
	h := s.Hand
	var on *sheet.Sheet
	if h.Sheet.Recorded {
		on = &h.Sheet
	}
	return keptSeries{s.Server, s.Title, h.ID, h.Who, h.Code, h.Program, h.Language, h.Began, h.Ended, h.Takes, s.Path, s.State, s.Says, s.points, s.result, on, s.folder, s.ended, s.verdicts}
}

// readSeries is the series that was kept. The error says why what is there is
// none.
func readSeries(data []byte) (*Series, error) {
	var k keptSeries
	if err := json.Unmarshal(data, &k); err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	n, err := sheet.ParseCode(k.Code)
	if err == nil && n.Recorded && k.Sheet != nil {
		n = *k.Sheet
		if n.Content = fromServer(k.Server, k.Code); k.Folder != "" {
			n.Content = sheet.Folder(k.Folder)
		}
	}
	if err != nil {
		return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
	}
	if len(k.Takes) > n.Rounds {
		return nil, said.Errorf("class.too_many_takes", "the class's saved rounds cannot be read: there are %d {take|takes} of %d {round|rounds}", len(k.Takes), n.Rounds)
	}
	for _, t := range k.Takes {
		if n.Exam != (t.Drawn != nil) {
			err = errors.New("a take is not of its rounds")
		} else if n.Exam {
			n, err = n.With([]sheet.Drawn{*t.Drawn})
		}
		if err != nil {
			return nil, said.Errorf("class.unreadable", "the class's saved rounds cannot be read: %w", err)
		}
	}
	h := &handin.HandIn{Head: handin.Head{ID: k.ID, Who: k.Who, Sheet: n, Program: k.Program, Language: k.Language, Began: k.Began, Ended: k.Ended, Code: k.Code}, Takes: k.Takes}
	return &Series{Hand: h, Server: k.Server, Title: k.Title, Path: k.Path, State: k.State, Says: k.Says, points: k.Points, result: k.Result, folder: k.Folder, ended: k.Closed, verdicts: k.Verdicts}, nil
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
