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
		ok, first := s.quotas.pass(r.RemoteAddr)
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

// strange reports whether a path tries to be something else than it looks.
func strange(r *http.Request) bool {
	raw := strings.ToLower(r.URL.EscapedPath())
	return len(r.RequestURI) > 2048 || strings.Contains(r.URL.Path, "..") || strings.ContainsAny(r.URL.Path, "\\\x00") ||
		strings.Contains(raw, "%2f") || strings.Contains(raw, "%5c") || strings.Contains(r.URL.Path, "//")
}

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
// sets a cookie, then by the cookie. Who comes without gets a page that asks for
// the key, or, where no page is asked for, a sentence.
func (s *Server) teacher(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		cookie, err := r.Cookie(s.cookie)
		given := strings.TrimSpace(r.URL.Query().Get("key"))
		switch {
		case given != "" && s.isKey(given):
			s.setCookie(w)
			http.Redirect(w, r, r.URL.Path, http.StatusSeeOther) // the key does not stay in the address bar of a projector
		case err == nil && given == "" && s.isKey(cookie.Value):
			w.Header().Set("Cache-Control", "no-store")
			next(w, r)
		default:
			says := "board.need_key"
			if given != "" {
				says = "board.wrong_key"
			}
			words := s.words(r)
			s.note(r, http.StatusForbidden, says)
			if !strings.Contains(r.Header.Get("Accept"), "text/html") {
				writeJSON(w, http.StatusForbidden, client.Refusal{Error: words.Say(says)})
				return
			}
			s.page(w, r, "plain.gohtml", http.StatusForbidden, map[string]any{"Title": s.o.Title, "Says": words.Say(says), "AskKey": true})
		}
	}
}

func (s *Server) setCookie(w http.ResponseWriter) {
	http.SetCookie(w, &http.Cookie{Name: s.cookie, Value: s.Key(), Path: "/teacher", HttpOnly: true,
		SameSite: http.SameSiteStrictMode, MaxAge: 14 * 3600})
}

// isKey compares in constant time, whatever the length.
func (s *Server) isKey(given string) bool {
	a, b := sha256.Sum256([]byte(given)), sha256.Sum256([]byte(s.Key()))
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
