package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
)

// A server that listens everywhere tells this machine's own address first, and each once.
func TestAddresses(t *testing.T) {
	one := &net.TCPAddr{IP: net.IPv4(192, 0, 2, 7), Port: 8410}
	if got := addresses(one); !slices.Equal(got, []string{"http://192.0.2.7:8410"}) {
		t.Errorf("of one address: %q", got)
	}
	all := addresses(&net.TCPAddr{IP: net.IPv4zero, Port: 8410})
	if all[0] != "http://127.0.0.1:8410" {
		t.Errorf("the first of %q is not this machine's own", all)
	}
	if first := outward(); first != nil && (len(all) < 2 || all[1] != "http://"+first.String()+":8410") {
		t.Errorf("the way outward, %v, is not the second of %q", first, all)
	}
	for i, a := range all {
		if slices.Index(all, a) != i {
			t.Errorf("%s is there twice: %q", a, all)
		}
	}
}

// Days and hours are those of this machine. A sheet is open on the whole of the day on
// which it closes.
func TestMoment(t *testing.T) {
	zone := time.Local
	time.Local = time.FixedZone("x", 2*3600)
	defer func() { time.Local = zone }()
	for text, want := range map[string][2]string{ // as a beginning, and as an end
		"2026-03-03":       {"2026-03-02T22:00:00Z", "2026-03-03T21:59:59Z"},
		"2026-03-03T18:30": {"2026-03-03T16:30:00Z", "2026-03-03T16:30:00Z"},
	} {
		opens, err := (&serveCmd{Data: t.TempDir(), Opens: text}).options()
		closes, err2 := (&serveCmd{Data: t.TempDir(), Closes: text}).options()
		if got := [2]string{opens.Opens.UTC().Format(time.RFC3339), closes.Closes.UTC().Format(time.RFC3339)}; errors.Join(err, err2) != nil || got != want {
			t.Errorf("%s is %v, %v; want %v", text, got, errors.Join(err, err2), want)
		}
	}
}

// The terminal names every sheet that is served, an exam by its own code, and warns of a
// day that is past.
func TestWhatIsServed(t *testing.T) {
	var sheets []sheet.Sheet
	for _, code := range []string{"4GAH 6AW7 PY0M", "4GNG 4VNW VEY5 AF5H"} {
		n, err := readSheet(code)
		if err != nil {
			t.Fatal(err)
		}
		sheets = append(sheets, n)
	}
	exam := sheets[0]
	exam.Exam = true
	code, err := exam.Code()
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	var r servingJSON
	if err := r.print(streams{out: &out}, server.Options{}, sheets); err != nil || strings.Count(out.String(), "class code") != 2 ||
		!strings.Contains(out.String(), "4GAH 6AW7 PY0M") || !strings.Contains(out.String(), "4GNG 4VNW VEY5 AF5H") || strings.Contains(out.String(), "past") {
		t.Errorf("%v\n%s", err, out.String())
	}
	out.Reset()
	o := server.Options{Exam: true, Closes: time.Date(2026, 3, 10, 20, 0, 0, 0, time.Local)}
	if err := r.print(streams{out: &out}, o, sheets[:1]); err != nil || !strings.Contains(out.String(), code) || !strings.Contains(out.String(), "Exam") ||
		!strings.Contains(out.String(), "closes      Tue 10 Mar 2026, 20:00: that is past") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

// TestServe starts the class server as a teacher does, asks it for a few things,
// and stops it as Ctrl-C does.
func TestServe(t *testing.T) {
	dir := t.TempDir()
	app := filepath.Join(dir, "app")
	if err := os.MkdirAll(app, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(app, "index.html"), []byte("<p>the trainer"), 0o644); err != nil {
		t.Fatal(err)
	}
	secret := filepath.Join(dir, "secret")
	if err := os.WriteFile(secret, []byte("secret"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(secret, filepath.Join(app, "link.txt")); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "serve", "--listen", "127.0.0.1:0", "--code", "4gah6aw7py0m",
		"--data", filepath.Join(dir, "data"), "--app", app, "--title", "Tuesday", "--json")
	cmd.Args[0] = "markbook" // by which the test binary runs as the command
	var log strings.Builder
	cmd.Stderr = &log
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	late := time.AfterFunc(40*time.Second, func() { cmd.Process.Kill() })
	defer late.Stop()
	var ready servingJSON
	if err := json.NewDecoder(out).Decode(&ready); err != nil {
		t.Fatalf("%v; log: %s", err, log.String())
	}
	if ready.Code != "4GAH 6AW7 PY0M" || len(ready.Learners) != 1 || !strings.HasPrefix(ready.Learners[0], "http://127.0.0.1:") {
		t.Fatalf("%+v", ready)
	}
	base := strings.TrimSuffix(ready.Learners[0], "/")
	for _, row := range []struct {
		path   string
		status int
		says   string
	}{
		{"/", 200, "the trainer"},
		{"/api/sheet?code=4GAH6AW7PY0M", 200, `"title":"Tuesday"`},
		{"/api/sheet?code=4GAH6AW7PY0C", 400, "typing error"},
		{"/teacher", 403, "need the key"},
		{"/link.txt", 404, "nothing here"}, // a link that leads out of the folder
	} {
		resp, err := http.Get(base + row.path)
		if err != nil {
			t.Fatal(err)
		}
		body, err := io.ReadAll(resp.Body)
		resp.Body.Close()
		if err != nil || resp.StatusCode != row.status || !strings.Contains(string(body), row.says) {
			t.Errorf("%s: %d %.200s (%v)", row.path, resp.StatusCode, body, err)
		}
	}
	if err := cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if err := cmd.Wait(); err != nil {
		t.Errorf("it ends with %v; log: %s", err, log.String())
	}
	if text := log.String(); !strings.Contains(text, "stopped; all hand-ins are in") || !strings.Contains(text, "refused") {
		t.Errorf("log: %s", text)
	}
	if strings.Contains(log.String(), ready.Key) {
		t.Error("the log holds the teacher's key")
	}
}

// A day ends with its last second by the clock on the wall, on the days too on which
// the clocks change (European summer time ends on the last Sunday of October).
func TestClosingDay(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	local := time.Local
	time.Local = zone
	defer func() { time.Local = local }()
	for _, day := range []string{"2026-03-29", "2026-07-01", "2026-10-25"} {
		for end, clock := range map[bool]string{false: "00:00:00", true: "23:59:59"} {
			got, err := moment("--closes", day, end)
			if err != nil || got.Format("2006-01-02 15:04:05") != day+" "+clock {
				t.Errorf("%s, the end %v: %v, %v", day, end, got, err)
			}
		}
	}
}
