//go:build !js

package client

import (
	"context"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// What answers is not always the class server: a network's log-in page, a
// broken one, one that sends without end. Each is one sentence, none is a sheet.
func TestOddAnswers(t *testing.T) {
	for _, tt := range []struct {
		name   string
		status int
		body   string
		says   string // the error of Join and of Progress
	}{
		{"a log-in page", 200, "<html>please log in</html>", "makes no sense"},
		{"a sheet cut off", 200, `{"code":"4GAH`, "makes no sense"},
		{"a wrong code", 404, `{"error":"there is no such class"}`, "there is no such class"},
		{"no reason given", 503, "", "refuses it"},
		{"a megabyte and more", 200, strings.Repeat("a", 1<<20+1), "too long"},
	} {
		web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			w.WriteHeader(tt.status)
			io.WriteString(w, tt.body)
		}))
		c := Client{Base: web.URL}
		j, err := c.Join(context.Background(), "4GAH 6AW7", "")
		if err == nil || !strings.Contains(err.Error(), tt.says) || j.Code != "" {
			t.Errorf("%s: Join gives %+v, %v", tt.name, j, err)
		}
		_, err = joined(&c).Progress(context.Background(), Progress{Code: "C"})
		if err == nil || !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%s: Progress gives %v", tt.name, err)
		}
		var refused *Refused
		if tt.status >= 400 && (!errors.As(err, &refused) || refused.Status != tt.status) {
			t.Errorf("%s: %v is no refusal with its status", tt.name, err)
		}
		web.Close()
	}
	nobody := Client{Base: "http://127.0.0.1:1"}
	if _, err := nobody.Join(context.Background(), "x", ""); err == nil || !strings.Contains(err.Error(), "does not answer") {
		t.Errorf("nobody there: %v", err)
	}
	if _, err := nobody.Progress(context.Background(), Progress{}); err == nil || !strings.Contains(err.Error(), "does not answer") {
		t.Errorf("nobody there: %v", err)
	}
}

// A server that asks for a pause gets it, though not more than half a minute,
// and a class that resends does not knock in step: waits double up to eight
// seconds, each between a half and one and a half of that.
func TestWaits(t *testing.T) {
	for _, tt := range []struct {
		said string
		want time.Duration
	}{{"2", 2 * time.Second}, {"86400", 30 * time.Second}, {"-5", 0}, {"soon", 0}, {"", 0}} {
		web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			if tt.said != "" {
				w.Header().Set("Retry-After", tt.said)
			}
			w.WriteHeader(http.StatusTooManyRequests)
		}))
		c := Client{Base: web.URL}
		if a, err := c.do(context.Background(), "GET", "/", "", nil); err != nil || a.after != tt.want {
			t.Errorf("Retry-After %q is taken as %v, %v", tt.said, a.after, err)
		}
		web.Close()
	}
	for attempt, middle := range map[int]time.Duration{-1: 250, 0: 250, 1: 250, 2: 500, 3: 1000, 5: 4000, 6: 8000, 7: 8000, 1000: 8000} {
		middle *= time.Millisecond
		least, most := time.Hour, time.Duration(0)
		for range 1000 {
			w := Patiently(attempt)
			least, most = min(least, w), max(most, w)
		}
		if least < middle/2 || most > middle*3/2 || most-least < middle/2 {
			t.Errorf("attempt %d waits %v to %v, want %v to %v", attempt, least, most, middle/2, middle*3/2)
		}
	}
}
