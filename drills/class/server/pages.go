//go:build !js

package server

import (
	"archive/zip"
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

	"rsc.io/qr"

	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/strict"
)

//go:embed web
var web embed.FS

// pages are parsed once; each request puts its language in place of say.
var pages = template.Must(template.New("pages").Funcs(template.FuncMap{"say": fmt.Sprint}).ParseFS(web, "web/*.gohtml"))

// asset serves one embedded file.
func (s *Server) asset(name, kind string) http.HandlerFunc {
	data, err := web.ReadFile("web/" + name)
	if err != nil {
		panic(err) // it is part of the program
	}
	return func(w http.ResponseWriter, r *http.Request) {
		w.Header().Set("Content-Type", kind)
		w.Write(data) // a client that is gone needs no answer
	}
}

// words are those of the language that a browser asks for first, of those there
// are (RFC 9110, section 12.5.4).
func (s *Server) words(r *http.Request) report.Words {
	best, most := "en", 0.0
	for part := range strings.SplitSeq(r.Header.Get("Accept-Language"), ",") {
		tag, q, _ := strings.Cut(strings.TrimSpace(part), ";q=")
		weight, err := strconv.ParseFloat(q, 64)
		if err != nil {
			weight = 1
		}
		language, _, _ := strings.Cut(strings.ToLower(tag), "-")
		if weight > most && slices.Contains(languages, language) {
			best, most = language, weight
		}
	}
	return s.o.Words(best)
}

var languages = []string{"en", "de"}

func (s *Server) page(w http.ResponseWriter, r *http.Request, name string, status int, data any) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.Header().Set("Vary", "Accept-Language")
	t, err := pages.Clone()
	if err == nil {
		w.WriteHeader(status)
		err = t.Funcs(template.FuncMap{"say": s.words(r).Say}).ExecuteTemplate(w, name, data)
	}
	if err != nil {
		s.log.Debug("writing a page", "page", name, "error", err)
	}
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
		v := sheetView{Code: c.code, Words: words.SheetWords(c.sheet), Open: c.isOpen(s.now()), Exam: c.sheet.Exam}
		switch day := "2006-01-02 15:04"; {
		case s.now().Before(c.opens):
			v.When = words.Say("board.opens", c.opens.Local().Format(day))
		case !c.closes.IsZero():
			v.When = words.Say("board.closes", c.closes.Local().Format(day))
		}
		list = append(list, v)
	}
	return list
}

func (s *Server) boardPage(w http.ResponseWriter, r *http.Request) {
	c, words := s.shown(r), s.words(r)
	host, reached := s.boardHost(r.Host)
	link := "http://" + host + "/?code=" + strings.ReplaceAll(c.code, " ", "")
	picture, err := qr.Encode(link, qr.M)
	if err != nil {
		s.log.Error("drawing the address", "error", err)
		picture = new(qr.Code)
	}
	said := make(map[string]string)
	for _, key := range boardWords {
		said[strings.TrimPrefix(key, "board.")] = words.Say(key)
	}
	s.page(w, r, "board.gohtml", http.StatusOK, map[string]any{"Title": s.o.Title, "Code": c.code, "Words": words.SheetWords(c.sheet),
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
	Version  int           `json:"version"`
	Code     string        `json:"code"`
	Rounds   int           `json:"rounds"`
	Joining  bool          `json:"joining"`
	Together bool          `json:"together"`
	Released int           `json:"released"`
	Learners []learnerView `json:"learners"`
	Absent   []string      `json:"absent,omitempty"` // names, or as many empty ones
	Sheets   []sheetView   `json:"sheets"`
}

// boardJSON is the board as it is now. The page asks for it every second: no
// connection is held, so that any number of boards may be open.
func (s *Server) boardJSON(w http.ResponseWriter, r *http.Request) {
	c := s.shown(r)
	names := r.URL.Query().Get("names") == "1"
	v := boardView{Code: c.code, Rounds: c.sheet.Rounds, Together: c.together, Released: c.released, Sheets: s.sheetViews(s.words(r))}
	v.Learners, v.Version = s.board.view(c.code, c.sheet.Rounds, names)
	for i, l := range v.Learners {
		if as := s.goesBy(l.Who); as != l.Who {
			v.Learners[i].As = as
		}
	}
	if c.untold(s.now()) { // the class sees the board
		for i := range v.Learners {
			v.Learners[i].Marks = []mark{}
		}
	}
	s.mu.Lock()
	v.Joining = !s.closed
	s.mu.Unlock()
	here := s.board.here(c.code, s.o.Roster, s.goesBy)
	for _, one := range s.o.Roster.Entries {
		if !here[one.ID] {
			if !names {
				one.Name = ""
			}
			v.Absent = append(v.Absent, one.Name)
		}
	}
	writeJSON(w, http.StatusOK, v)
}

// asked is what a teacher asks the server to do.
type asked struct {
	Do   string `json:"do"`
	ID   string `json:"id,omitempty"`   // of a hand-in
	Into string `json:"into,omitempty"` // of another hand-in, whose learner it is as well
	Code string `json:"code,omitempty"` // of a sheet
	On   bool   `json:"on,omitempty"`
}

// do does what a teacher asks for: remove a learner with what they handed in,
// make one learner of two spellings, let others join or not, change the key, add, open or close a sheet, have all
// wait for each other, release the next round.
func (s *Server) do(w http.ResponseWriter, r *http.Request) {
	data, done, ok := s.body(w, r, maxProgress)
	if !ok {
		return
	}
	defer done()
	var a asked
	if err := strict.Decode(data, &a); err != nil {
		s.refuse(w, r, http.StatusBadRequest, err.Error())
		return
	}
	var err error
	found := true
	switch a.Do {
	case "remove":
		if err = s.store.remove(a.ID); err == nil {
			s.board.remove(a.ID)
			s.mu.Lock()
			if p, ok := s.submissions[a.ID]; ok {
				delete(s.known, p.Sum())
				delete(s.submissions, a.ID)
			}
			s.mu.Unlock()
		}
	case "merge":
		found, err = s.merge(r.Context(), a.ID, a.Into)
	case "joining":
		s.mu.Lock()
		s.closed = !a.On
		s.mu.Unlock()
	case "key":
		key := newKey()
		if err = s.store.setMeta("key", key); err == nil {
			s.mu.Lock()
			s.key = key
			s.mu.Unlock()
			s.setCookie(w)
		}
	case "add":
		var n sheet.Sheet
		if n, err = sheet.ParseCode(a.Code); err != nil {
			s.refuseFor(w, r, http.StatusBadRequest, err)
			return
		}
		err = s.course.add(n, time.Time{}, time.Time{})
	case "open":
		found, err = s.course.change(a.Code, func(c *courseSheet) error {
			if a.On && c.sheet.Exam && c.over(s.now()) {
				return errReopen
			}
			c.shut = !a.On
			if a.On {
				c.opens, c.closes = time.Time{}, time.Time{}
			}
			return nil
		})
	case "together":
		found, err = s.course.change(a.Code, func(c *courseSheet) error { c.together, c.released = a.On, 1; return nil })
	case "release":
		found, err = s.course.change(a.Code, func(c *courseSheet) error { c.released = min(c.released+1, c.sheet.Rounds); return nil })
	default:
		found = false
	}
	switch {
	case errors.Is(err, errReopen), errors.Is(err, errSameAlready):
		s.refuseFor(w, r, http.StatusConflict, err)
	case err != nil:
		s.log.Error("doing what the teacher asked", "do", a.Do, "error", err)
		s.refuse(w, r, http.StatusInternalServerError, "it could not be done; the log says why")
	case !found:
		s.refuse(w, r, http.StatusBadRequest, "there is nothing of that name to do it with")
	default:
		s.log.Info("the teacher", "do", a.Do, "id", a.ID, "code", a.Code, "on", a.On)
		writeJSON(w, http.StatusOK, struct{}{})
	}
}

// book is the mark book of what is stored.
func (s *Server) book(words report.Words, some func(report.Submission) bool) (*report.Book, error) {
	var list []report.Submission
	var withheld []string
	for _, c := range s.course.all() {
		if c.withheld(s.now()) {
			withheld = append(withheld, c.code)
		}
	}
	s.mu.Lock()
	for _, p := range s.submissions {
		if (some == nil || some(p)) && !slices.Contains(withheld, p.Code) {
			p.As = s.goesByLocked(p.Who)
			list = append(list, p)
		}
	}
	s.mu.Unlock()
	slices.SortFunc(list, func(a, b report.Submission) int { return strings.Compare(a.Name, b.Name) })
	return report.Build(list, &s.cache, report.Options{Title: s.o.Title, Now: s.now(), Words: words, Roster: s.o.Roster, Withheld: withheld})
}

// written answers with something of the mark book.
func (s *Server) written(w http.ResponseWriter, r *http.Request, kind, name string, write func(*report.Book, io.Writer) error) {
	b, err := s.book(s.words(r), nil)
	if err != nil {
		s.log.Error("making the mark book", "error", err)
		s.refuse(w, r, http.StatusInternalServerError, "the mark book cannot be made; the log says why")
		return
	}
	w.Header().Set("Content-Type", kind)
	if name != "" {
		w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	}
	if err := write(b, w); err != nil {
		s.log.Debug("writing the mark book", "error", err)
	}
}

const csvKind = "text/csv; charset=utf-8"

func (s *Server) reportPage(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, "text/html; charset=utf-8", "", (*report.Book).WriteHTML)
}

func (s *Server) takesCSV(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, csvKind, "takes.csv", func(b *report.Book, w io.Writer) error { return b.WriteTakesCSV(w, report.CSVOptions{}) })
}

func (s *Server) learnersCSV(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, csvKind, "learners.csv", func(b *report.Book, w io.Writer) error { return b.WriteLearnersCSV(w, report.CSVOptions{}) })
}

func (s *Server) gradesCSV(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, csvKind, "gradebook.csv", func(b *report.Book, w io.Writer) error {
		return b.WriteGradebookCSV(w, report.GradePoints, report.CSVOptions{})
	})
}

// resultPage is a learner's own page of one hand-in, whose id nobody else knows.
func (s *Server) resultPage(w http.ResponseWriter, r *http.Request) {
	words, id := s.words(r), r.PathValue("id")
	b, err := s.book(words, func(p report.Submission) bool {
		return len(id) == resultDigits && strings.HasPrefix(p.ID, id) && p.Sheet.Form == ""
	})
	switch {
	case err == nil && len(b.Learners) == 0 && len(b.Withheld) > 0:
		s.note(r, http.StatusNotFound, errExamOpen.Error())
		s.page(w, r, "plain.gohtml", http.StatusNotFound, map[string]any{"Title": s.o.Title, "Says": words.Say("board.exam_open")})
		return
	case err != nil || len(b.Learners) == 0:
		s.nothing(w, r)
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
	err := s.store.each(func(row row) error {
		if row.removed {
			return nil
		}
		name := "handin-" + row.id + ".json"
		a := report.Arrived{File: name, Arrival: s.arrival(row)}
		s.mu.Lock()
		if p := s.submissions[row.id]; s.goesByLocked(p.Who) != p.Who {
			a.As = s.goesByLocked(p.Who)
		}
		s.mu.Unlock()
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
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		s.refuse(w, r, http.StatusMethodNotAllowed, "this can only be read")
		return
	}
	name := strings.TrimPrefix(r.URL.Path, "/")
	if name == "" {
		name = "index.html"
	}
	if s.o.App == nil {
		if name != "index.html" {
			s.refuse(w, r, http.StatusNotFound, "there is nothing here")
			return
		}
		s.page(w, r, "noapp.gohtml", http.StatusOK, map[string]any{"Title": s.o.Title})
		return
	}
	if !fs.ValidPath(name) || strings.HasPrefix(name, ".") || strings.Contains(name, "/.") {
		s.refuse(w, r, http.StatusNotFound, "there is nothing here")
		return
	}
	// The bare address of a class is for its learners: the trainer joins, with the
	// sheet that is open if there is one.
	if r.URL.Path == "/" && r.URL.RawQuery == "" {
		code := ""
		if c := s.current(); c.isOpen(s.now()) {
			code = strings.ReplaceAll(c.code, " ", "")
		}
		w.Header().Set("Cache-Control", "no-store")
		http.Redirect(w, r, "/?code="+code, http.StatusFound)
		return
	}
	info, err := fs.Stat(s.o.App, name)
	packed := takesGzip(r.Header.Get("Accept-Encoding"))
	gz, gzErr := fs.Stat(s.o.App, name+".gz")
	packed = packed && gzErr == nil && gz.Mode().IsRegular()
	if !packed && (err != nil || !info.Mode().IsRegular()) {
		s.refuse(w, r, http.StatusNotFound, "there is nothing here")
		return
	}
	w.Header().Set("Cache-Control", "no-cache")
	w.Header().Set("Content-Type", contentType(name))
	if gzErr == nil {
		w.Header().Set("Vary", "Accept-Encoding")
	}
	if packed {
		w.Header().Set("Content-Encoding", "gzip")
		name += ".gz"
	}
	http.ServeFileFS(w, r, s.o.App, name)
}

// takesGzip reads an Accept-Encoding (RFC 9110, section 12.5.3).
func takesGzip(header string) bool {
	any := false
	for part := range strings.SplitSeq(strings.ToLower(header), ",") {
		coding, q, _ := strings.Cut(strings.ReplaceAll(part, " ", ""), ";q=")
		weight, err := strconv.ParseFloat(q, 64)
		wanted := err != nil || weight > 0
		switch coding {
		case "gzip", "x-gzip":
			return wanted
		case "*":
			any = wanted
		}
	}
	return any
}

func contentType(name string) string {
	switch ext := path.Ext(name); ext {
	case ".wasm":
		return "application/wasm"
	case ".js":
		return "text/javascript; charset=utf-8"
	default:
		if kind := mime.TypeByExtension(ext); kind != "" {
			return kind
		}
		return "application/octet-stream"
	}
}
