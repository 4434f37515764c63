//go:build !js

package server

import (
	"encoding/json"
	"errors"
	"net/http"
	"strconv"

	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
)

// refusal is an error that a request is answered with.
type refusal struct {
	status int
	error
	after int // seconds until it is worth another try; 0: it is not said
}

func (e *refusal) Unwrap() error { return e.error }

// bad is the refusal of a request that is malformed.
func bad(err error) error { return &refusal{status: http.StatusBadRequest, error: err} }

// What a learner may be told.
var (
	errNoToken       = &refusal{http.StatusUnauthorized, said.Errorf("server.no_token", "this program has not joined the class; join again"), 0}
	errClosedToNew   = &refusal{http.StatusForbidden, said.Errorf("server.closed_to_new", "the teacher lets nobody else join"), 0}
	errNotYet        = &refusal{http.StatusForbidden, said.Errorf("server.not_yet", "this sheet is not open yet; come back at the time that your teacher names"), 0}
	errTooManyIDs    = &refusal{http.StatusForbidden, said.Errorf("server.too_many_ids", "these rounds were started again too often; tell the teacher"), 0}
	errExamOver      = &refusal{http.StatusForbidden, said.Errorf("server.exam_over", "the exam is closed; what was locked until then can be handed in"), 0}
	errExamOpen      = &refusal{http.StatusForbidden, said.Errorf("server.exam_open", "the verdicts of this exam come when the teacher has closed it"), 0}
	errOtherClass    = &refusal{http.StatusNotFound, said.Errorf("server.other_class", "this code belongs to another class; ask your teacher for the right one"), 0}
	errOtherSheet    = &refusal{http.StatusNotFound, said.Errorf("server.other_sheet", "this class does not play that sheet"), 0}
	errSameID        = &refusal{http.StatusConflict, said.Errorf("server.same_id", "another file was handed in under the same id"), 0}
	errLocked        = &refusal{http.StatusConflict, said.Errorf("server.locked", "a round that was locked cannot be played again"), 0}
	errRemoved       = &refusal{http.StatusGone, said.Errorf("server.removed", "the teacher has removed these rounds; join again"), 0}
	errBrokeOff      = &refusal{http.StatusBadRequest, said.Errorf("server.broke_off", "it broke off while it was being sent"), 0}
	errOtherName     = &refusal{http.StatusMisdirectedRequest, said.Errorf("server.other_name", "this server does not go by that name; use the address from your teacher, or have it added with --name"), 0}
	errTooMany       = &refusal{http.StatusTooManyRequests, said.Errorf("server.too_many", "too many requests from here; wait a little"), 2}
	errTooManyJoined = &refusal{http.StatusTooManyRequests, said.Errorf("server.too_many_joined", "too many have joined from this address; tell the teacher"), 30}
	errStoreFull     = &refusal{http.StatusInsufficientStorage, said.Errorf("server.full", "the class storage is full; tell the teacher"), 30}
	errBoardFull     = &refusal{http.StatusInsufficientStorage, said.Errorf("server.board_full", "the board is full; tell the teacher"), 0}
)

// What a teacher may be told, or whoever tries what nobody is offered.
var (
	errReopen      = &refusal{http.StatusConflict, said.Errorf("server.reopen", "this exam was closed and its verdicts may have been seen; make another one"), 0}
	errSameAlready = &refusal{http.StatusConflict, said.Errorf("server.same_already", "these two are one learner already"), 0}
	errNoSuch      = &refusal{http.StatusBadRequest, errors.New("there is nothing of that name to do it with"), 0}
	errNoPath      = &refusal{http.StatusBadRequest, errors.New("there is no such path"), 0}
	errNothing     = &refusal{http.StatusNotFound, errors.New("there is nothing here"), 0}
	errReadOnly    = &refusal{http.StatusMethodNotAllowed, errors.New("this can only be read"), 0}
	errOtherSite   = &refusal{http.StatusForbidden, errors.New("another site's page may not send this"), 0}
	errBusy        = &refusal{http.StatusServiceUnavailable, errors.New("too much is being sent at once; send it again"), 2}
	errFailed      = &refusal{http.StatusServiceUnavailable, errors.New("the server could not do it, and its log says why; try again"), 1}
)

// refuse answers with an error, in its code too where it has one, and logs it. What
// is no refusal is a fault of the server's, of which the log alone tells.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, err error) {
	var why *refusal
	if !errors.As(err, &why) {
		s.log.Error("answering", "path", short(r), "error", err)
		why = errFailed
	}
	s.note(r, why)
	if why.after > 0 {
		w.Header().Set("Retry-After", strconv.Itoa(why.after))
	}
	writeJSON(w, why.status, client.RefusalFor(why))
}

// refused answers every request with one refusal.
func (s *Server) refused(err error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) { s.refuse(w, r, err) }
}

// note logs a refusal. The logger quotes what came from outside.
func (s *Server) note(r *http.Request, why *refusal) {
	s.log.Warn("refused", "status", why.status, "from", r.RemoteAddr, "method", r.Method, "path", short(r), "why", why)
}

// short is a request's path as a log line has room for it.
func short(r *http.Request) string {
	if path := r.URL.Path; len(path) > 80 {
		return path[:80] + "..."
	}
	return r.URL.Path
}

// created is an answer that tells of something new.
type created struct{ what any }

// answers puts what a function returns for a request into JSON, or refuses.
func (s *Server) answers(of func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		v, err := of(r)
		if err != nil {
			s.refuse(w, r, err)
			return
		}
		status := http.StatusOK
		if fresh, ok := v.(created); ok {
			status, v = http.StatusCreated, fresh.what
		}
		writeJSON(w, status, v)
	}
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(v) // a client that is gone needs no answer
}
