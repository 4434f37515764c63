//go:build !js

package server

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
)

// TestNames: requests for this machine's names are answered, those for others,
// as of a page that has turned its own name to this machine, are not.
func TestNames(t *testing.T) {
	own, err := os.Hostname()
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	s, web := open(t, Options{Names: []string{"Classroom.school.example."}, Log: logTo(&log)})
	for _, c := range []struct {
		host string
		ours bool
	}{
		{"127.0.0.1:8410", true},
		{"192.168.1.20:8410", true},
		{"[::1]:8410", true},
		{"[fe80::1%25eth0]:8410", true},
		{"localhost", true},
		{"LOCALHOST:8410", true},
		{own, true},
		{strings.ToUpper(own) + ".:8410", true},
		{"teacher.local:8410", true},
		{"teacher-pc.lan:8410", true},
		{"teacher-pc.home.arpa", true},
		{"classroom.school.example:8410", true},
		{"evil.example", false},
		{"evil.example:8410", false},
		{"localhost.evil.example", false},
		{own + ".evil.example:8410", false},
		{"local", false},
		{".local", false},
		{"evil-local", false},
		{"evil.arpa", false},
		{".lan", false},
		{"teacher-pc.lan.evil.example", false},
		{"127.0.0.1.evil.example:8410", false},
		{"school.example", false},
	} {
		for _, path := range []string{"/", "/teacher?key=" + s.Key(), "/api/sheet?code=" + strings.ReplaceAll(s.Code(), " ", "")} {
			req, err := http.NewRequest("GET", web.URL+path, nil)
			if err != nil {
				t.Fatal(err)
			}
			req.Host = c.host
			resp, err := http.DefaultTransport.RoundTrip(req) // which follows nowhere
			if err != nil {
				t.Fatalf("%s: %v", c.host, err)
			}
			says, err := io.ReadAll(resp.Body)
			resp.Body.Close()
			if err != nil {
				t.Fatal(err)
			}
			refused := resp.StatusCode == http.StatusMisdirectedRequest
			if refused == c.ours || refused && !strings.Contains(string(says), "does not go by that name") {
				t.Errorf("%s%s: %d %.100s, want it answered: %v", c.host, path, resp.StatusCode, says, c.ours)
			}
			if refused && resp.Header.Get("Set-Cookie") != "" {
				t.Errorf("%s%s: refused, but with a cookie", c.host, path)
			}
		}
	}
	if !strings.Contains(log.String(), "status=421") {
		t.Error("nothing of it is in the log")
	}
}

// A board that was opened on the server's own machine shows the address at
// which the class finds it.
func TestBoardShowsWhereTheClassFindsIt(t *testing.T) {
	s, _ := open(t, Options{Reach: "192.168.1.20:8410", Names: []string{"studio"}})
	for host, want := range map[string]string{
		"127.0.0.1:8410":    "192.168.1.20:8410",
		"localhost:8410":    "192.168.1.20:8410",
		"[::1]:8410":        "192.168.1.20:8410",
		"10.0.0.7:8410":     "10.0.0.7:8410",
		"studio:8410":       "studio:8410",
		"127.0.0.1":         "192.168.1.20:8410",
		"studio.local:8410": "studio.local:8410",
	} {
		r := httptest.NewRequest(http.MethodGet, "/teacher?key="+s.Key(), nil)
		r.Host = host
		w := httptest.NewRecorder()
		s.ServeHTTP(w, r)
		for _, c := range w.Result().Cookies() { // the key leads to the board
			r = httptest.NewRequest(http.MethodGet, "/teacher", nil)
			r.Host = host
			r.AddCookie(c)
			w = httptest.NewRecorder()
			s.ServeHTTP(w, r)
		}
		if page := w.Body.String(); !strings.Contains(page, "http://"+want+"/") || want != host && strings.Contains(page, host) {
			t.Errorf("opened at %s, the board does not show %s: %d %.200s", host, want, w.Code, page)
		}
	}
	alone, _ := open(t, Options{})
	r := httptest.NewRequest(http.MethodGet, "/teacher", nil)
	r.Host = "127.0.0.1:8410"
	r.Header.Set("Cookie", cookie(alone))
	w := httptest.NewRecorder()
	alone.ServeHTTP(w, r)
	if page := w.Body.String(); !strings.Contains(page, "--listen 0.0.0.0:8410") || strings.Contains(page, "http://127.0.0.1:8410/") {
		t.Errorf("alone on its machine, the board does not say how others reach it: %.300s", page)
	}
}
