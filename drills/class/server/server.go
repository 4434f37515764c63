//go:build !js

package server

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	mathrand "math/rand/v2"
	"net"
	"net/http"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/roster"
	"slowneedle/drills/class/sheet"
)

// Limits bound what a server takes. Zero fields become limits for a school: a class
// behind one address that opens the trainer at the same moment stays below them.
type Limits struct {
	StoreBytes int64   // of hand-ins that are kept; 1 GiB
	Learners   int     // on the board who have not handed in; 500
	PerSecond  float64 // requests of one address, after Burst of them; 60
	Burst      int     // 1200
	PerAddress int     // learners who join from one address within twelve hours; 300
}

// Options say what a server serves.
type Options struct {
	Sheets []sheet.Sheet // to be opened; none: those that were open last, or a fresh one
	Opens  time.Time     // when the Sheets open; zero: at once
	Closes time.Time     // when they close; zero: by hand
	Exam   bool          // the Sheets are exams: their rounds are drawn here, and verdicts come when they are closed
	Title  string        // of the class
	Data   string        // folder of the store
	Names  []string      // this machine goes by, besides its own, localhost, addresses and names of the local network
	Reach  string        // host and port at which others reach it; the board shows it where it was opened by this machine's own
	App    fs.FS         // the browser edition; nil: a page says how to build it
	Roster roster.Roster // of the class, if there is one
	Words  func(language string) report.Words
	Log    *slog.Logger // nil: nothing is logged
	Limits Limits
	Now    func() time.Time // nil: time.Now
}

// Server serves one course. Make it with Open.
type Server struct {
	o      Options
	names  []string
	log    *slog.Logger
	now    func() time.Time
	cookie string // its name, another for each course
	store  *store
	class  *shelf[class]
	course *course
	cache  handin.RoundCache
	board  *board
	quotas *quotas
	exams  *exams
	judge  chan struct{} // one for each check that may run at once
	unread time.Duration // after which an answer that nobody reads is given up
	mux    http.Handler

	inFlight atomic.Int64 // bytes of bodies that are being read
	closed   atomic.Bool  // to learners who have not joined

	mu          sync.Mutex
	submissions map[string]report.Submission // by the ids of the hand-ins
}

// class is what is kept of a course beside its sheets and hand-ins, so that a board
// that is open stays open, and who has joined stays in, when the server is started
// again.
type class struct {
	ID     string
	Title  string            // as last given
	Key    string            // the teacher's
	Secret string            // by which learners who have joined are known
	Same   map[string]string // name under which a learner counts, by what another spelling looks like; not changed in place
}

// Open opens the store and the course's sheets. Close it after use. The error
// says which of the options cannot be used, and why.
func Open(o Options) (*Server, error) {
	o.Limits = o.Limits.filled()
	s := &Server{o: o, names: ownNames(o.Names), log: o.Log, now: o.Now, judge: make(chan struct{}, 2*runtime.GOMAXPROCS(0)), unread: 60 * time.Second,
		submissions: make(map[string]report.Submission)}
	if s.log == nil {
		s.log = slog.New(slog.DiscardHandler)
	}
	if s.now == nil {
		s.now = time.Now
	}
	var err error
	if s.store, err = openStore(o.Data, o.Limits.StoreBytes); err != nil {
		return nil, fmt.Errorf("class server: %w", err)
	}
	if err := s.start(); err != nil {
		return nil, fmt.Errorf("class server: %w", errors.Join(err, s.store.close()))
	}
	return s, nil
}

func (l Limits) filled() Limits {
	return Limits{cmp.Or(l.StoreBytes, 1<<30), cmp.Or(l.Learners, 500), cmp.Or(l.PerSecond, 60), cmp.Or(l.Burst, 1200), cmp.Or(l.PerAddress, 300)}
}

// start settles sheets and key, and puts what is stored on the board.
func (s *Server) start() error {
	ctx := context.Background()
	l := library(filepath.Join(s.o.Data, "recordings"))
	s.cache.Content = l.content()
	sheets, err1 := openShelf[courseSheet](s.store, keptSheets)
	sittings, err2 := openShelf[sitting](s.store, keptSittings)
	classes, err3 := openShelf[class](s.store, keptClass)
	if err := cmp.Or(err1, err2, err3); err != nil { // one sentence of a damaged store
		return err
	}
	s.class, s.exams = classes, &exams{sittings, s.now}
	s.course = &course{sheets, l, s.exams, s.now}
	goesOn := slices.ContainsFunc(s.course.all(), func(c courseSheet) bool {
		return !s.o.Exam || c.Sheet.Exam && c.isOpen(s.now())
	})
	fresh := s.o.Sheets
	if len(fresh) == 0 && goesOn && !(s.o.Opens.IsZero() && s.o.Closes.IsZero()) {
		return errors.New("--opens and --closes are for sheets that are given, and the course goes on with those it has; name the sheet with --sheet or --code")
	}
	if len(fresh) == 0 && !goesOn {
		n := sheet.New(mathrand.Uint32N(sheet.MaxSeed + 1))
		n.Level = 3
		fresh = append(fresh, n)
	}
	for _, n := range fresh {
		n.Exam = n.Form == "" && (n.Exam || s.o.Exam)
		if err := s.course.add(ctx, n, s.o.Opens, s.o.Closes); err != nil {
			return err
		}
	}
	err := s.class.change(ctx, "", func(c *class) error {
		if c.ID == "" {
			c.ID, c.Key, c.Secret = newKey(), newKey(), newKey()
		}
		c.Title = cmp.Or(s.o.Title, c.Title)
		return nil
	})
	if err != nil {
		return err
	}
	own, _ := s.class.get("")
	s.o.Title = own.Title
	s.cookie = "teacher-" + own.ID[:8]
	s.board = newBoard(s.o.Limits.Learners, s.now)
	s.quotas = newQuotas(s.o.Limits, []byte(own.Secret), s.now)
	if err := s.readStored(); err != nil {
		return err
	}
	s.mux = s.routes()
	return nil
}

// newKey draws 130 random bits as letters and figures.
func newKey() string { return strings.ToLower(rand.Text()) }

// readStored checks what is stored, a few at a time, and puts it on the board.
func (s *Server) readStored() error {
	var rows []row
	flush := func() {
		var items []report.Item
		for _, r := range rows {
			items = append(items, report.Item{Name: r.id + ".json", Read: func() ([]byte, error) { return r.body, nil }, Arrival: s.arrival(r)})
		}
		for i, p := range report.Check(items, &s.cache, nil) {
			s.keep(rows[i].id, p)
			switch {
			case p.Sound():
				s.board.handed(p)
			default:
				s.log.Error("a stored hand-in is not sound", "id", rows[i].id, "finding", p.Findings[0].String())
			}
		}
		rows = rows[:0]
	}
	err := s.store.each(func(r row) error {
		if r.removed {
			s.board.remove(r.id)
			return nil
		}
		if rows = append(rows, r); len(rows) == 256 {
			flush()
		}
		return nil
	})
	flush()
	return err
}

// arrival returns how a stored hand-in came.
func (s *Server) arrival(r row) report.Arrival {
	c, _ := s.course.get(r.code)
	a := report.Arrival{Arrived: r.at, Opened: c.Opened, Late: r.late}
	if c.Sheet.Exam {
		a.Sitting = s.exams.sitting(c, r.id)
	}
	return a
}

func (s *Server) keep(id string, p report.Submission) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.submissions[id] = p
}

// current is the sheet that the board shows if none is asked for: of those that
// are open the one that was opened last, else the last of all.
func (s *Server) current() courseSheet {
	list := s.course.all()
	last := list[len(list)-1]
	for i := len(list) - 1; i >= 0; i-- {
		if list[i].isOpen(s.now()) {
			return list[i]
		}
	}
	return last
}

// Code is the class code that learners type.
func (s *Server) Code() string { return s.current().Code }

// Sheet is the sheet of Code.
func (s *Server) Sheet() sheet.Sheet { return s.current().Sheet }

// Key is the teacher's key.
func (s *Server) Key() string {
	c, _ := s.class.get("")
	return c.Key
}

// Close waits for hand-ins that are being stored and closes the store.
func (s *Server) Close() error { return s.store.close() }

// ServeHTTP answers one request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.mux.ServeHTTP(w, r) }

// Serve answers requests on a listener until the context ends; then it lets
// those that are being answered end, for ten seconds at most. The error says why
// it could not go on.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	h := &http.Server{
		Handler:           s,
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       30 * time.Second,
		WriteTimeout:      s.unread, // long enough for the browser edition over a slow network
		IdleTimeout:       60 * time.Second,
		MaxHeaderBytes:    16 << 10,
		ErrorLog:          slog.NewLogLogger(s.log.Handler(), slog.LevelDebug),
	}
	ended := make(chan error, 1)
	go func() { ended <- h.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("class server: %w", err)
	case <-ctx.Done():
	}
	grace, stop := context.WithTimeout(context.Background(), 10*time.Second)
	defer stop()
	if err := h.Shutdown(grace); err != nil {
		h.Close()
		return fmt.Errorf("class server: closing: %w", err)
	}
	return nil
}

// routes lists what answers what, and who may ask for it.
func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	for path, answer := range map[string]http.HandlerFunc{
		"GET /api/class":            s.answers(s.getClass),
		"GET /api/sheet":            s.answers(s.getSheet),
		"GET /api/roster":           s.answers(s.getRoster),
		"GET /api/recording":        s.getRecording,
		"POST /api/progress":        s.joined(s.answers(s.postProgress)),
		"POST /api/handin":          s.joined(s.answers(s.postHandIn)),
		"GET /api/verdicts":         s.answers(s.getVerdicts),
		"GET /r/{id}":               s.resultPage,
		"GET /teacher":              s.teacher(s.boardPage),
		"GET /teacher/board.json":   s.teacher(s.answers(s.getBoard)),
		"POST /teacher/do":          s.teacher(s.do),
		"GET /teacher/board.js":     s.teacher(asset("board.js")),
		"GET /teacher/board.css":    asset("board.css"),
		"GET /teacher/report":       s.teacher(s.written("", (*report.Book).WriteHTML)),
		"GET /teacher/takes.csv":    s.teacher(s.written("takes.csv", (*report.Book).WriteTakesCSV)),
		"GET /teacher/learners.csv": s.teacher(s.written("learners.csv", (*report.Book).WriteLearnersCSV)),
		"GET /teacher/grades.csv":   s.teacher(s.written("gradebook.csv", (*report.Book).WriteGradebookCSV)),
		"GET /teacher/hand-ins.zip": s.teacher(s.archive),
		"/teacher/":                 s.teacher(s.refused(errNothing)),
		"/api/":                     s.refused(errNothing),
		"/":                         s.static,
	} {
		mux.HandleFunc(path, answer)
	}
	origin := http.NewCrossOriginProtection()
	origin.SetDenyHandler(s.refused(errOtherSite))
	return s.guard(origin.Handler(mux))
}
