//go:build !js

package server

import (
	"context"
	"crypto/rand"
	"encoding/base32"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
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
	Names  []string     // this machine goes by, besides its own, localhost, addresses and names of the local network
	Reach  string       // host and port at which others reach it; the board shows it where it was opened by this machine's own
	App    fs.FS        // the browser edition; nil: a page says how to build it
	Log    *slog.Logger // nil: nothing is logged
	Limits Limits
	Words  report.Words     // of the teacher's pages
	Now    func() time.Time // nil: time.Now
}

// Server serves one class. Make it with Open.
type Server struct {
	sheet  sheet.Sheet
	code   string
	title  string
	words  report.Words
	key    string
	names  []string
	reach  string
	app    fs.FS
	log    *slog.Logger
	limits Limits
	now    func() time.Time
	store  *store
	bench  handin.RoundCache
	board  *board
	gate   *gate
	judge  chan struct{} // one for each check that may run at once
	mux    http.Handler
	boards atomic.Int32 // streams that are open

	inFlight atomic.Int64 // bytes of bodies that are being read

	mu          sync.Mutex
	submissions map[string]report.Submission // checked hand-ins by id
}

// Open opens the store and makes the sheet's rounds. Close it after use. The
// error says which of the options cannot be used, and why.
func Open(o Options) (*Server, error) {
	s := &Server{title: o.Title, words: o.Words, app: o.App, names: ownNames(o.Names), reach: o.Reach, log: o.Log, limits: o.Limits.filled(), now: o.Now, submissions: make(map[string]report.Submission)}
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
		s.submissions[rows[i].id] = p
		if p.Sound() && p.Code == s.code {
			s.board.handed(p)
		} else if !p.Sound() {
			s.log.Error("a stored hand-in is not sound", "id", rows[i].id, "finding", p.Findings[0].String())
		}
	}
	s.mux = s.routes()
	return nil
}

func items(rows []row) []report.Item {
	var list []report.Item
	for _, r := range rows {
		list = append(list, report.Item{Name: r.id + ".json", Read: func() ([]byte, error) { return r.body, nil }, Arrival: report.Arrival{Arrived: r.at}})
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
	return s.guard(s.called(origin.Handler(mux)))
}
