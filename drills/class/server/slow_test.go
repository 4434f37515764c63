//go:build !js

package server

import (
	"bytes"
	"context"
	"errors"
	"io"
	"net"
	"os"
	"runtime"
	"testing"
	"testing/fstest"
	"time"

	"slowneedle/drills/class/client"
)

// A server whose connections are taken up by 300 clients that send their
// requests a byte at a time, or nothing, or read nothing of the answer, goes on
// answering the class; those that do not get their headers together are shown
// the door after five seconds.
func TestSlowClients(t *testing.T) {
	t.Parallel()
	s, address, stop, ended := serving(t)
	before := runtime.NumGoroutine()

	request := "POST /api/handin HTTP/1.1\r\nHost: localhost\r\n" + client.TokenHeader + ": " + token(s) + "\r\nContent-Length: 100000\r\n\r\n{\"format\":"
	head := len("POST /api/handin HTTP/1.1\r\n")
	kinds := []string{"silent", "part of a header", "part of a body", "deaf"}
	slow := make(map[string][]net.Conn)
	for i := range 300 {
		conn, err := net.Dial("tcp", address)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close()
		kind := kinds[i%len(kinds)]
		slow[kind] = append(slow[kind], conn)
		switch kind {
		case "part of a header":
			io.WriteString(conn, request[:head+i%20])
		case "part of a body":
			io.WriteString(conn, request)
		case "deaf":
			conn.(*net.TCPConn).SetReadBuffer(2048)
			io.WriteString(conn, "GET / HTTP/1.1\r\nHost: localhost\r\n\r\nGET / HTTP/1.1\r\nHost: localhost\r\n\r\n")
		}
	}
	// A byte now and then keeps nothing alive.
	drip := time.NewTicker(200 * time.Millisecond)
	defer drip.Stop()
	enough, dripped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(dripped)
		for i := 0; ; i++ {
			select {
			case <-enough:
				return
			case <-drip.C:
			}
			for _, conn := range slow["part of a header"] {
				io.WriteString(conn, "x")
			}
			for _, conn := range slow["part of a body"] {
				io.WriteString(conn, " ")
			}
		}
	}()

	from := time.Now()
	c := client.Client{Base: "http://" + address}
	for i := range 10 {
		data, id := file(t, i)
		if r, err := c.HandIn(context.Background(), data); err != nil || r.ID != id || r.Known {
			t.Fatalf("hand-in %d beside slow clients: %+v, %v", i, r, err)
		}
	}
	t.Logf("10 hand-ins beside %d slow clients took %v", 300, time.Since(from).Round(time.Millisecond))
	for _, kind := range kinds[:2] {
		for i, conn := range slow[kind] {
			conn.SetReadDeadline(from.Add(25 * time.Second))
			answer, err := io.ReadAll(conn)
			if errors.Is(err, os.ErrDeadlineExceeded) {
				t.Fatalf("client %d that sends %s is still connected after %v", i, kind, time.Since(from))
			}
			if len(answer) > 0 && !bytes.HasPrefix(answer, []byte("HTTP/1.1 4")) {
				t.Errorf("client %d that sends %s is answered %.80q", i, kind, answer)
			}
		}
	}
	t.Logf("those without headers were gone after %v", time.Since(from).Round(time.Millisecond))
	for _, list := range slow {
		for _, conn := range list {
			conn.Close()
		}
	}
	close(enough)
	stop()
	<-dripped
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if n := len(rows(t, s)); n != 10 {
		t.Errorf("%d hand-ins are stored, want 10", n)
	}
	if n := runtime.NumGoroutine(); n > before+50 {
		t.Errorf("%d goroutines are left of the slow clients, %d were there before", n, before)
	}
}

// Who asks for the browser edition and reads nothing of it is let go.
func TestUnreadAnswer(t *testing.T) {
	big := make([]byte, 64<<20) // more than the buffers on the way hold
	s, err := Open(Options{Data: t.TempDir(), Words: speech, App: fstest.MapFS{"index.html": {}, "trainer.wasm": {Data: big}}})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	s.unread = time.Second
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ctx, l) }()
	conn, err := net.Dial("tcp", l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close()
	io.WriteString(conn, "GET /trainer.wasm HTTP/1.1\r\nHost: localhost\r\n\r\n")
	from := time.Now()
	gone := make(chan struct{})
	go func() { // a server that waits for its last answer does not end
		defer close(gone)
		buffer := make([]byte, 1)
		io.ReadFull(conn, buffer) // the answer has begun
		stop()
		<-ended
	}()
	select {
	case <-gone:
		t.Logf("let go after %v", time.Since(from).Round(time.Millisecond))
	case <-time.After(9 * time.Second): // Shutdown itself gives up after ten
		t.Error("the server still waits for somebody who reads nothing")
	}
}
