//go:build !js

package server

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
)

// safe is a writer for logs of several goroutines.
type safe struct {
	mu sync.Mutex
	w  io.Writer
}

func (s *safe) Write(b []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.w.Write(b)
}

func logTo(w io.Writer) *slog.Logger { return slog.New(slog.NewTextHandler(&safe{w: w}, nil)) }

// state is everything a class holds: store and board.
func state(t *testing.T, s *Server) string {
	t.Helper()
	v := s.board.view(s.Code(), 4, true)
	for i := range v {
		v[i].IdleMin = 0
	}
	text, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	out := string(text)
	for _, r := range rows(t, s) {
		out += fmt.Sprintf("\n%s %v %x", r.id, r.removed, r.body)
	}
	return out
}

// TestHostile sends what should not be sent, by hand and from the corpus: each
// is refused with a clear status and a log line, and changes nothing.
func TestHostile(t *testing.T) {
	var log bytes.Buffer
	s, web := open(t, Options{Log: logTo(&log)})
	good, id := file(t, 0)
	other, otherID := file(t, 1)
	c := at(web)
	if _, err := c.HandIn(context.Background(), good); err != nil {
		t.Fatal(err)
	}
	before := state(t, s)

	swapped := testSheet()
	swapped.Seed++
	elsewhere := strings.Replace(string(other), `"seed": 90210`, fmt.Sprintf(`"seed": %d`, swapped.Seed), 1)
	code, err := swapped.Code()
	if err != nil {
		t.Fatal(err)
	}
	edit := func(old, new string) string {
		if !strings.Contains(string(other), old) {
			t.Fatalf("the hand-in has no %s", old)
		}
		return strings.Replace(string(other), old, new, 1)
	}
	type attempt struct {
		name, method, path, body string
		status                   int
	}
	attempts := []attempt{
		{"wrong code", "GET", "/api/sheet?code=" + strings.ReplaceAll(code, " ", ""), "", 404},
		{"no code", "GET", "/api/sheet", "", 400},
		{"code with a script", "GET", "/api/sheet?code=%3Cscript%3Ealert(1)%3C/script%3E", "", 400},
		{"code of a mile", "GET", "/api/sheet?code=" + strings.Repeat("A", 1500), "", 400},
		{"hand-in by GET", "GET", "/api/handin", "", 404},
		{"hand-in by DELETE", "DELETE", "/api/handin", string(other), 404},
		{"unknown path", "POST", "/api/handin/../../teacher/report", string(other), 400},
		{"oversize", "POST", "/api/handin", string(other) + strings.Repeat(" ", handin.MaxFile), 413},
		{"truncated", "POST", "/api/handin", string(other[:len(other)/2]), 400},
		{"same id, other takes", "POST", "/api/handin", edit(`"id": "`+otherID, `"id": "`+id), 422},
		{"name with a script", "POST", "/api/handin", edit(`"who": "`, `"who": "<script>alert(1)</script>`), 422},
		{"id that is a path", "POST", "/api/handin", edit(`"id": "`+otherID, `"id": "../../../../../../../etc/passwd`), 400},
		{"changed points", "POST", "/api/handin", edit(`"points": `, `"points": 1`), 422},
		{"another sheet", "POST", "/api/handin", elsewhere, 422},
		{"another sheet and its code", "POST", "/api/handin", strings.Replace(elsewhere, s.Code(), code, 1), 404},
		{"two hand-ins in one", "POST", "/api/handin", string(other) + string(other), 400},
		{"a list", "POST", "/api/handin", "[" + string(other) + "]", 400},
		{"progress: oversize", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 1, "") + strings.Repeat(" ", maxShort), 413},
		{"progress: wrong code", "POST", "/api/progress", progressJSON(code, otherID, "A", 1, ""), 404},
		{"progress: no code", "POST", "/api/progress", progressJSON("", otherID, "A", 1, ""), 400},
		{"progress: id", "POST", "/api/progress", progressJSON(s.Code(), "../../x", "A", 1, ""), 400},
		{"progress: name", "POST", "/api/progress", progressJSON(s.Code(), otherID, "\u202e", 1, ""), 400},
		{"progress: round 0", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 0, ""), 400},
		{"progress: round 6", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 6, ""), 400},
		{"progress: takes of rounds to come", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 1, `{"error_db":0,"in_window":true,"points":1},{"error_db":0,"in_window":true,"points":1}`), 400},
		{"progress: numbers", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 2, `{"error_db":1e300,"in_window":true,"points":1}`), 400},
		{"progress: points", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 2, `{"error_db":1,"in_window":true,"points":-5}`), 400},
		{"progress: more fields", "POST", "/api/progress", strings.Replace(progressJSON(s.Code(), otherID, "A", 1, ""), "{", `{"admin":true,`, 1), 400},
		{"progress: not JSON", "POST", "/api/progress", "round=1", 400},
		{"name of nothing to see", "POST", "/api/handin", edit(`"who": "`, `"who": "\u3164\u115f`), 400},
		{"name that turns round", "POST", "/api/handin", edit(`"who": "`, `"who": "\u202e`), 400},
		{"name of marks", "POST", "/api/handin", edit(`"who": "`, `"who": "Z`+strings.Repeat("\u0323", 20)), 400},
		{"language that is a path", "POST", "/api/handin", edit(`"who": "`, `"language": "../../x", "who": "`), 400},
		{"ended in 1601", "POST", "/api/handin", strings.Replace(string(other), `"ended": "20`, `"ended": "16`, 1), 400},
		{"progress: name of a blank", "POST", "/api/progress", progressJSON(s.Code(), otherID, "\u2800", 1, ""), 400},
		{"progress: letters of two scripts", "POST", "/api/progress", progressJSON(s.Code(), otherID, "T\u043em", 1, ""), 400},
		{"progress: no takes but many rounds", "POST", "/api/progress", progressJSON(s.Code(), otherID, "A", 1e6, ""), 400},
		{"verdicts of nobody", "GET", "/api/verdicts?id=" + otherID, "", 404},
		{"progress: a lock that is none", "POST", "/api/progress", strings.Replace(progressJSON(s.Code(), otherID, "A", 2, ""), "{", `{"locked":["<script>"],`, 1), 400},
		{"progress: locks of rounds to come", "POST", "/api/progress", strings.Replace(progressJSON(s.Code(), otherID, "A", 1, ""), "{", `{"locked":["`+strings.Repeat("0", 64)+`"],`, 1), 400},
		{"a take of an exam on a sheet", "POST", "/api/handin", edit(`"round": 1,`, `"round": 1, "drawn": {"index": 0, "seed": 1},`), 400},
		{"a round of an exam that is none", "POST", "/api/handin", edit(`"round": 1,`, `"round": 1, "drawn": {"index": -1, "seed": 1e99},`), 400},
		{"an exam without its rounds", "POST", "/api/handin", edit(`"seed": 90210`, `"seed": 90210, "exam": true`), 400},
		{"roster of another class", "GET", "/api/roster?typed=a&code=" + strings.ReplaceAll(code, " ", ""), "", 404},
		{"result of nobody", "GET", "/r/" + strings.Repeat("0", 12), "", 404},
		{"result by a shorter id", "GET", "/r/" + id[:11], "", 404},
		{"result by a path", "GET", "/r/..%2f..%2fteacher", "", 400},
		{"teacher's button without key", "POST", "/teacher/do", `{"do":"key"}`, 403},
		{"board without key", "GET", "/teacher/board.json?names=1", "", 403},
		{"teacher without key", "GET", "/teacher/report", "", 403},
		{"teacher with an empty key", "GET", "/teacher?key=", "", 403},
		{"teacher with a guess", "GET", "/teacher?key=" + strings.Repeat("a", 26), "", 403},
	}
	corpus := filepath.Join("..", "..", "..", "testdata", "class", "hostile")
	files, err := os.ReadDir(corpus)
	if err != nil || len(files) < 10 {
		t.Fatalf("%d files in the corpus, %v", len(files), err)
	}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(corpus, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		attempts = append(attempts,
			attempt{"hand-in " + f.Name(), "POST", "/api/handin", string(data), 0},
			attempt{"progress " + f.Name(), "POST", "/api/progress", string(data), 0})
	}
	for _, a := range attempts {
		t.Run(a.name, func(t *testing.T) {
			log.Reset()
			r := ask(t, a.method, web.URL+a.path, a.body, "Content-Type", "application/json", client.TokenHeader, token(s))
			if a.status != 0 && r.status != a.status || r.status < 400 || r.status > 499 {
				t.Errorf("status %d, want %d: %.200s", r.status, a.status, r.body)
			}
			var said struct{ Error string }
			if err := json.Unmarshal([]byte(r.body), &said); err != nil || said.Error == "" || strings.Contains(said.Error, "goroutine") {
				t.Errorf("the answer has no sentence: %.200s", r.body)
			}
			if n := strings.Count(log.String(), "\n"); n != 1 || !strings.Contains(log.String(), "refused") {
				t.Errorf("log has %d lines: %.300s", n, log.String())
			}
			if after := state(t, s); after != before {
				t.Errorf("it changed something")
			}
		})
	}
	// A page of another site.
	for _, path := range []string{"/api/handin", "/api/progress"} {
		ask(t, "POST", web.URL+path, string(other), "Origin", "https://elsewhere.example", "Sec-Fetch-Site", "cross-site").
			want(t, "another site", http.StatusForbidden, "another site")
	}
	if after := state(t, s); after != before {
		t.Error("another site's page changed something")
	}
	// After all that, an honest one still goes through.
	if r, err := c.HandIn(context.Background(), other); err != nil || r.ID != otherID {
		t.Errorf("%+v, %v", r, err)
	}
}

// The same id with another whole hand-in is a clash, not a replacement.
func TestSameIDOtherFile(t *testing.T) {
	s, web := open(t, Options{})
	first, _ := file(t, 0)
	h, err := handin.Read(first)
	if err != nil {
		t.Fatal(err)
	}
	c := at(web)
	if _, err := c.HandIn(context.Background(), first); err != nil {
		t.Fatal(err)
	}
	before := state(t, s)
	h.Who = "Someone Else"
	second, err := h.File()
	if err != nil {
		t.Fatal(err)
	}
	send(t, s, web.URL+"/api/handin", string(second)).want(t, "clash", http.StatusConflict, "same id")
	if state(t, s) != before {
		t.Error("it changed something")
	}
}

// A client that sends its request a byte at a time does not hold a place for
// ever, and nonsense on the wire is no request.
func TestRawConnections(t *testing.T) {
	_, address, stop, ended := serving(t)
	for _, raw := range []string{
		"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03\r\n\r\n",
		"GET / HTTP/1.1\r\n\r\n",
		"POST /api/handin HTTP/1.1\r\nHost: localhost\r\nContent-Length: -1\r\n\r\n",
		"POST /api/handin HTTP/1.1\r\nHost: localhost\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\nzzzz\r\n\r\n",
		"GET /" + strings.Repeat("a", 40000) + " HTTP/1.1\r\nHost: localhost\r\n\r\n",
		"GET / HTTP/1.1\r\nHost: localhost\r\n" + strings.Repeat("X: "+strings.Repeat("y", 1000)+"\r\n", 40) + "\r\n",
	} {
		conn, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		conn.SetDeadline(time.Now().Add(8 * time.Second))
		io.WriteString(conn, raw)
		answer, _ := io.ReadAll(io.LimitReader(conn, 1<<16))
		if !bytes.HasPrefix(answer, []byte("HTTP/1.1 4")) {
			t.Errorf("%.40q is answered %.80q", raw, answer)
		}
		conn.Close()
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
