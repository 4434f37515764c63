//go:build !js

package client

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

const file = `{"id":"0123456789abcdef0123456789abcdef","code":"C"}`

// joined has a client's program join a server without asking it.
func joined(c *Client) *Client {
	tokens.Store(c.Base+"\nC", "token")
	return c
}

// TestResends goes through everything that is no acknowledgement before one.
func TestResends(t *testing.T) {
	answers := []struct {
		status int
		body   string
	}{
		{503, `{"error":"it could not be stored"}`},
		{200, "<html>please log in to the network</html>"},
		{200, `{"id":"ffffffffffffffffffffffffffffffff"}`},
		{429, `{"error":"too many requests"}`},
		{502, ""},
		{507, `{"error":"the store is full"}`},
		{0, ""}, // the connection breaks
		{201, `{"id":"0123456789abcdef0123456789abcdef","points":80}`},
	}
	var n atomic.Int32
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a := answers[n.Add(1)-1]
		if a.status == 0 {
			panic(http.ErrAbortHandler)
		}
		w.WriteHeader(a.status)
		w.Write([]byte(a.body))
	}))
	defer web.Close()
	var waits []int
	c := Client{Base: web.URL + "/", Wait: func(attempt int) time.Duration { waits = append(waits, attempt); return 0 }}
	r, err := joined(&c).HandIn(context.Background(), []byte(file))
	if err != nil || r.Points != 80 || r.Known {
		t.Errorf("%+v, %v", r, err)
	}
	if len(waits) != 7 || waits[6] != 7 {
		t.Errorf("waits %v", waits)
	}
}

func TestRefusalsAreFinal(t *testing.T) {
	for _, status := range []int{400, 403, 404, 409, 410, 413, 422} {
		var n atomic.Int32
		web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
			n.Add(1)
			w.WriteHeader(status)
			w.Write([]byte(`{"error":"because"}`))
		}))
		c := Client{Base: web.URL, Wait: func(int) time.Duration { return 0 }}
		_, err := joined(&c).HandIn(context.Background(), []byte(file))
		var refused *Refused
		if !errors.As(err, &refused) || refused.Status != status || refused.Says != "because" || n.Load() != 1 {
			t.Errorf("%d: %v after %d tries", status, err, n.Load())
		}
		web.Close()
	}
}

func TestGivesUpWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	c := Client{Base: "http://127.0.0.1:1", Wait: func(attempt int) time.Duration {
		if attempt == 3 {
			cancel()
		}
		return 0
	}}
	_, err := c.HandIn(ctx, []byte(file))
	if !errors.Is(err, context.Canceled) || !strings.Contains(err.Error(), "not acknowledged yet") {
		t.Error(err)
	}
	if _, err := c.HandIn(context.Background(), []byte("{}")); err == nil {
		t.Error("what is no hand-in is sent")
	}
}
