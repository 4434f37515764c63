//go:build !js

package server

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
)

// Bodies of requests, in bytes.
const (
	maxShort    = 16 << 10  // of all but hand-ins
	bytesHandIn = 64 << 10  // of a hand-in without its takes
	bytesTake   = 160 << 10 // of a take with all the moves it may have
)

// sheetOf returns the sheet of a code that is one of the course.
func (s *Server) sheetOf(code string) (courseSheet, error) {
	tidy, err := sheet.Tidy(code)
	if err != nil {
		return courseSheet{}, bad(err)
	}
	if c, ok := s.course.get(tidy); ok {
		return c, nil
	}
	return courseSheet{}, errOtherClass
}

// getSheet lets a learner join, and tells one who goes on with a hand-in that it
// is known.
func (s *Server) getSheet(r *http.Request) (any, error) {
	q := r.URL.Query()
	c, err := s.sheetOf(q.Get("code"))
	_, plays := s.board.who(q.Get("id"))
	switch {
	case err != nil:
		return nil, err
	case s.now().Before(c.Opens):
		return nil, errNotYet
	case s.closed.Load() && !plays:
		return nil, errClosedToNew
	}
	token := s.quotas.join(r.RemoteAddr)
	if token == "" {
		return nil, errTooManyJoined
	}
	return client.Joined{Code: c.Code, Title: s.o.Title, Sheet: c.Sheet, Token: token,
		Late: !c.isOpen(s.now()), Taken: s.board.taken(c.Code, q.Get("who"), q.Get("id"))}, nil
}

// getClass tells whoever opens the class's address whose it is.
func (s *Server) getClass(*http.Request) (any, error) {
	return client.Class{Title: s.o.Title, Roster: len(s.o.Roster.Entries) > 0}, nil
}

// getRoster lists names of the class that begin like what was typed.
func (s *Server) getRoster(r *http.Request) (any, error) {
	_, err := s.sheetOf(r.URL.Query().Get("code"))
	return s.o.Roster.Search(r.URL.Query().Get("typed"), 8), err
}

// getRecording gives learners a recording of a sheet.
func (s *Server) getRecording(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	c, err := s.sheetOf(q.Get("code"))
	if err != nil {
		s.refuse(w, r, err)
		return
	}
	name, ok := s.course.library.of(c.Sheet, q.Get("sha256"))
	if !ok {
		s.refuse(w, r, errNothing)
		return
	}
	// A whole class gets them at once: as long as the trainer waits.
	if err := http.NewResponseController(w).SetWriteDeadline(time.Now().Add(client.RecordingTime)); err != nil {
		s.log.Error("a recording has no more time than other answers", "error", err)
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	http.ServeFile(w, r, name)
}

// admit returns why a learner who has joined may send nothing of a hand-in.
func (s *Server) admit(r *http.Request, id string) error {
	switch {
	case s.board.isRemoved(id):
		return errRemoved
	case !s.quotas.use(r.Header.Get(client.TokenHeader), id):
		return errTooManyIDs
	}
	return nil
}

func (s *Server) postProgress(r *http.Request) (any, error) {
	var p client.Progress
	if err := read(r, &p); err != nil {
		return nil, err
	}
	c, err := s.sheetOf(p.Code)
	if err != nil {
		return nil, err
	}
	if err := checkProgress(p, c.Sheet.Rounds); err != nil {
		return nil, bad(err)
	}
	if err := s.admit(r, p.ID); err != nil {
		return nil, err
	}
	if !s.board.progress(c.Code, p) {
		return nil, errBoardFull
	}
	st := client.Standing{Together: c.Together, Released: c.Released, Round: p.Round}
	if c.Sheet.Exam {
		st.Drawn, st.Locked, err = s.exams.advance(r.Context(), c, p.ID, s.learner(p.Who), p.Locked, !c.Together || p.Round <= c.Released)
		if st.Over = errors.Is(err, errExamOver); err != nil && !st.Over {
			return nil, err
		}
	}
	return st, nil
}

func checkProgress(p client.Progress, rounds int) error {
	if !handin.IsID(p.ID) {
		return errors.New("id: it must be 32 hexadecimal digits")
	}
	if err := handin.CheckWho(p.Who); err != nil {
		return fmt.Errorf("who: %w", err)
	}
	if p.Round < 1 || p.Round > rounds+1 || len(p.Takes) > rounds || len(p.Takes) > p.Round || len(p.Locked) > p.Round-1 {
		return fmt.Errorf("round: it may be 1 to %d, with a take for each round before it", rounds+1)
	}
	for i, t := range p.Takes {
		if !(math.Abs(t.ErrorDB) <= 1000) || t.Points < 0 || t.Points > 100 {
			return fmt.Errorf("takes[%d]: its numbers are out of range", i)
		}
	}
	for i, d := range p.Locked {
		if len(d) != 2*sha256.Size || strings.Trim(d, "0123456789abcdef") != "" {
			return fmt.Errorf("locked[%d]: it must be %d hexadecimal digits", i, 2*sha256.Size)
		}
	}
	return nil
}

func (s *Server) postHandIn(r *http.Request) (any, error) {
	most := int64(0)
	for _, c := range s.course.all() {
		most = max(most, min(bytesHandIn+bytesTake*int64(c.Sheet.Rounds), handin.MaxFile))
	}
	data, err := body(r, most)
	if err != nil {
		return nil, err
	}
	// The very file may have come before: it is not judged again.
	if p, ok := s.stored(sha256.Sum256(data)); ok {
		return s.receipt(p, true), nil
	}
	p, err := s.check(r, data)
	if err != nil {
		return nil, err
	}
	if err := s.store.add(r.Context(), row{id: p.ID, code: p.Code, body: data, at: p.Arrived, late: p.Late}); err != nil {
		return nil, err
	}
	s.keep(p.ID, p)
	s.board.handed(p)
	s.log.Info("handed in", "who", p.Who, "id", p.ID, "from", r.RemoteAddr)
	return created{s.receipt(p, false)}, nil
}

// stored returns the submission of a file that is stored already.
func (s *Server) stored(sum [32]byte) (report.Submission, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.submissions {
		if p.Sum() == sum {
			return p, true
		}
	}
	return report.Submission{}, false
}

// receipt tells a learner how a hand-in went; of what is played without a verdict
// only that it came.
func (s *Server) receipt(p report.Submission, known bool) client.Receipt {
	r := client.Receipt{ID: p.ID, Known: known}
	c, _ := s.course.get(p.Code)
	if !c.untold(s.now()) {
		r.Points = int(math.RoundToEven(p.Points()))
	}
	if p.Sheet.Form == "" {
		r.Result = "/r/" + p.ID[:resultDigits]
	}
	return r
}

// resultDigits is how much of a hand-in's id opens its result: enough that nobody
// finds one by trying, and short enough to be typed.
const resultDigits = 12

// check reads and checks a hand-in of one of the course's sheets, a few at a time.
func (s *Server) check(r *http.Request, data []byte) (p report.Submission, err error) {
	select {
	case s.judge <- struct{}{}:
		defer func() { <-s.judge }()
	case <-r.Context().Done():
		return p, errBrokeOff
	}
	h, err := handin.Read(data)
	if err != nil {
		return p, bad(err)
	}
	c, ok := s.course.get(h.Code)
	if !ok || !sameSheet(h.Sheet, c.Sheet) { // of the same code, on other recordings
		return p, errOtherSheet
	}
	if err := s.admit(r, h.ID); err != nil {
		return p, err
	}
	if h.Sheet.Exam {
		var digests []string
		for _, t := range h.Takes {
			digests = append(digests, t.Digest())
		}
		if _, _, err := s.exams.advance(r.Context(), c, h.ID, s.learner(h.Who), digests, false); err != nil {
			return p, err
		}
	}
	now := s.now().UTC()
	p = report.New(h.ID+".json", data, s.cache.Replay(h), s.arrival(row{id: h.ID, code: h.Code, at: now, late: !c.isOpen(now)}), &s.cache)
	for _, f := range p.Findings {
		if f.Kind != handin.Doubt {
			return p, &refusal{status: http.StatusUnprocessableEntity, error: errors.New(f.String())}
		}
	}
	return p, nil
}

// getVerdicts gives a learner the verdicts of an exam that is over, in the order in
// which its rounds were played.
func (s *Server) getVerdicts(r *http.Request) (any, error) {
	s.mu.Lock()
	p, ok := s.submissions[r.URL.Query().Get("id")]
	s.mu.Unlock()
	c, known := s.course.get(p.Code)
	switch {
	case !ok || !known || c.Sheet.Form != "": // a test form is played again
		return nil, errNothing
	case c.withheld(s.now()):
		return nil, errExamOpen
	}
	return client.Verdicts{Verdicts: append([]drills.Verdict{}, p.Verdicts...)}, nil
}
