//go:build !js

package server

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strings"

	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/strict"
)

// Bodies of requests, in bytes.
const (
	maxProgress = 16 << 10
	bytesHandIn = 64 << 10  // of a hand-in without its takes
	bytesTake   = 160 << 10 // of a take with all the moves it may have
)

// What a learner may be told.
var (
	errOtherClass    = said.Errorf("server.other_class", "this code belongs to another class; ask your teacher for the right one")
	errOtherSheet    = said.Errorf("server.other_sheet", "this class does not play that sheet")
	errSameID        = said.Errorf("server.same_id", "another file was handed in under the same id")
	errStoreFull     = said.Errorf("server.full", "the class storage is full; tell the teacher")
	errTooMany       = said.Errorf("server.too_many", "too many requests from here; wait a little")
	errTooManyJoined = said.Errorf("server.too_many_joined", "too many have joined from this address; tell the teacher")
	errTooManyIDs    = said.Errorf("server.too_many_ids", "these rounds were started again too often; tell the teacher")
	errClosedToNew   = said.Errorf("server.closed_to_new", "the teacher lets nobody else join")
	errNotYet        = said.Errorf("server.not_yet", "this sheet is not open yet; come back at the time that your teacher names")
	errNoToken       = said.Errorf("server.no_token", "this program has not joined the class; join again")
	errRemoved       = said.Errorf("server.removed", "the teacher has removed these rounds; join again")
	errBoardFull     = said.Errorf("server.board_full", "the board is full; tell the teacher")
	errBrokeOff      = said.Errorf("server.broke_off", "it broke off while it was being sent")
)

// sheetOf returns the sheet of a code that is one of the course; if it is none,
// it has answered.
func (s *Server) sheetOf(w http.ResponseWriter, r *http.Request, code string) (courseSheet, bool) {
	tidy, err := sheet.Tidy(code)
	if err != nil {
		s.refuseFor(w, r, http.StatusBadRequest, err)
		return courseSheet{}, false
	}
	c, ok := s.course.get(tidy)
	if !ok {
		s.refuseFor(w, r, http.StatusNotFound, errOtherClass)
	}
	return c, ok
}

// getSheet lets a learner join, and tells one who goes on with a hand-in that it
// is known.
func (s *Server) getSheet(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	c, ok := s.sheetOf(w, r, q.Get("code"))
	if !ok {
		return
	}
	if s.now().Before(c.opens) {
		s.refuseFor(w, r, http.StatusForbidden, errNotYet)
		return
	}
	s.mu.Lock()
	closed := s.closed
	s.mu.Unlock()
	if closed && !s.board.knows(q.Get("id")) {
		s.refuseFor(w, r, http.StatusForbidden, errClosedToNew)
		return
	}
	token := s.quotas.join(r.RemoteAddr)
	if token == "" {
		w.Header().Set("Retry-After", "30")
		s.refuseFor(w, r, http.StatusTooManyRequests, errTooManyJoined)
		return
	}
	writeJSON(w, http.StatusOK, client.Joined{Code: c.code, Title: s.o.Title, Sheet: c.sheet, Token: token,
		Late: !c.isOpen(s.now()), Taken: s.board.taken(c.code, q.Get("who"), q.Get("id"))})
}

// getClass tells whoever opens the class's address whose it is.
func (s *Server) getClass(w http.ResponseWriter, _ *http.Request) {
	writeJSON(w, http.StatusOK, client.Class{Title: s.o.Title, Roster: len(s.o.Roster.Entries) > 0})
}

// getRoster lists names of the class that begin like what was typed.
func (s *Server) getRoster(w http.ResponseWriter, r *http.Request) {
	if _, ok := s.sheetOf(w, r, r.URL.Query().Get("code")); ok {
		writeJSON(w, http.StatusOK, s.o.Roster.Search(r.URL.Query().Get("typed"), 8))
	}
}

// joined reports whether a request comes from a learner who has joined; if not,
// it has answered, without reading the body.
func (s *Server) joined(w http.ResponseWriter, r *http.Request) bool {
	ok := s.quotas.genuine(r.Header.Get(client.TokenHeader))
	if !ok {
		s.refuseFor(w, r, http.StatusUnauthorized, errNoToken)
	}
	return ok
}

// admit reports whether a learner who has joined may send something of a
// hand-in; if not, it has answered.
func (s *Server) admit(w http.ResponseWriter, r *http.Request, id string) bool {
	switch {
	case s.board.isRemoved(id):
		s.refuseFor(w, r, http.StatusGone, errRemoved)
	case !s.quotas.use(r.Header.Get(client.TokenHeader), id):
		s.refuseFor(w, r, http.StatusForbidden, errTooManyIDs)
	default:
		return true
	}
	return false
}

func (s *Server) postProgress(w http.ResponseWriter, r *http.Request) {
	if !s.joined(w, r) {
		return
	}
	data, done, ok := s.body(w, r, maxProgress)
	if !ok {
		return
	}
	defer done()
	var p client.Progress
	if err := strict.Decode(data, &p); err != nil {
		s.refuse(w, r, http.StatusBadRequest, err.Error())
		return
	}
	c, ok := s.sheetOf(w, r, p.Code)
	if !ok {
		return
	}
	if err := checkProgress(p, c.sheet.Rounds); err != nil {
		s.refuse(w, r, http.StatusBadRequest, err.Error())
		return
	}
	if !s.admit(w, r, p.ID) {
		return
	}
	if !s.board.progress(c.code, p) {
		s.refuseFor(w, r, http.StatusInsufficientStorage, errBoardFull)
		return
	}
	st := client.Standing{Together: c.together, Released: c.released, Round: p.Round}
	if c.sheet.Exam {
		var err error
		st.Drawn, st.Locked, err = s.exams.advance(r.Context(), c, p.ID, s.o.Roster.Key(s.goesBy(p.Who)), p.Locked, !c.together || p.Round <= c.released)
		if st.Over = errors.Is(err, errExamOver); err != nil && !st.Over {
			s.refuseExam(w, r, err)
			return
		}
	}
	writeJSON(w, http.StatusOK, st)
}

// refuseExam answers what cannot be done in an exam.
func (s *Server) refuseExam(w http.ResponseWriter, r *http.Request, err error) {
	switch {
	case errors.Is(err, errExamOver):
		s.refuseFor(w, r, http.StatusForbidden, err)
	case errors.Is(err, errLocked):
		s.refuseFor(w, r, http.StatusConflict, err)
	default:
		s.notStored(w, r, err)
	}
}

func (s *Server) notStored(w http.ResponseWriter, r *http.Request, err error) {
	w.Header().Set("Retry-After", "1")
	s.refuse(w, r, http.StatusServiceUnavailable, "it could not be stored; send it again")
	s.log.Error("storing", "error", err)
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

func (s *Server) postHandIn(w http.ResponseWriter, r *http.Request) {
	if !s.joined(w, r) {
		return
	}
	most := int64(0)
	for _, c := range s.course.all() {
		most = max(most, min(bytesHandIn+bytesTake*int64(c.sheet.Rounds), handin.MaxFile))
	}
	data, done, ok := s.body(w, r, most)
	if !ok {
		return
	}
	defer done()
	// The very file may have come before: it is not judged again.
	if p, ok := s.stored(sha256.Sum256(data)); ok {
		writeJSON(w, http.StatusOK, s.receipt(p, true))
		return
	}
	p, ok := s.check(w, r, data)
	if !ok {
		return
	}
	err := s.store.add(r.Context(), row{id: p.ID, code: p.Code, body: data, at: p.Arrived, late: p.Late})
	switch {
	case errors.Is(err, errClash):
		s.refuseFor(w, r, http.StatusConflict, errSameID)
		return
	case errors.Is(err, errFull):
		w.Header().Set("Retry-After", "30")
		s.refuseFor(w, r, http.StatusInsufficientStorage, errStoreFull)
		return
	case err != nil:
		s.notStored(w, r, err)
		return
	}
	s.keep(p.ID, p)
	s.board.handed(p)
	s.log.Info("handed in", "who", p.Who, "id", p.ID, "from", r.RemoteAddr)
	writeJSON(w, http.StatusCreated, s.receipt(p, false))
}

// stored returns the submission of a file that is stored already.
func (s *Server) stored(sum [32]byte) (report.Submission, bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	p, ok := s.submissions[s.known[sum]]
	return p, ok
}

// receipt tells a learner how a hand-in went; of what is played without a verdict
// only that it came.
func (s *Server) receipt(p report.Submission, known bool) client.Receipt {
	r := client.Receipt{ID: p.ID, Known: known}
	c, _ := s.course.get(p.Code)
	if !c.untold(s.now()) {
		r.Points = int(p.MeanPoints())
	}
	if p.Sheet.Form == "" {
		r.Result = "/r/" + p.ID[:resultDigits]
	}
	return r
}

// resultDigits is how much of a hand-in's id opens its result: enough that nobody
// finds one by trying, and short enough to be typed.
const resultDigits = 12

// check reads and checks a hand-in of one of the course's sheets, a few at a
// time; ok is false if it has answered.
func (s *Server) check(w http.ResponseWriter, r *http.Request, data []byte) (p report.Submission, ok bool) {
	select {
	case s.judge <- struct{}{}:
		defer func() { <-s.judge }()
	case <-r.Context().Done():
		return p, false
	}
	h, err := handin.Read(data)
	if err != nil {
		s.refuseFor(w, r, http.StatusBadRequest, err)
		return p, false
	}
	c, ok := s.course.get(h.Code)
	if !ok {
		s.refuseFor(w, r, http.StatusNotFound, errOtherSheet)
		return p, false
	}
	if !sameSheet(h.Sheet, c.sheet) { // of the same code, on other recordings
		s.refuseFor(w, r, http.StatusNotFound, errOtherSheet)
		return p, false
	}
	if !s.admit(w, r, h.ID) {
		return p, false
	}
	if h.Sheet.Exam {
		var digests []string
		for _, t := range h.Takes {
			digests = append(digests, t.Digest())
		}
		if _, _, err := s.exams.advance(r.Context(), c, h.ID, s.o.Roster.Key(s.goesBy(h.Who)), digests, false); err != nil {
			s.refuseExam(w, r, err)
			return p, false
		}
	}
	now := s.now().UTC()
	p = report.New(h.ID+".json", data, s.cache.Replay(h), s.arrival(row{id: h.ID, code: h.Code, at: now, late: !c.isOpen(now)}), &s.cache)
	for _, f := range p.Findings {
		if f.Kind != handin.Doubt {
			s.refuse(w, r, http.StatusUnprocessableEntity, f.String())
			return p, false
		}
	}
	return p, true
}
