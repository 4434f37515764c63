//go:build !js

package server

import (
	"archive/zip"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"maps"
	"mime"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"slowneedle/drills/class/report"
)

//go:embed web
var web embed.FS

var pages = template.Must(template.ParseFS(web, "web/*.gohtml"))

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

func (s *Server) page(w http.ResponseWriter, name string, status int, data any) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	if err := pages.ExecuteTemplate(w, name, data); err != nil {
		s.log.Debug("writing a page", "page", name, "error", err)
	}
}

func (s *Server) boardPage(w http.ResponseWriter, r *http.Request) {
	base := "http://" + s.boardHost(r.Host)
	s.page(w, "board.gohtml", http.StatusOK, map[string]any{
		"Title": s.title, "Code": s.code, "Words": s.sheet.Words(), "Address": base + "/", "Link": base + s.link()})
}

// boardHost is the address a board shows: the one it was opened by, unless
// that leads others to their own machines.
func (s *Server) boardHost(host string) string {
	if name, ip, _ := split(host); s.reach != "" && (name == "localhost" || ip.IsLoopback()) {
		return s.reach
	}
	return host
}

// link is where the browser edition begins with the class code typed in.
func (s *Server) link() string { return "/?code=" + strings.ReplaceAll(s.code, " ", "") }

// events streams the board. It says where it is at least every fifteen seconds,
// so that what stands between does not close it.
func (s *Server) events(w http.ResponseWriter, r *http.Request) {
	if int(s.boards.Add(1)) > s.limits.Boards {
		s.boards.Add(-1)
		s.refuse(w, r, http.StatusServiceUnavailable, "too many boards are open; close one")
		return
	}
	defer s.boards.Add(-1)
	w.Header().Set("Content-Type", "text/event-stream")
	out := http.NewResponseController(w)
	names := r.URL.Query().Get("names") == "1"
	for {
		v, change := s.board.view(names)
		text, err := json.Marshal(v)
		if err != nil {
			s.log.Error("writing the board", "error", err)
			return
		}
		out.SetWriteDeadline(time.Now().Add(10 * time.Second)) // else a stuck client would hold the stream
		if _, err := fmt.Fprintf(w, "data: %s\n\n", text); err != nil {
			return
		}
		if err := out.Flush(); err != nil {
			return
		}
		beat := time.NewTimer(15 * time.Second)
		select {
		case <-change:
		case <-beat.C:
		case <-s.board.stopped:
		case <-r.Context().Done():
		}
		beat.Stop()
		rest := time.NewTimer(250 * time.Millisecond) // what changes in the meantime goes in one
		select {
		case <-rest.C:
		case <-s.board.stopped:
			return
		case <-r.Context().Done():
			return
		}
	}
}

// book is the mark book of what is stored.
func (s *Server) book() (*report.Book, error) {
	s.mu.Lock()
	submissions := slices.Collect(maps.Values(s.submissions))
	s.mu.Unlock()
	slices.SortFunc(submissions, func(a, b report.Submission) int { return strings.Compare(a.Name, b.Name) })
	return report.Build(submissions, &s.bench, report.Options{Title: s.title, Now: s.now(), Words: s.words})
}

func (s *Server) written(w http.ResponseWriter, r *http.Request, kind, name string, write func(*report.Book, io.Writer) error) {
	b, err := s.book()
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

func (s *Server) reportPage(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, "text/html; charset=utf-8", "", func(b *report.Book, w io.Writer) error { return b.WriteHTML(w) })
}

func (s *Server) takesCSV(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, "text/csv; charset=utf-8", "takes.csv", func(b *report.Book, w io.Writer) error { return b.WriteTakesCSV(w, report.CSVOptions{}) })
}

func (s *Server) learnersCSV(w http.ResponseWriter, r *http.Request) {
	s.written(w, r, "text/csv; charset=utf-8", "learners.csv", func(b *report.Book, w io.Writer) error { return b.WriteLearnersCSV(w, report.CSVOptions{}) })
}

// archive gives all hand-ins as they came. File names in it are made of ids
// alone.
func (s *Server) archive(w http.ResponseWriter, r *http.Request) {
	rows, err := s.store.all()
	if err != nil {
		s.log.Error("reading the store", "error", err)
		s.refuse(w, r, http.StatusInternalServerError, "the hand-ins cannot be read; the log says why")
		return
	}
	w.Header().Set("Content-Type", "application/zip")
	w.Header().Set("Content-Disposition", `attachment; filename="hand-ins.zip"`)
	z := zip.NewWriter(w)
	for _, row := range rows {
		f, err := z.CreateHeader(&zip.FileHeader{Name: "hand-ins/handin-" + row.id + ".json", Method: zip.Deflate, Modified: row.at})
		if err != nil {
			return
		}
		if _, err := f.Write(row.body); err != nil {
			return
		}
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
	if s.app == nil {
		if name != "index.html" {
			s.refuse(w, r, http.StatusNotFound, "there is nothing here")
			return
		}
		s.page(w, "noapp.gohtml", http.StatusOK, map[string]any{"Title": s.title, "Words": s.sheet.Words()})
		return
	}
	if !fs.ValidPath(name) || strings.HasPrefix(name, ".") || strings.Contains(name, "/.") {
		s.refuse(w, r, http.StatusNotFound, "there is nothing here")
		return
	}
	info, err := fs.Stat(s.app, name)
	packed := strings.Contains(r.Header.Get("Accept-Encoding"), "gzip")
	gz, gzErr := fs.Stat(s.app, name+".gz")
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
	http.ServeFileFS(w, r, s.app, name)
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
