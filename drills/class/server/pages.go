//go:build !js

package server

import (
	"archive/zip"
	"cmp"
	"context"
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"golang.org/x/text/language"
	"rsc.io/qr"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
)

//go:embed web
var web embed.FS

// asset serves one embedded file.
func asset(name string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", contentType(name))
		http.ServeFileFS(w, r, web, "web/"+name)
	}
}

// words are those of the language that a browser likes best, of those there are
// (RFC 9110, section 12.5.4).
func (s *Server) words(r *http.Request) report.Words {
	likes, _, _ := language.ParseAcceptLanguage(r.Header.Get("Accept-Language")) // none of what is no such list
	_, i, _ := languages.Match(likes...)
	return s.o.Words([]string{"en", "de"}[i])
}

var languages = language.NewMatcher([]language.Tag{language.English, language.German})

func (s *Server) page(w http.ResponseWriter, r *http.Request, name string, status int, data any) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Vary", "Accept-Language")
	w.WriteHeader(status)
	t, err := template.New(name).Funcs(template.FuncMap{"say": s.words(r).Say}).ParseFS(web, "web/"+name)
	if err == nil {
		err = t.Execute(w, data)
	}
	if err != nil {
		s.log.Debug("writing a page", "page", name, "error", err)
	}
}

// plainPage is a page with a sentence in place of what was asked for, and a field for
// the key if that would help.
func (s *Server) plainPage(w http.ResponseWriter, r *http.Request, why *refusal, askKey bool) {
	s.note(r, why)
	s.page(w, r, "plain.gohtml", why.status, map[string]any{"Title": s.title(s.words(r)), "Says": why.Error(), "AskKey": askKey})
}

// shown is the sheet that a page of the teacher is about.
func (s *Server) shown(r *http.Request) courseSheet {
	if code, err := sheet.Tidy(r.URL.Query().Get("sheet")); err == nil {
		if c, ok := s.course.get(code); ok {
			return c
		}
	}
	return s.current()
}

// sheetView is one sheet of the course as the board lists it.
type sheetView struct {
	Code  string `json:"code"`
	Words string `json:"words"`
	Open  bool   `json:"open"`
	Exam  bool   `json:"exam,omitempty"`
	When  string `json:"when,omitempty"` // it opens or closes by date
}

func (s *Server) sheetViews(words report.Words) []sheetView {
	var list []sheetView
	for _, c := range s.course.all() {
		v := sheetView{Code: c.Code, Words: words.SheetWords(c.Sheet), Open: c.isOpen(s.now()), Exam: c.Sheet.Exam}
		switch day := "2006-01-02 15:04"; {
		case s.now().Before(c.Opens):
			v.When = words.Say("board.opens", c.Opens.Local().Format(day))
		case !c.Closes.IsZero():
			v.When = words.Say("board.closes", c.Closes.Local().Format(day))
		}
		list = append(list, v)
	}
	return list
}

// title is what the class calls itself, or only that it is one.
func (s *Server) title(words report.Words) string { return cmp.Or(s.o.Title, words.Say("board.class")) }

func (s *Server) boardPage(w http.ResponseWriter, r *http.Request) {
	c, words := s.shown(r), s.words(r)
	host, reached := s.boardHost(r.Host)
	link := "http://" + host + "/?code=" + strings.ReplaceAll(c.Code, " ", "")
	picture, err := qr.Encode(link, qr.M)
	if err != nil {
		s.log.Error("drawing the address", "error", err)
		picture = new(qr.Code)
	}
	said := make(map[string]string)
	for _, key := range boardWords {
		said[strings.TrimPrefix(key, "board.")] = words.Say(key)
	}
	s.page(w, r, "board.gohtml", http.StatusOK, map[string]any{"Title": s.title(words), "Code": c.Code, "Words": words.SheetWords(c.Sheet),
		"Address": host, "Link": link, "Reached": reached, "QR": qrPath(picture), "Size": picture.Size + 8, "Said": said, "Roster": len(s.o.Roster.Entries) > 0})
}

// boardWords are the texts that the board's script needs.
var boardWords = []string{"board.nobody", "board.lead", "board.learner", "board.round_of", "board.done", "board.in", "board.late",
	"board.idle", "board.mean", "board.waiting", "board.live", "board.lost", "board.absent", "board.open", "board.close",
	"board.sheet_open", "board.sheet_shut", "board.remove", "board.remove_sure", "board.let_in", "board.shut_out",
	"board.together_on", "board.together_off", "board.release", "board.new_key_sure", "board.exam_close_sure", "board.same_as", "board.not_same", "number.point"}

// qrPath draws a QR code as a path of squares, with the quiet zone of four that
// the standard asks for (ISO/IEC 18004).
func qrPath(c *qr.Code) string {
	var b strings.Builder
	for y := range c.Size {
		for x := range c.Size {
			if c.Black(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+4, y+4)
			}
		}
	}
	return b.String()
}

// boardHost is the address a board shows: the one it was opened by, unless that
// leads others to their own machines. reached is false if only this machine
// reaches the server.
func (s *Server) boardHost(host string) (address string, reached bool) {
	name, ip, _ := split(host)
	switch {
	case name != "localhost" && !ip.IsLoopback():
		return host, true
	case s.o.Reach != "":
		return s.o.Reach, true
	}
	return host, false
}

// boardView is the board as its page gets it.
type boardView struct {
	Code     string        `json:"code"`
	Rounds   int           `json:"rounds"`
	Joining  bool          `json:"joining"`
	Together bool          `json:"together"`
	Released int           `json:"released"`
	Withheld bool          `json:"withheld"` // an exam's verdicts, until it is closed
	Learners []learnerView `json:"learners"`
	Absent   []string      `json:"absent,omitempty"` // names, or as many empty ones
	Sheets   []sheetView   `json:"sheets"`
}

// getBoard is the board as it is now. The page asks for it every second: no
// connection is held, so that any number of boards may be open.
func (s *Server) getBoard(r *http.Request) (any, error) {
	c, goesBy := s.shown(r), s.goesBy()
	names := r.URL.Query().Get("names") == "1"
	v := boardView{Code: c.Code, Rounds: c.Sheet.Rounds, Joining: !s.closed.Load(), Together: c.Together, Released: c.Released, Withheld: c.withheld(s.now()), Sheets: s.sheetViews(s.words(r))}
	v.Learners = s.board.view(c.Code, c.Sheet.Rounds, names)
	for i, l := range v.Learners {
		if as := goesBy(l.Who); as != l.Who {
			v.Learners[i].As = as
		}
		if c.untold(s.now()) { // the class sees the board
			v.Learners[i].Marks = []*client.Mark{}
		}
	}
	here := s.board.here(c.Code, s.o.Roster, goesBy)
	for _, one := range s.o.Roster.Entries {
		if !here[one.ID] {
			if !names {
				one.Name = ""
			}
			v.Absent = append(v.Absent, one.Name)
		}
	}
	return v, nil
}

// asked is what a teacher asks the server to do.
type asked struct {
	Do   string `json:"do"`
	ID   string `json:"id,omitempty"`   // of a hand-in
	Into string `json:"into,omitempty"` // of another hand-in, whose learner it is as well
	Code string `json:"code,omitempty"` // of a sheet
	On   bool   `json:"on,omitempty"`
}

// do does what a teacher asks for.
func (s *Server) do(w http.ResponseWriter, r *http.Request) {
	s.answers(func(r *http.Request) (any, error) {
		var a asked
		if err := read(r, &a); err != nil {
			return nil, err
		}
		if err := s.obey(r.Context(), a); err != nil {
			return nil, err
		}
		if a.Do == "key" {
			s.setCookie(w)
		}
		s.log.Info("the teacher", "do", a.Do, "id", a.ID, "code", a.Code, "on", a.On)
		return struct{}{}, nil
	})(w, r)
}

// obey removes a learner with what they handed in, makes one learner of two
// spellings, lets others join or not, changes the key, adds, opens or closes a sheet,
// has all wait for each other, or releases the next round.
func (s *Server) obey(ctx context.Context, a asked) error {
	switch a.Do {
	case "remove":
		return s.remove(ctx, a.ID)
	case "merge":
		return s.merge(ctx, a.ID, a.Into)
	case "joining":
		s.closed.Store(!a.On)
		return nil
	case "key":
		return s.class.change(ctx, "", func(c *class) error { c.Key = newKey(); return nil })
	case "add":
		n, err := sheet.ParseCode(a.Code)
		if err != nil {
			return bad(err)
		}
		return s.course.add(ctx, n, time.Time{}, time.Time{})
	case "open":
		return s.course.change(ctx, a.Code, func(c *courseSheet) error {
			if a.On && s.course.isSpent(*c) {
				return errReopen
			}
			c.Shut = !a.On
			if a.On {
				c.Opens, c.Closes = time.Time{}, time.Time{}
			}
			return nil
		})
	case "together":
		return s.course.change(ctx, a.Code, func(c *courseSheet) error { c.Together, c.Released = a.On, 1; return nil })
	case "release":
		return s.course.change(ctx, a.Code, func(c *courseSheet) error { c.Released = min(c.Released+1, c.Sheet.Rounds); return nil })
	}
	return errNoSuch
}

// remove takes out a hand-in and its learner for good.
func (s *Server) remove(ctx context.Context, id string) error {
	if err := s.store.remove(context.WithoutCancel(ctx), id); err != nil { // as a shelf is changed
		return err
	}
	s.board.remove(id)
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.submissions, id)
	return nil
}

// book is the mark book of what is stored, or of some of it.
func (s *Server) book(words report.Words, some func(report.Submission) bool) (*report.Book, error) {
	var list []report.Submission
	var withheld []string
	for _, c := range s.course.all() {
		if c.withheld(s.now()) {
			withheld = append(withheld, c.Code)
		}
	}
	goesBy := s.goesBy()
	s.mu.Lock()
	for _, p := range s.submissions {
		if (some == nil || some(p)) && !slices.Contains(withheld, p.Code) {
			p.As = goesBy(p.Who)
			list = append(list, p)
		}
	}
	s.mu.Unlock()
	slices.SortFunc(list, func(a, b report.Submission) int { return strings.Compare(a.Name, b.Name) })
	return report.Build(list, &s.cache, report.Options{Title: s.title(words), Now: s.now(), Words: words, Roster: s.o.Roster, Withheld: withheld})
}

// written answers with the page of the mark book, or with a table of it as a file that
// has a name.
func (s *Server) written(table string, write func(*report.Book, io.Writer) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		b, err := s.book(s.words(r), nil)
		if err != nil {
			s.refuse(w, r, fmt.Errorf("making the mark book: %w", err))
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		if table != "" {
			w.Header().Set("Content-Type", "text/csv; charset=utf-8")
			w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": table}))
		}
		if err := write(b, w); err != nil {
			s.log.Debug("writing the mark book", "error", err)
		}
	}
}

// resultPage is a learner's own page of one hand-in, whose id nobody else knows.
func (s *Server) resultPage(w http.ResponseWriter, r *http.Request) {
	words, id := s.words(r), r.PathValue("id")
	b, err := s.book(words, func(p report.Submission) bool {
		return len(id) == resultDigits && strings.HasPrefix(p.ID, id) && p.Sheet.Form == ""
	})
	switch {
	case err == nil && len(b.Learners) == 0 && len(b.Withheld) > 0:
		s.plainPage(w, r, &refusal{status: http.StatusNotFound, error: errors.New(words.Say("board.exam_open"))}, false)
		return
	case err != nil || len(b.Learners) == 0:
		s.refuse(w, r, errNothing)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if err := b.WriteSlip(w, b.Learners[0], words); err != nil {
		s.log.Debug("writing a result", "error", err)
	}
}

// archive gives all hand-ins as they came, and a table of when that was. File
// names in it are made of ids alone.
func (s *Server) archive(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="hand-ins.zip"`)
	z := zip.NewWriter(w)
	var arrivals []report.Arrived
	put := func(name string, at time.Time, data []byte) error {
		f, err := z.CreateHeader(&zip.FileHeader{Name: "hand-ins/" + name, Method: zip.Deflate, Modified: at})
		if err != nil {
			return err
		}
		_, err = f.Write(data)
		return err
	}
	goesBy := s.goesBy()
	err := s.store.each(func(row row) error {
		if row.removed {
			return nil
		}
		name := "handin-" + row.id + ".json"
		a := report.Arrived{File: name, Arrival: s.arrival(row)}
		s.mu.Lock()
		who := s.submissions[row.id].Who
		s.mu.Unlock()
		if as := goesBy(who); as != who {
			a.As = as
		}
		arrivals = append(arrivals, a)
		return put(name, row.at, row.body)
	})
	if err == nil {
		var name string
		var table []byte
		if name, table, err = report.Arrivals(arrivals); err == nil {
			err = put(name, s.now(), table)
		}
	}
	if err != nil {
		s.log.Error("writing the archive", "error", err)
		panic(http.ErrAbortHandler) // what was sent is not whole, and is not to look so
	}
	z.Close() // a client that is gone needs no answer
}

// static serves the browser edition: plain files, no listings, nothing hidden. A
// file that is there with .gz behind its name goes out compressed.
func (s *Server) static(w http.ResponseWriter, r *http.Request) {
	name := cmp.Or(strings.TrimPrefix(r.URL.Path, "/"), "index.html")
	switch {
	case r.Method != http.MethodGet && r.Method != http.MethodHead:
		s.refuse(w, r, errReadOnly)
		return
	case s.o.App == nil && name == "index.html":
		s.page(w, r, "noapp.gohtml", http.StatusOK, map[string]any{"Title": s.title(s.words(r))})
		return
	case s.o.App == nil || !fs.ValidPath(name) || strings.HasPrefix(name, ".") || strings.Contains(name, "/."):
		s.refuse(w, r, errNothing)
		return
	case r.URL.Path == "/" && r.URL.RawQuery == "":
		// The bare address of a class is for its learners: the trainer joins, with the
		// sheet that is open if there is one.
		code := ""
		if c := s.current(); c.isOpen(s.now()) {
			code = strings.ReplaceAll(c.Code, " ", "")
		}
		w.Header().Set("Cache-Control", "no-store")
		http.Redirect(w, r, "/?code="+code, http.StatusFound)
		return
	}
	isFile := func(name string) bool {
		info, err := fs.Stat(s.o.App, name)
		return err == nil && info.Mode().IsRegular()
	}
	w.Header().Set("Content-Type", contentType(name))
	w.Header().Set("Cache-Control", "no-cache")
	if isFile(name + ".gz") {
		w.Header().Set("Vary", "Accept-Encoding")
		if takesGzip(r.Header.Get("Accept-Encoding")) {
			w.Header().Set("Content-Encoding", "gzip")
			http.ServeFileFS(w, r, s.o.App, name+".gz")
			return
		}
	}
	if !isFile(name) {
		s.refuse(w, r, errNothing)
		return
	}
	http.ServeFileFS(w, r, s.o.App, name)
}

// takesGzip reads an Accept-Encoding (RFC 9110, section 12.5.3).
func takesGzip(header string) bool {
	any := false
	for part := range strings.SplitSeq(strings.ToLower(header), ",") {
		coding, q, _ := strings.Cut(strings.ReplaceAll(part, " ", ""), ";q=")
		weight, err := strconv.ParseFloat(q, 64)
		takes := err != nil || weight > 0
		switch coding {
		case "gzip", "x-gzip":
			return takes
		case "*":
			any = takes
		}
	}
	return any
}

// contentType is the type of a file by its name, whatever this machine has in its own
// tables of the types that matter.
func contentType(name string) string {
	switch ext := path.Ext(name); ext {
	case ".wasm":
		return "application/wasm"
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	default:
		return cmp.Or(mime.TypeByExtension(ext), "application/octet-stream")
	}
}
