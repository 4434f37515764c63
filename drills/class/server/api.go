//go:build !js

package server

import (
	"errors"
	"fmt"
	"math"
	"net/http"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/strict"
)

// maxProgress bounds the body of a progress message, in bytes.
const maxProgress = 16 << 10

// isClass reports whether a code is this class's; if not, it has answered.
func (s *Server) isClass(w http.ResponseWriter, r *http.Request, code string) bool {
	tidy, err := sheet.Tidy(code)
	switch {
	case err != nil:
		s.refuseFor(w, r, http.StatusBadRequest, err)
	case tidy != s.code:
		s.refuseFor(w, r, http.StatusNotFound, errOtherClass)
	default:
		return true
	}
	return false
}

func (s *Server) getSheet(w http.ResponseWriter, r *http.Request) {
	if !s.isClass(w, r, r.URL.Query().Get("code")) {
		return
	}
	writeJSON(w, http.StatusOK, client.Joined{Code: s.code, Title: s.title, Words: s.sheet.Words(), Sheet: s.sheet})
}

func (s *Server) postProgress(w http.ResponseWriter, r *http.Request) {
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
	if err := s.checkProgress(p); err != nil {
		s.refuse(w, r, http.StatusBadRequest, err.Error())
		return
	}
	if !s.isClass(w, r, p.Code) {
		return
	}
	if !s.board.progress(p) {
		s.refuse(w, r, http.StatusInsufficientStorage, "the board is full")
		return
	}
	w.WriteHeader(http.StatusNoContent)
}

func (s *Server) checkProgress(p client.Progress) error {
	if !validID(p.ID) {
		return errors.New("id: it must be 32 hexadecimal digits")
	}
	if err := handin.CheckWho(p.Who); err != nil {
		return fmt.Errorf("who: %w", err)
	}
	if n := s.sheet.Rounds; p.Round < 1 || p.Round > n+1 || len(p.Takes) > n || len(p.Takes) > p.Round {
		return fmt.Errorf("round: it may be 1 to %d, with a take for each round before it", n+1)
	}
	for i, t := range p.Takes {
		if !(math.Abs(t.ErrorDB) <= 1000) || t.Points < 0 || t.Points > 100 {
			return fmt.Errorf("takes[%d]: its numbers are out of range", i)
		}
	}
	return nil
}

func validID(id string) bool {
	if len(id) != 32 {
		return false
	}
	for _, c := range id {
		if (c < '0' || c > '9') && (c < 'a' || c > 'f') {
			return false
		}
	}
	return true
}

func (s *Server) postHandIn(w http.ResponseWriter, r *http.Request) {
	data, done, ok := s.body(w, r, handin.MaxFile)
	if !ok {
		return
	}
	defer done()
	checked, ok := s.check(w, r, data)
	if !ok {
		return
	}
	h := checked
	known, err := s.store.add(r.Context(), row{id: h.ID, who: h.Who, code: h.Code, body: data, at: h.Arrived})
	switch {
	case errors.Is(err, errClash):
		s.refuseFor(w, r, http.StatusConflict, errSameID)
		return
	case errors.Is(err, errFull):
		s.refuseFor(w, r, http.StatusInsufficientStorage, errStoreFull)
		return
	case err != nil:
		w.Header().Set("Retry-After", "1")
		s.refuse(w, r, http.StatusServiceUnavailable, "it could not be stored; send it again")
		s.log.Error("storing a hand-in", "id", h.ID, "error", err)
		return
	}
	s.mu.Lock()
	s.submissions[h.ID] = checked
	s.mu.Unlock()
	s.board.handed(h)
	status := http.StatusCreated
	if known {
		status = http.StatusOK
	} else {
		s.log.Info("handed in", "who", h.Who, "id", h.ID, "from", r.RemoteAddr)
	}
	writeJSON(w, status, client.Receipt{ID: h.ID, Known: known, Points: int(h.MeanPoints())})
}

// check reads and checks a hand-in of this class's sheet, a few at a time; ok is
// false if it has answered.
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
	if h.Code != s.code {
		s.refuseFor(w, r, http.StatusNotFound, errOtherSheet)
		return p, false
	}
	p = report.New(h.ID+".json", data, s.bench.Replay(h), report.Arrival{Arrived: s.now().UTC()})
	for _, f := range p.Findings {
		if f.Kind != handin.Doubt {
			s.refuse(w, r, http.StatusUnprocessableEntity, f.String())
			return p, false
		}
	}
	return p, true
}
