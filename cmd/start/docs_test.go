//go:build unix

package main

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"
)

// documents are the texts whose commands are tested.
var documents = []string{"README.md", "DEVELOPERS.md", "assets/guide/learners.md", "assets/guide/learners.de.md",
	"assets/guide/teachers.md", "assets/guide/teachers.de.md", "assets/guide/formats.md",
	"assets/guide/packagers.md", "assets/guide/tour.md", "assets/guide/tour.de.md"}

// notRun are the commands in the documents that this test does not run, each
// with how it is held to the truth instead. The pattern matches the whole
// command.
var notRun = []struct {
	pattern string
	check   func(t *testing.T, root, line string)
}{
	{`go run \./cmd/start( \S+)*( -version \S+)?`, checkStart}, // the tests themselves, a window, minutes of building; each has a test of its own
	{`(xvfb-run -a -s '[^']*' )?go test .*`, checkGoTest},      // would run tests inside a test
	{`go tool (staticcheck|govulncheck) .*`, nothing},          // start test runs the first; the second asks a server
	{`(CGO_ENABLED=0 )?go build -trimpath .*`, nothing},        // what is built with them is built by the release
	{`go run \./testdata/sources/make`, nothing},               // measures packages that the tests do without
	{`go vet \./\.\.\.`, nothing},                              // start test does it
	{`slowneedle( \S+\.wav)?`, nothing},                        // opens a window: tests of game/window
	{`slowneedle --\S+ .*`, checkTrainer},                      // the same, but its flags are tried
	{`xcode-select --install`, nothing},                        // macOS
	{`sha256sum -c SHA256SUMS`, nothing},                       // TestTar
	{`go doc .*`, nothing},
}

func nothing(*testing.T, string, string) {}

// checkStart wants the subcommand to be one that run knows.
func checkStart(t *testing.T, _, line string) {
	f := strings.Fields(line)
	if len(f) == 3 {
		return
	}
	switch f[3] {
	case "test", "web", "release", "speed":
	default:
		t.Errorf("%q: there is no such subcommand", line)
	}
}

// checkTrainer wants the trainer to know the flags; asked for its version too, it
// opens no window.
func checkTrainer(t *testing.T, root, line string) {
	bin := t.TempDir()
	command(t, root, "go", "build", "-o", filepath.Join(bin, "slowneedle"), "./cmd/slowneedle")
	line = strings.Replace(line, "slowneedle", "slowneedle --version", 1)
	if out, err := shell(context.Background(), bin, bin, line).CombinedOutput(); err != nil {
		t.Errorf("%s: %v\n%s", line, err, out)
	}
}

// checkGoTest wants the packages, and the functions that are named, to exist.
func checkGoTest(t *testing.T, root, line string) {
	named := regexp.MustCompile(`\b(Fuzz|Benchmark|Test)\w+`).FindAllString(line, -1)
	for _, p := range regexp.MustCompile(`\./[\w./]+`).FindAllString(line, -1) {
		dir := filepath.Join(root, strings.TrimSuffix(p, "/..."))
		files, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasSuffix(p, "...") && len(files) == 0 {
			t.Errorf("%q: there are no tests in %s", line, p)
		}
		var all strings.Builder
		for _, f := range files {
			data, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			all.Write(data)
		}
		for _, name := range named {
			if !strings.Contains(all.String(), "func "+name+"(") {
				t.Errorf("%q: there is no %s in %s", line, name, p)
			}
		}
	}
}

var (
	indented  = regexp.MustCompile(`^    (\S.*)$`)
	spanned   = regexp.MustCompile("`([^`]+)`")
	fenceHead = regexp.MustCompile("^```(\\S*) ?(\\S*)$")
	isCommand = regexp.MustCompile(`^(go (run|test|vet|build|tool|doc)\b|markbook [-a-z]|slowneedle( |$)|xvfb-run|GOOS=|sha256sum|xcode-select|tar |sudo )`)
)

// document is what a text holds for this test.
type document struct {
	commands []string
	files    map[string]string // fenced blocks that have a file's name
}

// read takes the indented lines and the code spans that are commands, in order.
// A span may be broken over two lines; one of one or two words is a name.
func read(text string) document {
	d := document{files: map[string]string{}}
	var prose strings.Builder
	flush := func() {
		for _, m := range spanned.FindAllStringSubmatch(prose.String(), -1) {
			if c := strings.Join(strings.Fields(m[1]), " "); isCommand.MatchString(c) && strings.Count(c, " ") > 1 {
				d.commands = append(d.commands, c)
			}
		}
		prose.Reset()
	}
	fence, inFence := "", false
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		if m := fenceHead.FindStringSubmatch(line); m != nil {
			flush()
			inFence = !inFence
			fence = m[2]
			continue
		}
		m := indented.FindStringSubmatch(line)
		switch {
		case inFence && fence != "":
			d.files[fence] += line + "\n"
		case inFence:
		case m != nil && isCommand.MatchString(m[1]):
			flush()
			d.commands = append(d.commands, m[1])
		default:
			prose.WriteString(line + "\n")
		}
	}
	flush()
	return d
}

// Every command in the documents is run, in a folder of its own for each
// document, in the order in which it stands there; or it is held to the truth
// by what notRun says.
func TestDocuments(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	bin := t.TempDir()
	name := filepath.Join(bin, "markbook")
	command(t, root, "go", "build", "-o", name, "./cmd/markbook")
	path := bin + string(os.PathListSeparator) + os.Getenv("PATH")
	for _, file := range documents {
		t.Run(file, func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(filepath.Join(root, file))
			if err != nil {
				t.Fatal(err)
			}
			d := read(string(text))
			if len(d.commands) == 0 {
				t.Fatal("there are no commands in it; is the form still the one that this test reads?")
			}
			dir := t.TempDir()
			for name, content := range d.files {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(content), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			for _, line := range d.commands {
				try(t, root, dir, path, line)
			}
		})
	}
}

// A guide in another language has the headings, tables and commands of the English
// one, so that neither falls behind.
func TestGuidesInOtherLanguages(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	shape := func(file string) string {
		text, err := os.ReadFile(filepath.Join(root, file))
		if err != nil {
			t.Fatal(err)
		}
		var b strings.Builder
		for line := range strings.Lines(string(text)) {
			if heading, _, ok := strings.Cut(line, "# "); ok && strings.Trim(heading, "#") == "" {
				b.WriteString(heading + "#\n")
			} else if strings.HasPrefix(line, "|") {
				b.WriteString("|")
			}
		}
		for _, c := range read(string(text)).commands {
			b.WriteString(strings.Replace(c, "--language de ", "", 1) + "\n")
		}
		return b.String()
	}
	others, err := filepath.Glob(filepath.Join(root, "assets", "guide", "*.*.md"))
	if err != nil || len(others) < 2 {
		t.Fatalf("guides in other languages: %v, %v", others, err)
	}
	for _, path := range others {
		stem, _, _ := strings.Cut(filepath.Base(path), ".")
		other, english := "assets/guide/"+filepath.Base(path), "assets/guide/"+stem+".md"
		if !slices.Contains(documents, other) {
			t.Errorf("%s is not among the documents", other)
		}
		if got, want := shape(other), shape(english); got != want {
			t.Errorf("%s has\n%s\n%s has\n%s", other, got, english, want)
		}
	}
}

var update = flag.Bool("update", false, "write what the programs print into the guides")

// The guide to commands has the help of every program as the program prints it. Write
// it again with go test ./cmd/start -run TestHelpInTheGuides -update.
func TestHelpInTheGuides(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	bin := t.TempDir()
	command(t, root, "go", "build", "-o", bin+string(filepath.Separator), "./cmd/markbook", "./cmd/slowneedle", "./cmd/start")
	var b strings.Builder
	b.WriteString("# Commands\n\nWhat each program prints when it is asked for help.\n")
	show := func(level string, words ...string) string {
		out := command(t, root, filepath.Join(bin, words[0]), append(words[1:], "--help")...)
		fmt.Fprintf(&b, "\n%s %s\n\n```\n%s\n```\n", level, strings.Join(words, " "), strings.TrimSpace(out))
		return out
	}
	show("##", "slowneedle")
	below := regexp.MustCompile(`(?m)^  ([a-z]+(?: [a-z]+)?) `)
	for _, m := range below.FindAllStringSubmatch(show("##", "markbook"), -1) {
		show("###", append([]string{"markbook"}, strings.Fields(m[1])...)...)
	}
	show("##", "start")
	path := filepath.Join(root, "assets", "guide", "commands.md")
	if *update {
		if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if text, err := os.ReadFile(path); err != nil || string(text) != b.String() {
		t.Errorf("%s is stale (%v); write it again with -update", path, err)
	}
}

// try runs one command of a document, or checks it otherwise.
func try(t *testing.T, root, dir, path, line string) {
	for _, n := range notRun {
		if regexp.MustCompile("^(" + n.pattern + ")$").MatchString(line) {
			n.check(t, root, line)
			return
		}
	}
	line = strings.Replace(line, "go run ./cmd/markbook", "markbook", 1)
	if line == "markbook" {
		return
	}
	if !strings.HasPrefix(line, "markbook ") {
		t.Errorf("%q is neither run nor in the list of what is not", line)
		return
	}
	if strings.HasPrefix(line, "markbook serve ") {
		serves(t, dir, path, line)
		return
	}
	if out, err := shell(context.Background(), dir, path, line).CombinedOutput(); err != nil {
		t.Errorf("%s: %v\n%s", line, err, out)
	}
}

func shell(ctx context.Context, dir, path, line string) *exec.Cmd {
	c := exec.CommandContext(ctx, "sh", "-c", "exec "+line)
	c.Dir = dir
	c.Env = append(os.Environ(), "PATH="+path)
	return c
}

// serves starts a server, waits for its address and interrupts it. It listens
// on a free port, so that tests do not meet on the usual one.
func serves(t *testing.T, dir, path, line string) {
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	if !strings.Contains(line, "--listen") {
		line += " --listen 127.0.0.1:0"
	}
	c := shell(ctx, dir, path, line)
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	ready := false
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if strings.HasPrefix(lines.Text(), "stop with") {
			ready = true
			c.Process.Signal(os.Interrupt)
		}
	}
	if err := c.Wait(); err != nil || !ready {
		t.Errorf("%s: ready %v, ended with %v", line, ready, err)
	}
}

// What the workflows run is what the documents tell people to run.
func TestWorkflows(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(root, ".github", "workflows", "*.yml"))
	if err != nil || len(files) == 0 {
		t.Fatalf("workflows: %v, %v", files, err)
	}
	run := regexp.MustCompile(`(?m)^ *-? *run: (.+)$`)
	for _, path := range files {
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		lines := run.FindAllStringSubmatch(string(text), -1)
		if len(lines) == 0 {
			t.Errorf("%s runs nothing", path)
		}
		for _, m := range lines {
			try(t, root, root, "", m[1])
		}
	}
}

// What the documents point to is there.
func TestLinks(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	link := regexp.MustCompile(`\]\(([^)#]+)\)`)
	for _, file := range documents {
		text, err := os.ReadFile(filepath.Join(root, file))
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range link.FindAllStringSubmatch(string(text), -1) {
			if strings.Contains(m[1], "://") {
				continue
			}
			if _, err := os.Stat(filepath.Join(root, filepath.Dir(file), m[1])); err != nil {
				t.Errorf("%s points to %s: %v", file, m[1], err)
			}
		}
	}
}

// The map of the rooms names every room there is, and only those.
func TestMapOfRooms(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join(root, "DEVELOPERS.md"))
	if err != nil {
		t.Fatal(err)
	}
	listed := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^ *([a-z][a-z/]*) {2,}\S`).FindAllStringSubmatch(string(text), -1) {
		listed[m[1]] = true
	}
	for line := range strings.Lines(command(t, root, "go", "list", "-f", "{{.ImportPath}}", "./...")) {
		room := strings.TrimPrefix(strings.TrimSpace(line), "slowneedle/")
		if strings.HasPrefix(room, "testdata/") {
			continue
		}
		if !listed[room] {
			t.Errorf("DEVELOPERS.md does not name the room %s", room)
		}
		delete(listed, room)
	}
	for room := range listed {
		if _, err := os.Stat(filepath.Join(root, room)); err != nil {
			t.Errorf("DEVELOPERS.md names %s, which is not there", room)
		}
	}
}

// The house has these rooms at the top and no others.
func TestTopOfTheHouse(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	top := regexp.MustCompile(`^(\..+|(cmd|game|drills|audio|assets|testdata)/.+|README.md|DEVELOPERS.md|LICENSE|go.mod|go.sum)$`)
	for path := range strings.Lines(command(t, root, "git", "ls-files")) {
		if path = strings.TrimSpace(path); !top.MatchString(path) {
			t.Errorf("%s stands beside the house", path)
		}
	}
}

func TestReadDocument(t *testing.T) {
	d := read("Say `go run ./cmd/start\nspeed` or `go vet`.\n\n    markbook check a\n    not a command\n\n```json f.json\n{}\n```\n`markbook`\n")
	if got := fmt.Sprint(d.commands); got != "[go run ./cmd/start speed markbook check a]" {
		t.Error(got)
	}
	if d.files["f.json"] != "{}\n" {
		t.Errorf("%q", d.files)
	}
}

// roomsOfGame are the rooms of game in the order in which they may use each
// other: each only those before it. Scenes do not use each other.
var roomsOfGame = []string{"beside", "page", "draw", "words", "hand", "sound", "widget", "store", "given", "practice", "scene", "scene/"}

// withoutDisplay are those that must not need one: the window library ends the
// program where there is none.
var withoutDisplay = []string{"beside", "words", "sound", "page", "store", "given", "practice"}

// Arrows between the rooms of game point one way, on the desktop and in the
// browser.
func TestRoomsOfGame(t *testing.T) {
	root, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	place := func(room string) int {
		if strings.HasPrefix(room, "scene/") {
			room = "scene/"
		}
		return slices.Index(roomsOfGame, room)
	}
	for _, system := range []string{"linux", "js"} {
		list := exec.Command("go", "list", "-f", `{{.ImportPath}}{{range .Imports}} {{.}}{{end}}`, "./game/...")
		list.Dir = root
		list.Env = append(os.Environ(), "GOOS="+system)
		if system == "js" {
			list.Env = append(list.Env, "GOARCH=wasm")
		}
		out, err := list.Output()
		if err != nil {
			t.Fatal(err)
		}
		seen := 0
		for line := range strings.Lines(string(out)) {
			imports := strings.Fields(line)
			room, ok := strings.CutPrefix(imports[0], "slowneedle/game/")
			if !ok || strings.HasPrefix(room, "display") || strings.HasPrefix(room, "window") {
				continue
			}
			if seen++; place(room) < 0 {
				t.Errorf("the room game/%s has no place in the order", room)
			}
			for _, used := range imports[1:] {
				below, ok := strings.CutPrefix(used, "slowneedle/game/")
				if used == "slowneedle/game" || ok && place(below) >= place(room) {
					t.Errorf("game/%s uses %s (%s)", room, used, system)
				}
			}
		}
		if seen < 14 {
			t.Errorf("only %d rooms were seen", seen)
		}
	}
	for _, room := range withoutDisplay {
		for used := range strings.Lines(command(t, root, "go", "list", "-deps", "./game/"+room)) {
			if strings.Contains(used, "/ebiten") {
				t.Errorf("game/%s needs a display: it uses %s", room, used)
			}
		}
	}
}
