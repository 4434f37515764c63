package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net"
	"os"
	"os/signal"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	markbook "slowneedle/drills/class/report"
	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
)

type serveCmd struct {
	Listen     string   `default:"127.0.0.1:8410" placeholder:"HOST:PORT" help:"Where to listen; by default this computer only (${default}). 0.0.0.0:8410 opens it to the class's network; port 0 takes any free port."`
	Sheet      []string `placeholder:"FILE.json" sep:"none" help:"Sheet to open; may be given again. If none is given, those that were open last, or a new one."`
	Code       []string `placeholder:"CODE" sep:"none" help:"Class code of a sheet to open; may be given again."`
	Opens      string   `placeholder:"DATE" help:"When the sheets given open, as 2026-03-03T18:30, or 2026-03-03 for the beginning of that day; at once if not given."`
	Closes     string   `placeholder:"DATE" help:"When they close, as 2026-03-10T20:00, or 2026-03-10 for the end of that day; hand-ins that come later are marked late. By hand, on the board, if not given."`
	Exam       bool     `help:"The sheets given, or a new one, are an exam: its rounds are drawn here, come one by one, and their verdicts when it is closed."`
	Roster     string   `placeholder:"FILE.csv" help:"List of the class, a line each of id, name and other spellings of the name."`
	PerAddress int      `default:"300" placeholder:"N" help:"How many may join from one address within twelve hours (${default}); raise it where a whole school is behind one address."`
	Data       string   `required:"" placeholder:"DIR" help:"Folder that keeps the hand-ins; made if it is not there."`
	Name       []string `placeholder:"HOST" help:"Another name of this computer on the network; its host name, addresses and names ending in .local, .lan, .home and the like work without it."`
	App        string   `placeholder:"DIR" help:"Folder of the browser edition; dist/web here or web beside this program if not given."`
	Title      string   `placeholder:"TEXT" help:"What the class calls itself."`
	JSON       bool     `name:"json" help:"Print one JSON object with the addresses, the code and the key."`
}

// servingJSON is what a server says when it is ready.
type servingJSON struct {
	Learners []string `json:"learners"` // addresses
	Teacher  []string `json:"teacher"`  // addresses with the key
	Code     string   `json:"code"`
	Key      string   `json:"key"`
	App      string   `json:"app"` // folder of the browser edition, or empty
}

// Validate refuses what no class can be served with.
func (c *serveCmd) Validate() error {
	if c.Data == "" {
		return errors.New("--data is empty; name a folder")
	}
	return inRange(bounds{"per-address", float64(c.PerAddress), 1, 100000})
}

func (c *serveCmd) Run(s streams) error {
	o, err := c.options()
	if err != nil {
		return err
	}
	o.Log = slog.New(slog.NewTextHandler(s.err, nil))
	folder, err := findApp(c.App)
	if err != nil {
		return err
	}
	if folder != "" {
		root, err := os.OpenRoot(folder) // nothing outside it is served, whatever links it holds
		if err != nil {
			return readFault(folder, err)
		}
		defer root.Close()
		o.App = root.FS()
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	listener, err := listen(c.Listen)
	if err != nil {
		return err
	}
	defer listener.Close()
	bases := addresses(listener.Addr())
	if len(bases) > 1 { // the first is this machine's own
		o.Reach = strings.TrimPrefix(bases[1], "http://")
	}
	class, err := server.Open(o)
	if err != nil {
		return err
	}
	defer class.Close()
	ready := servingJSON{Code: class.Code(), Key: class.Key(), App: folder}
	for _, base := range bases {
		ready.Learners = append(ready.Learners, base+"/")
		ready.Teacher = append(ready.Teacher, base+"/teacher?key="+class.Key())
	}
	if c.JSON {
		err = printJSON(s.out, ready)
	} else {
		sheets := o.Sheets
		if len(sheets) == 0 { // those that were open last, or a new one
			sheets = []sheet.Sheet{class.Sheet()}
		}
		err = ready.print(s, o, sheets)
	}
	if err != nil {
		return err
	}
	if err := class.Serve(ctx, listener); err != nil {
		return err
	}
	fmt.Fprintln(s.err, "markbook: stopped; all hand-ins are in", c.Data)
	return class.Close()
}

// options are what the flags say.
func (c *serveCmd) options() (o server.Options, err error) {
	if _, err := os.ReadDir(c.Data); err != nil && !errors.Is(err, fs.ErrNotExist) { // it is made if it is not there
		return o, fmt.Errorf("--data=%w", readFault(c.Data, err))
	}
	o = server.Options{Words: func(language string) markbook.Words { return speech(language) },
		Exam: c.Exam, Title: c.Title, Data: c.Data, Names: c.Name}
	o.Limits.PerAddress = c.PerAddress
	if host, _, err := net.SplitHostPort(c.Listen); err == nil {
		o.Names = append(o.Names, host) // it may be a name
	}
	for _, one := range slices.Concat(c.Sheet, c.Code) {
		n, err := readSheet(one)
		if err != nil {
			return o, err
		}
		o.Sheets = append(o.Sheets, n)
	}
	if o.Opens, err = moment("--opens", c.Opens, false); err != nil {
		return o, err
	}
	if o.Closes, err = moment("--closes", c.Closes, true); err != nil {
		return o, err
	}
	if !o.Closes.IsZero() && !o.Closes.After(o.Opens) {
		return o, usageError{fmt.Errorf("--closes=%s: that is not after the sheets open, --opens=%s", c.Closes, c.Opens)}
	}
	o.Roster, err = readRoster(c.Roster)
	return o, err
}

// moment reads a day, which means its beginning or its end, or a day and an hour, of
// this machine's time.
func moment(flag, text string, end bool) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if t, err := time.ParseInLocation(time.DateOnly, text, time.Local); err == nil {
		if end {
			t = t.AddDate(0, 0, 1).Add(-time.Second)
		}
		return t, nil
	}
	if t, err := time.ParseInLocation("2006-01-02T15:04", text, time.Local); err == nil {
		return t, nil
	}
	return time.Time{}, usageError{fmt.Errorf("%s=%s: it must be a day, as 2026-03-03, or a day and an hour, as 2026-03-03T18:30", flag, text)}
}

// listen opens an address. The error is one sentence that says what to give
// instead.
func listen(address string) (net.Listener, error) {
	_, port, err := net.SplitHostPort(address)
	if err != nil {
		return nil, usageError{fmt.Errorf("--listen=%s: it must be HOST:PORT, as 127.0.0.1:8410", address)}
	}
	if n, err := strconv.Atoi(port); err != nil || n < 0 || n > 65535 {
		return nil, usageError{fmt.Errorf("--listen=%s: the port must be 0 to 65535; 0 takes a free one", address)}
	}
	l, err := net.Listen("tcp", address)
	switch {
	case err == nil:
		return l, nil
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, fmt.Errorf("listening on %s: another program has that port; give another, or 0 for a free one", address)
	case errors.Is(err, fs.ErrPermission):
		return nil, fmt.Errorf("listening on %s: this port needs administrator rights; give one from 1024 up", address)
	}
	return nil, fmt.Errorf("listening on %s: this machine has no such address; give 127.0.0.1 for this machine alone or 0.0.0.0 for its networks", address)
}

// print tells what is served, and where.
func (r servingJSON) print(s streams, o server.Options, sheets []sheet.Sheet) error {
	for _, n := range sheets {
		n.Exam = n.Form == "" && (n.Exam || o.Exam)
		code, err := n.Code()
		if err != nil {
			return err
		}
		fmt.Fprintf(s.out, "class code  %s\nsheet       %s\n", code, typed(speech().SheetWords(n)))
	}
	const form = "Mon 2 Jan 2006, 15:04"
	if !o.Opens.IsZero() {
		fmt.Fprintln(s.out, "opens      ", o.Opens.Format(form))
	}
	if !o.Closes.IsZero() {
		past := ""
		if o.Closes.Before(time.Now()) {
			past = ": that is past, so it is closed now"
		}
		fmt.Fprintf(s.out, "closes      %s%s\n", o.Closes.Format(form), past)
	}
	for _, a := range r.Learners {
		fmt.Fprintf(s.out, "learners    %s\n", a)
	}
	for _, a := range r.Teacher {
		fmt.Fprintf(s.out, "teacher     %s\n", a)
	}
	if r.App == "" {
		fmt.Fprintln(s.out, "browser     the browser edition is not built; learners can join from the desktop trainer")
	}
	_, err := fmt.Fprintln(s.out, "stop with Ctrl-C")
	return err
}

// findApp returns the folder of the browser edition, or "" if it is not built.
// The error says that the one asked for is not usable.
func findApp(asked string) (string, error) {
	if asked != "" {
		if _, err := os.Stat(filepath.Join(asked, "index.html")); err != nil {
			return "", fmt.Errorf("--app=%s: there is no browser edition in it; name the folder that holds its index.html", asked)
		}
		return asked, nil
	}
	places := []string{filepath.Join("dist", "web")}
	if self, err := os.Executable(); err == nil {
		places = append(places, filepath.Join(filepath.Dir(self), "web"))
	}
	for _, p := range places {
		_, err := os.Stat(filepath.Join(p, "index.html"))
		if err == nil {
			return p, nil
		}
		if !errors.Is(err, fs.ErrNotExist) {
			return "", readFault(p, err)
		}
	}
	return "", nil
}

// addresses are those under which a listener can be reached: of one that listens
// everywhere, this machine's own, and those of its networks, the one that leads
// outward before those of containers and the like.
func addresses(a net.Addr) []string {
	tcp, ok := a.(*net.TCPAddr)
	if !ok || !tcp.IP.IsUnspecified() {
		return []string{"http://" + a.String()}
	}
	list := []string{fmt.Sprintf("http://127.0.0.1:%d", tcp.Port)}
	add := func(ip net.IP) {
		if base := fmt.Sprintf("http://%s:%d", ip, tcp.Port); !slices.Contains(list, base) {
			list = append(list, base)
		}
	}
	if first := outward(); first != nil {
		add(first)
	}
	all, _ := net.InterfaceAddrs() // without them, those that are known
	for _, one := range all {
		if n, ok := one.(*net.IPNet); ok && n.IP.To4() != nil && !n.IP.IsLinkLocalUnicast() {
			add(n.IP)
		}
	}
	return list
}

// outward is this machine's address on the way to other networks, or nil. It
// asks the system for the way to an address that nobody has (RFC 5737), and
// sends nothing.
func outward() net.IP {
	c, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return nil
	}
	defer c.Close()
	if a, ok := c.LocalAddr().(*net.UDPAddr); ok {
		return a.IP
	}
	return nil
}
