//go:build !js

package server

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"io"
	"net/http"
	"strings"
	"sync/atomic"

	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
)

// guard does what every request goes through: rate, strange paths, headers.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		ok, first := s.gate.pass(r.RemoteAddr)
		if !ok {
			h.Set("Retry-After", "2")
			if first {
				s.note(r, http.StatusTooManyRequests, "too many requests")
			}
			writeJSON(w, http.StatusTooManyRequests, client.RefusalFor(errTooMany))
			return
		}
		if strange(r) {
			s.refuse(w, r, http.StatusBadRequest, "there is no such path")
			return
		}
		next.ServeHTTP(w, r)
	})
}

// policy lets the pages load nothing but what this server has, and lets the
// trainer run WebAssembly. The trainer's library sets styles from script.
const policy = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self' 'unsafe-inline'; " +
	"img-src 'self' data:; media-src 'self'; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// strange says that a path tries to be something else than it looks.
func strange(r *http.Request) bool {
	raw := strings.ToLower(r.URL.EscapedPath())
	return len(r.RequestURI) > 2048 || strings.Contains(r.URL.Path, "..") || strings.ContainsAny(r.URL.Path, "\\\x00") ||
		strings.Contains(raw, "%2f") || strings.Contains(raw, "%5c") || strings.Contains(r.URL.Path, "//")
}

// What a learner may be told.
var (
	errOtherClass = said.Errorf("server.other_class", "this code belongs to another class; ask your teacher for the right one")
	errOtherSheet = said.Errorf("server.other_sheet", "its sheet is not the one this class plays")
	errSameID     = said.Errorf("server.same_id", "another file was handed in under the same id")
	errStoreFull  = said.Errorf("server.full", "the class storage is full; tell the teacher")
	errTooMany    = said.Errorf("server.too_many", "too many requests from here; wait a little")
	errBrokeOff   = said.Errorf("server.broke_off", "it broke off while it was being sent")
)

// refuse answers with a sentence and logs it.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, says string) {
	s.refuseFor(w, r, status, errors.New(says))
}

// refuseFor answers with an error, in its code too where it has one, and logs
// it.
func (s *Server) refuseFor(w http.ResponseWriter, r *http.Request, status int, why error) {
	s.note(r, status, why.Error())
	writeJSON(w, status, client.RefusalFor(why))
}

// note logs a refusal. The logger quotes what came from outside.
func (s *Server) note(r *http.Request, status int, says string) {
	path := r.URL.Path
	if len(path) > 80 {
		path = path[:80] + "..."
	}
	s.log.Warn("refused", "status", status, "from", r.RemoteAddr, "method", r.Method, "path", path, "why", says)
}

func writeJSON(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(v) // a client that is gone needs no answer
}

// teacher lets a page be seen with the key alone: in the address once, which
// sets a cookie, then by the cookie.
func (s *Server) teacher(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if given := r.URL.Query().Get("key"); given != "" {
			if !s.isKey(given) {
				s.refuse(w, r, http.StatusForbidden, "this is not the teacher's key")
				return
			}
			http.SetCookie(w, &http.Cookie{Name: "teacher", Value: s.key, Path: "/teacher", HttpOnly: true,
				SameSite: http.SameSiteStrictMode, MaxAge: 14 * 3600})
			// The key does not stay in the address bar of a projector.
			http.Redirect(w, r, r.URL.Path, http.StatusSeeOther)
			return
		}
		cookie, err := r.Cookie("teacher")
		if err != nil || !s.isKey(cookie.Value) {
			s.refuse(w, r, http.StatusForbidden, "the teacher's pages need the key that was printed when the server was started: /teacher?key=...")
			return
		}
		w.Header().Set("Cache-Control", "no-store")
		next(w, r)
	}
}

// isKey compares in constant time, whatever the length.
func (s *Server) isKey(given string) bool {
	a, b := sha256.Sum256([]byte(given)), sha256.Sum256([]byte(s.key))
	return subtle.ConstantTimeCompare(a[:], b[:]) == 1
}

// maxInFlight bounds the bytes of all bodies that are being read at once.
const maxInFlight = 256 << 20

// body reads a request's body up to a limit; ok is false if it has answered.
// done gives its bytes back and is to be called when they are no longer needed.
func (s *Server) body(w http.ResponseWriter, r *http.Request, most int64) (data []byte, done func(), ok bool) {
	in := &metered{r: http.MaxBytesReader(w, r.Body, most), total: &s.inFlight}
	done = func() { s.inFlight.Add(-in.n) }
	data, err := io.ReadAll(in)
	var large *http.MaxBytesError
	switch {
	case err == nil:
		return data, done, true
	case errors.As(err, &large):
		s.refuseFor(w, r, http.StatusRequestEntityTooLarge, said.Errorf("server.too_large", "it has more than %d bytes", most))
	case errors.Is(err, errBusy):
		w.Header().Set("Retry-After", "2")
		s.refuse(w, r, http.StatusServiceUnavailable, "too much is being sent at once; send it again")
	default:
		s.refuseFor(w, r, http.StatusBadRequest, errBrokeOff)
	}
	done()
	return nil, nil, false
}

var errBusy = errors.New("too many bytes in flight")

// metered counts what is read, here and over all.
type metered struct {
	r     io.Reader
	n     int64
	total *atomic.Int64
}

func (m *metered) Read(p []byte) (int, error) {
	n, err := m.r.Read(p)
	m.n += int64(n)
	if m.total.Add(int64(n)) > maxInFlight && err == nil {
		err = errBusy
	}
	return n, err
}
