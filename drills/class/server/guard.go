//go:build !js

package server

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"io"
	"net/http"
	"strings"
	"sync/atomic"

	"slowneedle/audio/said"
	"slowneedle/drills/class/client"
	"slowneedle/drills/strict"
)

// guard does what every request goes through: headers, rate, strange paths, names of
// this machine, and counting what its body has.
func (s *Server) guard(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		if r.Header.Get("Sec-Fetch-Site") != "" {
			// Browsers heed it from an address that they trust, and complain in their console
			// elsewhere. To such an address alone they send this (W3C, Fetch Metadata Request
			// Headers).
			h.Set("Cross-Origin-Opener-Policy", "same-origin")
		}
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		ok, first := s.quotas.pass(r.RemoteAddr)
		switch {
		case !ok && first:
			s.refuse(w, r, errTooMany)
		case !ok: // one line in the log is enough
			h.Set("Retry-After", "2")
			writeJSON(w, errTooMany.status, client.RefusalFor(errTooMany))
		case strange(r):
			s.refuse(w, r, errNoPath)
		case !s.hasName(r.Host):
			s.refuse(w, r, errOtherName)
		default:
			body := &metered{ReadCloser: r.Body, total: &s.inFlight}
			defer func() { s.inFlight.Add(-body.n) }()
			r = r.WithContext(r.Context()) // net/http looks at the body of its own
			r.Body = body
			next.ServeHTTP(w, r)
		}
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
			why := &refusal{status: http.StatusForbidden, error: errors.New(s.words(r).Say(says))}
			if !strings.Contains(r.Header.Get("Accept"), "text/html") {
				s.refuse(w, r, why)
				return
			}
			s.plainPage(w, r, why, true)
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

// joined lets through learners who have joined; of others the body is not read.
func (s *Server) joined(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if !s.quotas.genuine(r.Header.Get(client.TokenHeader)) {
			s.refuse(w, r, errNoToken)
			return
		}
		next(w, r)
	}
}

// body reads a request's body of at most so many bytes.
func body(r *http.Request, most int64) ([]byte, error) {
	data, err := io.ReadAll(http.MaxBytesReader(nil, r.Body, most))
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return nil, &refusal{status: http.StatusRequestEntityTooLarge, error: said.Errorf("server.too_large", "it has more than %d bytes", most)}
	case err != nil && !errors.Is(err, errBusy):
		return nil, errBrokeOff
	}
	return data, err
}

// read reads a request's body, which is short, into a struct.
func read(r *http.Request, into any) error {
	data, err := body(r, maxShort)
	if err != nil {
		return err
	}
	if err := strict.Decode(data, into); err != nil {
		return bad(err)
	}
	return nil
}

// maxInFlight bounds the bytes of all bodies that are being read or worked on at once.
const maxInFlight = 256 << 20

// metered is a body whose bytes are counted, here and over all.
type metered struct {
	io.ReadCloser
	n     int64
	total *atomic.Int64
}

func (m *metered) Read(p []byte) (int, error) {
	n, err := m.ReadCloser.Read(p)
	m.n += int64(n)
	if m.total.Add(int64(n)) > maxInFlight && err == nil {
		err = errBusy
	}
	return n, err
}
