//go:build !js

package server

import (
	"archive/zip"
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/sheet"
)

// From code to acknowledged hand-in, as a learner's program goes.
func TestLesson(t *testing.T) {
	s, web := open(t, Options{Title: "Tuesday"})
	ctx := context.Background()
	c := at(web)
	joined, err := c.Join(ctx, strings.ToLower(strings.ReplaceAll(s.Code(), " ", "-")), "Moonrake")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(s.Sheet(), joined.Sheet); diff != "" || joined.Title != "Tuesday" || joined.Code != s.Code() {
		t.Errorf("joined %+v %s", joined, diff)
	}
	data, id := file(t, 0)
	h, err := handin.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	p := client.Progress{Code: s.Code(), ID: id, Who: h.Who, Round: 2, Takes: []client.Mark{{ErrorDB: 0.4, InWindow: true, Points: 100}}}
	if _, err := c.Progress(ctx, p); err != nil {
		t.Fatal(err)
	}
	if v := look(t, s, web.URL, "names=1"); len(v.Learners) != 1 || v.Learners[0].Who != h.Who || v.Learners[0].Round != 2 || v.Learners[0].State != "playing" {
		t.Errorf("board %+v", v)
	}
	first, err := c.HandIn(ctx, data)
	if err != nil || first.ID != id || first.Known {
		t.Fatalf("receipt %+v, %v", first, err)
	}
	again, err := c.HandIn(ctx, data)
	if err != nil || !again.Known || again.Points != first.Points {
		t.Errorf("sent again: %+v, %v", again, err)
	}
	if _, err := c.Progress(ctx, p); err != nil { // a replayed request
		t.Fatal(err)
	}
	v := look(t, s, web.URL, "")
	if len(v.Learners) != 1 || v.Learners[0].State != "in" || len(v.Learners[0].Marks) != 4 || v.Learners[0].Who != "" {
		t.Errorf("board %+v", v)
	}
	var refused *client.Refused
	if _, err := c.Join(ctx, "4GAH 6AW7 PY0M", ""); !errors.As(err, &refused) || refused.Status != http.StatusNotFound {
		t.Errorf("another class's code: %v", err)
	}
	if _, err := c.Join(ctx, "4GAH 6AW7 PY0C", ""); err == nil || !strings.Contains(err.Error(), "typing error") {
		t.Errorf("a mistyped code: %v", err)
	}
}

func TestTeacherNeedsTheKey(t *testing.T) {
	s, web := open(t, Options{Title: `A <b>"class"</b>`})
	data, _ := file(t, 1)
	c := at(web)
	if _, err := c.HandIn(context.Background(), data); err != nil {
		t.Fatal(err)
	}
	paths := []string{"/teacher", "/teacher/report", "/teacher/board.json", "/teacher/takes.csv", "/teacher/learners.csv",
		"/teacher/hand-ins.zip", "/teacher/board.js", "/teacher/grades.csv"}
	for _, p := range paths {
		ask(t, "GET", web.URL+p, "").want(t, p, http.StatusForbidden, "need the key")
		ask(t, "GET", web.URL+p, "", "Cookie", s.cookie+"=guess").want(t, p, http.StatusForbidden, "need the key")
		ask(t, "GET", web.URL+p+"?key="+s.Key()[1:], "").want(t, p, http.StatusForbidden, "not the teacher’s key")
	}
	r := ask(t, "GET", web.URL+"/teacher?key="+s.Key(), "")
	if set := r.header.Get("Set-Cookie"); r.status != http.StatusSeeOther || r.header.Get("Location") != "/teacher" ||
		!strings.Contains(set, "HttpOnly") || !strings.Contains(set, "SameSite=Strict") {
		t.Errorf("with the key: %+v", r)
	}
	for _, p := range []string{"/teacher", "/teacher/report", "/teacher/takes.csv", "/teacher/learners.csv", "/teacher/hand-ins.zip", "/teacher/board.js"} {
		r := ask(t, "GET", web.URL+p, "", "Cookie", cookie(s))
		if r.status != http.StatusOK || r.header.Get("Cache-Control") != "no-store" {
			t.Errorf("%s: %d %v", p, r.status, r.header)
		}
		if strings.Contains(r.body, "A <b>") || strings.Contains(r.body, s.Key()) {
			t.Errorf("%s: the title is not escaped, or the key is shown", p)
		}
		if p == "/teacher/hand-ins.zip" {
			z, err := zip.NewReader(strings.NewReader(r.body), int64(len(r.body)))
			if err != nil || len(z.File) != 2 {
				t.Errorf("archive: %v", err)
			}
		}
	}
	ask(t, "GET", web.URL+"/teacher/nothing", "", "Cookie", cookie(s)).want(t, "nothing", http.StatusNotFound, "nothing here")
}

func TestStatic(t *testing.T) {
	app := fstest.MapFS{
		"index.html":      {Data: []byte("<p>the trainer")},
		"trainer.wasm":    {Data: []byte("plain")},
		"trainer.wasm.gz": {Data: []byte("packed")},
		".hidden":         {Data: []byte("secret")},
		"sub/page.js":     {Data: []byte("1")},
	}
	_, web := open(t, Options{App: app})
	for _, row := range []struct {
		method, path string
		status       int
		says, kind   string
	}{
		{"GET", "/", 302, "/?code=", "text/html"},
		{"GET", "/?code=abc", 200, "the trainer", "text/html"},
		{"GET", "/index.html", 301, "", ""},
		{"GET", "/sub/page.js", 200, "1", "text/javascript"},
		{"GET", "/sub", 404, "nothing here", ""},
		{"GET", "/sub/", 404, "nothing here", ""},
		{"GET", "/.hidden", 404, "nothing here", ""},
		{"GET", "/missing.js", 404, "nothing here", ""},
		{"POST", "/", 405, "only be read", ""},
		{"GET", "/%2e%2e/%2e%2e/etc/passwd", 400, "no such path", ""},
		{"GET", "/..%2f..%2fetc/passwd", 400, "no such path", ""},
		{"GET", "/sub%5c..%5c.hidden", 400, "no such path", ""},
		{"GET", "//etc/passwd", 400, "no such path", ""},
		{"GET", "/a%00b", 400, "no such path", ""},
		{"GET", "/" + strings.Repeat("a", 3000), 400, "no such path", ""},
	} {
		r := ask(t, row.method, web.URL+row.path, "")
		if row.path == "/index.html" && r.status == 200 {
			continue
		}
		r.want(t, row.method+" "+row.path[:min(len(row.path), 60)], row.status, row.says)
		if !strings.HasPrefix(r.header.Get("Content-Type"), row.kind) {
			t.Errorf("%s is sent as %q", row.path, r.header.Get("Content-Type"))
		}
		csp := r.header.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'none'") || !strings.Contains(csp, "frame-ancestors 'none'") || r.header.Get("X-Content-Type-Options") != "nosniff" {
			t.Errorf("%s: headers %v", row.path, r.header)
		}
	}
	r := ask(t, "GET", web.URL+"/trainer.wasm", "", "Accept-Encoding", "gzip, br")
	if r.body != "packed" || r.header.Get("Content-Encoding") != "gzip" || r.header.Get("Content-Type") != "application/wasm" {
		t.Errorf("packed: %+v", r)
	}
	if r := ask(t, "GET", web.URL+"/trainer.wasm", "", "Accept-Encoding", "identity"); r.body != "plain" {
		t.Errorf("plain: %+v", r)
	}
	// Fetch metadata tell that the browser trusts the address (W3C): there alone it heeds
	// the opener policy, and elsewhere it complains of it.
	for trusted, policy := range map[string]string{"same-origin": "same-origin", "": ""} {
		if r := ask(t, "GET", web.URL+"/sub/page.js", "", "Sec-Fetch-Site", trusted); r.header.Get("Cross-Origin-Opener-Policy") != policy {
			t.Errorf("with Sec-Fetch-Site %q: opener policy %q, want %q", trusted, r.header.Get("Cross-Origin-Opener-Policy"), policy)
		}
	}
	_, bare := open(t, Options{})
	ask(t, "GET", bare.URL+"/", "").want(t, "not built", 200, "no browser edition")
}

// What is stored outlives the server, with code and key.
func TestStartedAgain(t *testing.T) {
	dir := t.TempDir()
	first, err := Open(Options{Data: dir, Title: "Tuesday"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Open(Options{Data: dir, Words: speech}); !errors.Is(err, errInUse) {
		t.Errorf("a second server on one folder: %v", err)
	}
	if err := first.Close(); err != nil {
		t.Fatal(err)
	}
	second, err := Open(Options{Data: dir, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	defer second.Close()
	if first.Code() != second.Code() || first.Key() != second.Key() || len(first.Key()) != 26 {
		t.Errorf("code %s then %s, key %s then %s", first.Code(), second.Code(), first.Key(), second.Key())
	}
}

// One stored file that has gone bad on the disk is named in the mark book; the
// others are none the worse. A store of another version is left alone.
func TestDamagedStore(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(Options{Data: dir, Sheets: []sheet.Sheet{testSheet()}, Opens: evening, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		data, id := file(t, i)
		if err := s.store.add(context.Background(), row{id: id, code: s.Code(), body: data, at: time.Now()}); err != nil {
			t.Fatal(err)
		}
	}
	_, bad := file(t, 1)
	if _, err := s.store.db.Exec(`UPDATE handin SET body = substr(body, 1, 500) WHERE id = ?`, bad); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = Open(Options{Data: dir, Words: speech}); err != nil {
		t.Fatal(err)
	}
	b, err := s.book(speech("en"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if v := s.board.view(s.Code(), 4, false); b.Counted != 2 || len(b.Issues) != 1 || b.Issues[0].File != bad+".json" || len(v) != 2 {
		t.Errorf("%d counted, %d on the board, %+v", b.Counted, len(v), b.Issues)
	}
	if _, err := s.store.db.Exec(`PRAGMA user_version = 7`); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(Options{Data: dir, Words: speech}); !errors.Is(err, errForm) {
		t.Errorf("a store of another version: %v", err)
	}
	path := filepath.Join(dir, "class.db")
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for what, data := range map[string][]byte{"cut short": whole[:len(whole)/2], "a text": []byte(strings.Repeat("no database ", 400))} {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(Options{Data: dir, Words: speech}); !errors.Is(err, errBroken) {
			t.Errorf("a store that is %s: %v", what, err)
		}
		if left, err := os.ReadFile(path); err != nil || !bytes.Equal(left, data) {
			t.Errorf("a store that is %s was changed: %v", what, err)
		}
	}
}

// Serve ends when its context does.
func TestGracefulEnd(t *testing.T) {
	_, address, stop, ended := serving(t)
	resp, err := http.Get("http://" + address + "/")
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(8 * time.Second):
		t.Error("it does not end")
	}
}

func TestRate(t *testing.T) {
	var log bytes.Buffer
	_, web := open(t, Options{Limits: Limits{PerSecond: 0.001, Burst: 20}, Log: logTo(&log)})
	limited := 0
	for range 60 {
		r := ask(t, "GET", web.URL+"/", "")
		if r.status == http.StatusTooManyRequests {
			limited++
			if r.header.Get("Retry-After") == "" {
				t.Error("no Retry-After")
			}
		}
	}
	if limited != 40 {
		t.Errorf("%d of 60 requests were held back, want 40", limited)
	}
	if n := strings.Count(log.String(), "too many requests"); n != 1 {
		t.Errorf("%d log lines, want 1", n)
	}
}

// A change that is on the disk is one in memory as well, also where whoever asked for it
// has gone: a key that was changed is not another one after a restart.
func TestChangedThoughNobodyWaits(t *testing.T) {
	s, _ := open(t, Options{Words: speech})
	before := s.Key()
	gone, leave := context.WithCancel(t.Context())
	leave()
	if err := s.obey(gone, asked{Do: "key"}); err != nil || s.Key() == before {
		t.Errorf("the key is %s, it was %s: %v", s.Key(), before, err)
	}
	if err := s.remove(gone, "of a hand-in"); err != nil || !s.board.isRemoved("of a hand-in") {
		t.Errorf("it is not removed: %v", err)
	}
	stored, err := openShelf[class](s.store, keptClass)
	if c, _ := stored.get(""); err != nil || c.Key != s.Key() {
		t.Errorf("on the disk the key is %s, in memory %s: %v", c.Key, s.Key(), err)
	}
}

// A store of which parts are damaged is told of in one sentence.
func TestDamagedStoreInOneSentence(t *testing.T) {
	dir := t.TempDir()
	s, err := Open(Options{Data: dir, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{keptSheets, keptClass} {
		if _, err := s.store.db.Exec(`INSERT INTO kept (kind, name, value) VALUES (?, 'odd', '{')`, kind); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(Options{Data: dir, Words: speech}); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("the error is %q", err)
	}
}

// While hand-ins are read, for an archive that somebody downloads slowly or for as long as
// they are checked, others are stored.
func TestStoredWhileRead(t *testing.T) {
	s, err := openStore(t.TempDir(), 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	put := func(i int) error { return s.add(ctx, row{id: fmt.Sprint("id ", i), body: []byte("{}"), at: evening}) }
	for i := range 40 {
		if err := put(i); err != nil {
			t.Fatal(err)
		}
	}
	var ids []string
	err = s.each(func(r row) error {
		ids = append(ids, r.id)
		if len(ids) > 40 {
			return nil
		}
		return put(39 + len(ids))
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, id := range ids {
		if id != fmt.Sprint("id ", i) {
			t.Errorf("hand-in %d is %s", i, id)
		}
	}
	if len(ids) < 40 {
		t.Errorf("%d of 40 are read", len(ids))
	}
}
