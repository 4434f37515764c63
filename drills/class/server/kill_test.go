//go:build !js

package server

import (
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"net"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/demo"
	"slowneedle/drills/class/sheet"
)

// serveForever is the server process that TestKilledWhileHandingIn kills.
func serveForever() {
	s, err := Open(Options{Data: os.Getenv("CLASS_SERVER_DATA"), Sheets: []sheet.Sheet{testSheet()}, Opens: evening, Words: speech, Limits: Limits{PerSecond: 1e6, Burst: 1e6, Learners: 1000, PerAddress: 1e6}})
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	l, err := net.Listen("tcp", os.Getenv("CLASS_SERVER_ADDRESS"))
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	s.Serve(context.Background(), l)
}

// TestKilledWhileHandingIn: 300 learners hand in at once, each sending until the
// server says that it has it, some of them once more for good measure, while the
// server's process is killed again and again at random moments and started again.
// Nothing acknowledged is lost, nothing is doubled.
func TestKilledWhileHandingIn(t *testing.T) {
	const learners, kills = 300, 12
	dir := t.TempDir()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	address := free.Addr().String()
	free.Close()

	class := demo.Class(5, learners)
	files := make([][]byte, learners)
	for i, l := range class {
		h, err := seat().HandIn(l, 5, 0, "slowneedle test", evening)
		if err != nil {
			t.Fatal(err)
		}
		if files[i], err = h.File(); err != nil {
			t.Fatal(err)
		}
	}

	start := func() *exec.Cmd {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "CLASS_SERVER_DATA="+dir, "CLASS_SERVER_ADDRESS="+address)
		cmd.Stderr = os.Stderr
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		return cmd
	}
	ctx, cancel := context.WithTimeout(context.Background(), 100*time.Second)
	defer cancel()
	var wg sync.WaitGroup
	acknowledged := make(chan struct{}, learners)
	receipts := make([]client.Receipt, learners)
	for i := range learners {
		wg.Go(func() {
			c := client.Client{Base: "http://" + address, Wait: func(int) time.Duration { return 20*time.Millisecond + rand.N(60*time.Millisecond) }}
			r, err := c.HandIn(ctx, files[i])
			if err != nil {
				t.Errorf("learner %d: %v", i, err)
				return
			}
			receipts[i] = r
			acknowledged <- struct{}{}
			if i%3 == 0 {
				if again, err := c.HandIn(ctx, files[i]); err != nil || !again.Known || again.ID != r.ID {
					t.Errorf("learner %d sends again: %+v, %v", i, again, err)
				}
			}
		})
	}
	killed := 0
	for killed < kills {
		cmd := start()
		// Killed after so many more acknowledgements, or after a random while: also
		// while it opens, and in the middle of a commit.
		enough := time.After(rand.N(700 * time.Millisecond))
	wait:
		for range rand.IntN(learners/kills + 1) {
			select {
			case <-acknowledged:
			case <-enough:
				break wait
			case <-ctx.Done():
				break wait
			}
		}
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		cmd.Wait() // it was killed
		killed++
	}
	cmd := start()
	wg.Wait()
	cmd.Process.Kill()
	cmd.Wait() // it was killed

	s, err := Open(Options{Data: dir, Sheets: []sheet.Sheet{testSheet()}, Opens: evening, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	stored := make(map[string]string)
	for _, r := range rows(t, s) {
		if _, ok := stored[r.id]; ok {
			t.Errorf("%s is there twice", r.id)
		}
		stored[r.id] = string(r.body)
	}
	for i, r := range receipts {
		if stored[r.ID] != string(files[i]) {
			t.Errorf("learner %d was acknowledged, but %q is not stored as it was sent", i, r.ID)
		}
	}
	if len(stored) != learners {
		t.Errorf("%d hand-ins are stored, of %d learners", len(stored), learners)
	}
	b, err := s.book(speech("en"), nil)
	if err != nil {
		t.Fatal(err)
	}
	if b.Counted != learners || len(b.Learners) != learners || len(b.Issues) != 0 {
		q, _ := json.Marshal(b.Issues)
		t.Errorf("the mark book counts %d hand-ins of %d learners, issues %.300s", b.Counted, len(b.Learners), q)
	}
	t.Logf("%d learners, %d kills, %d stored", learners, killed, len(stored))
}
