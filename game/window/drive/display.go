package drive

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"
)

// Display starts a virtual display of its own and returns its name.
func Display(t testing.TB, size string) string {
	t.Helper()
	r, w, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	// Without -noreset it starts again whenever its last client leaves, as after a
	// check that there is a display, and whoever comes then is refused. With -r a
	// key that is held until its effect is seen writes one letter.
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-noreset", "-r", "-screen", "0", size+"x24", "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{w}
	if err := cmd.Start(); err != nil {
		t.Fatalf("the virtual display does not start: %v", err)
	}
	w.Close()
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
		r.Close()
	})
	r.SetReadDeadline(time.Now().Add(Patience))
	line, err := bufio.NewReader(r).ReadString('\n')
	if err != nil {
		t.Fatalf("the virtual display does not say its number: %v", err)
	}
	return ":" + strings.TrimSpace(line)
}

// Xdotool does on a display what hands do: one process of xdotool throughout.
type Xdotool struct {
	t  testing.TB
	in io.Writer // takes commands, one a line
}

// NewXdotool starts it for a display; it ends with the test.
func NewXdotool(t testing.TB, display string) *Xdotool {
	t.Helper()
	cmd := exec.Command("xdotool", "-")
	cmd.Env = append(os.Environ(), "DISPLAY="+display)
	said := &Output{}
	cmd.Stdout, cmd.Stderr = io.Discard, said
	in, err := cmd.StdinPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatalf("xdotool: %v", err)
	}
	t.Cleanup(func() {
		in.Close()
		cmd.Process.Kill()
		cmd.Wait()
		if t.Failed() {
			t.Logf("xdotool: %s", said)
		}
	})
	return &Xdotool{t, in}
}

// Do runs one of its commands; what comes of it is to be waited for.
func (x *Xdotool) Do(args ...string) {
	x.t.Helper()
	var line strings.Builder
	for _, arg := range args {
		fmt.Fprintf(&line, "%q ", arg)
	}
	if _, err := fmt.Fprintln(x.in, line.String()); err != nil {
		x.t.Fatalf("xdotool %v: %v", args, err)
	}
}

// Output is what a program says while it runs.
type Output struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (o *Output) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.Write(p)
}

func (o *Output) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.String()
}
