//go:build !js

package server

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/assets"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/demo"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
	"slowneedle/game/words"
)

func TestMain(m *testing.M) {
	if os.Getenv("CLASS_SERVER_DATA") != "" {
		serveForever()
		return
	}
	os.Exit(m.Run())
}

func speech(language string) report.Words {
	w, err := assets.Load(language)
	if err != nil {
		panic(err)
	}
	return &words.Speech{Words: w}
}

// evening is when hand-ins were begun: shortly before they arrive.
var evening = time.Now().Add(-30 * time.Minute).UTC().Truncate(time.Second)

// testSheet is a short sheet of the main drill.
func testSheet() sheet.Sheet {
	s := sheet.New(90210)
	s.Rounds, s.Level, s.ToleranceDB = 4, 3, 1.5
	return s
}

var bench handin.RoundCache

var seat = sync.OnceValue(func() *demo.Seat {
	s, err := demo.NewSeat(&bench, testSheet())
	if err != nil {
		panic(err)
	}
	return s
})

// file is the nth learner's hand-in.
func file(t testing.TB, n int) (data []byte, id string) {
	t.Helper()
	l := demo.Class(9, n+1)[n]
	h, err := seat().HandIn(l, 9, 0, "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	if data, err = h.File(); err != nil {
		t.Fatal(err)
	}
	return data, h.ID
}

// open starts a server on a loopback port of its own.
func open(t testing.TB, o Options) (*Server, *httptest.Server) {
	t.Helper()
	if o.Sheets == nil {
		o.Sheets = []sheet.Sheet{testSheet()}
	}
	if o.Opens.IsZero() {
		o.Opens = evening
	}
	if o.Data == "" {
		o.Data = t.TempDir()
	}
	if o.Words == nil {
		o.Words = speech
	}
	s, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	web := httptest.NewServer(s)
	t.Cleanup(func() {
		web.Close()
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s, web
}

type reply struct {
	status int
	header http.Header
	body   string
}

// ask sends one request without following redirects.
func ask(t testing.TB, method, url, body string, header ...string) reply {
	t.Helper()
	req, err := http.NewRequest(method, url, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(header); i += 2 {
		req.Header.Set(header[i], header[i+1])
	}
	c := http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	resp, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	var b bytes.Buffer
	if _, err := io.Copy(&b, resp.Body); err != nil {
		t.Fatal(err)
	}
	return reply{resp.StatusCode, resp.Header, b.String()}
}

func (r reply) want(t testing.TB, what string, status int, says string) {
	t.Helper()
	if r.status != status || !strings.Contains(r.body, says) {
		t.Errorf("%s: %d %.300s, want %d with %q", what, r.status, r.body, status, says)
	}
}

func cookie(s *Server) string { return s.cookie + "=" + s.Key() }

func setKey(t *testing.T, s *Server, key string) {
	t.Helper()
	if err := s.class.change(t.Context(), "", func(c *class) error { c.Key = key; return nil }); err != nil {
		t.Fatal(err)
	}
}

// token joins as a learner does.
func token(s *Server) string { return s.quotas.join("192.168.1.20:5000") }

// send posts what a learner who has joined sends.
func send(t testing.TB, s *Server, url, body string) reply {
	t.Helper()
	return ask(t, "POST", url, body, client.TokenHeader, token(s))
}

func at(web *httptest.Server) client.Client { return client.Client{Base: web.URL} }

func progressJSON(code, id, who string, round int, takes string) string {
	return fmt.Sprintf(`{"code":%q,"id":%q,"who":%q,"round":%d,"takes":[%s]}`, code, id, who, round, takes)
}

// serving serves on a port of its own until stop is called; ended then gives
// what Serve returned.
func serving(t *testing.T) (s *Server, address string, stop context.CancelFunc, ended chan error) {
	t.Helper()
	s, err := Open(Options{Data: t.TempDir(), Sheets: []sheet.Sheet{testSheet()}, Opens: evening, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended = make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	return s, l.Addr().String(), stop, ended
}
