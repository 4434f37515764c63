//go:build !js

package class

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"slowneedle/drills/handin"
	"slowneedle/drills/report"
	"slowneedle/drills/sheet"
)

// Limits bound what a server takes. Zero fields become those of DefaultLimits.
type Limits struct {
	HandIns   int     // that are kept
	Learners  int     // on the board
	PerSecond float64 // requests of one address, after Burst of them
	Burst     int
	Boards    int // open at once
}

// DefaultLimits are for a school: a class behind one address that opens the
// trainer at the same moment stays below them.
func DefaultLimits() Limits {
	return Limits{HandIns: 5000, Learners: 500, PerSecond: 60, Burst: 1200, Boards: 12}
}

// Options say what a server serves.
type Options struct {
	Sheet  *sheet.Sheet // nil: the one served last from this folder, or a fresh one
	Title  string       // of the class
	Data   string       // folder of the store
	App    fs.FS        // the browser edition; nil: a page says how to build it
	Log    *slog.Logger // nil: nothing is logged
	Limits Limits
	Now    func() time.Time // nil: time.Now
}

// Server serves one class. Make it with Open.
type Server struct {
	sheet  sheet.Sheet
	code   string
	title  string
	key    string
	app    fs.FS
	log    *slog.Logger
	limits Limits
	now    func() time.Time
	store  *store
	bench  handin.Bench
	board  *board
	gate   *gate
	judge  chan struct{} // one for each check that may run at once
	mux    http.Handler
	boards atomic.Int32 // streams that are open

	inFlight atomic.Int64 // bytes of bodies that are being read

	mu     sync.Mutex
	papers map[string]report.Paper // checked hand-ins by id
}

// Open opens the store and makes the sheet's rounds. Close it after use. The
// error says which of the options cannot be used, and why.
func Open(o Options) (*Server, error) {
	s := &Server{title: o.Title, app: o.App, log: o.Log, limits: o.Limits.filled(), now: o.Now, papers: make(map[string]report.Paper)}
	if s.title == "" {
		s.title = "Class"
	}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.now == nil {
		s.now = time.Now
	}
	var err error
	if s.store, err = openStore(o.Data, s.limits.HandIns); err != nil {
		return nil, fmt.Errorf("class server: %w", err)
	}
	if err := s.start(o); err != nil {
		s.store.close()
		return nil, fmt.Errorf("class server: %w", err)
	}
	return s, nil
}

func (l Limits) filled() Limits {
	d := DefaultLimits()
	if l.HandIns == 0 {
		l.HandIns = d.HandIns
	}
	if l.Learners == 0 {
		l.Learners = d.Learners
	}
	if l.PerSecond == 0 {
		l.PerSecond = d.PerSecond
	}
	if l.Burst == 0 {
		l.Burst = d.Burst
	}
	if l.Boards == 0 {
		l.Boards = d.Boards
	}
	return l
}

// start settles sheet and key, and puts what is stored on the board.
func (s *Server) start(o Options) error {
	if err := s.settleSheet(o.Sheet); err != nil {
		return err
	}
	var err error
	if s.key, err = s.settleKey(); err != nil {
		return err
	}
	s.board = newBoard(s.sheet.Rounds, s.limits.Learners, s.now)
	s.gate = newGate(s.limits.PerSecond, s.limits.Burst, s.now)
	s.judge = make(chan struct{}, 4)
	rows, err := s.store.all()
	if err != nil {
		return err
	}
	for i, p := range report.Check(items(rows), &s.bench, nil) {
		s.papers[rows[i].id] = p
		if h := p.Result.HandIn; p.Result.Sound() && h.Code == s.code {
			s.board.handed(h, p.Result.Verdicts)
		} else if !p.Result.Sound() {
			s.log.Error("a stored hand-in is not sound", "id", rows[i].id, "finding", p.Result.Findings[0].String())
		}
	}
	s.mux = s.routes()
	return nil
}

func items(rows []row) []report.Item {
	var list []report.Item
	for _, r := range rows {
		list = append(list, report.Item{Name: r.id + ".json", Read: func() ([]byte, error) { return r.body, nil }})
	}
	return list
}

// settleSheet takes the sheet asked for, or the one of last time, or a fresh
// one, and makes its rounds.
func (s *Server) settleSheet(asked *sheet.Sheet) error {
	switch last, err := s.store.meta("sheet"); {
	case err != nil:
		return err
	case asked != nil:
		s.sheet = *asked
	case last != "":
		if s.sheet, err = sheet.ParseCode(last); err != nil {
			return fmt.Errorf("the sheet of last time: %w", err)
		}
	default:
		var b [4]byte
		rand.Read(b[:])
		s.sheet = sheet.New((uint32(b[0])<<16 | uint32(b[1])<<8 | uint32(b[2])) & sheet.MaxSeed)
		s.sheet.Level = 3
	}
	var err error
	if s.sheet, err = s.sheet.Canonical(); err != nil {
		return err
	}
	if s.code, err = s.sheet.Code(); err != nil {
		return err
	}
	for i := range s.sheet.Rounds {
		if _, err := s.bench.Exercise(s.sheet, i); err != nil {
			return err
		}
	}
	return s.store.setMeta("sheet", s.code)
}

// settleKey makes the teacher's key, 130 random bits, or takes the one this
// folder has, so that a board that is open stays open when the server is
// started again.
func (s *Server) settleKey() (string, error) {
	key, err := s.store.meta("key")
	if err != nil || key != "" {
		return key, err
	}
	var b [17]byte
	rand.Read(b[:])
	key = strings.ToLower(base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(b[:])[:26])
	return key, s.store.setMeta("key", key)
}

// Code is the class code that learners type.
func (s *Server) Code() string { return s.code }

// Key is the teacher's key.
func (s *Server) Key() string { return s.key }

// Sheet is the sheet that is served.
func (s *Server) Sheet() sheet.Sheet { return s.sheet }

// Close waits for hand-ins that are being stored and closes the store.
func (s *Server) Close() error { return s.store.close() }

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.mux.ServeHTTP(w, r) }

// Serve answers requests on a listener until the context ends; then it lets
// those that are being answered end, for ten seconds at most. The error says why
// it could not go on.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	base, cancel := context.WithCancel(context.Background())
	defer cancel()
	h := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		BaseContext:       func(net.Listener) context.Context { return base },
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelDebug),
	}
	ended := make(chan error, 1)
	go func() { ended <- h.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("class server: %w", err)
	case <-ctx.Done():
	}
	s.board.stop() // boards are streams that never end by themselves
	grace, stop := context.WithTimeout(context.Background(), 10*time.Second)
	defer stop()
	if err := h.Shutdown(grace); err != nil {
		h.Close()
		return fmt.Errorf("class server: closing: %w", err)
	}
	return nil
}

// routes says what is answered by what.
func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /api/sheet", s.getSheet)
	mux.HandleFunc("POST /api/progress", s.postProgress)
	mux.HandleFunc("POST /api/handin", s.postHandIn)
	mux.HandleFunc("/api/", func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusNotFound, "there is nothing here")
	})
	for path, page := range map[string]http.HandlerFunc{
		"GET /teacher":              s.boardPage,
		"GET /teacher/events":       s.events,
		"GET /teacher/board.js":     s.asset("board.js", "text/javascript; charset=utf-8"),
		"GET /teacher/board.css":    s.asset("board.css", "text/css; charset=utf-8"),
		"GET /teacher/report":       s.reportPage,
		"GET /teacher/takes.csv":    s.takesCSV,
		"GET /teacher/learners.csv": s.learnersCSV,
		"GET /teacher/hand-ins.zip": s.archive,
	} {
		mux.HandleFunc(path, s.teacher(page))
	}
	mux.HandleFunc("/teacher/", s.teacher(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusNotFound, "there is nothing here")
	}))
	mux.HandleFunc("/", s.static)
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.refuse(w, r, http.StatusForbidden, "another site's page may not send this")
	}))
	return s.guard(origin.Handler(mux))
}

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
			writeError(w, http.StatusTooManyRequests, "too many requests from here; wait a little")
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

// refuse answers with a sentence and logs it.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request, status int, says string) {
	s.note(r, status, says)
	writeError(w, status, says)
}

// note logs a refusal. The logger quotes what came from outside.
func (s *Server) note(r *http.Request, status int, says string) {
	path := r.URL.Path
	if len(path) > 80 {
		path = path[:80] + "..."
	}
	s.log.Warn("refused", "status", status, "from", r.RemoteAddr, "method", r.Method, "path", path, "why", says)
}

func writeError(w http.ResponseWriter, status int, says string) {
	writeJSON(w, status, map[string]string{"error": says})
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
		s.refuse(w, r, http.StatusRequestEntityTooLarge, fmt.Sprintf("it has more than %d bytes", most))
	case errors.Is(err, errBusy):
		w.Header().Set("Retry-After", "2")
		s.refuse(w, r, http.StatusServiceUnavailable, "too much is being sent at once; send it again")
	default:
		s.refuse(w, r, http.StatusBadRequest, "it broke off while it was being sent")
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
