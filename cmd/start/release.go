package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"testing/fstest"
	"time"
)

// releaseFolder is where release puts what a teacher hands out.
var releaseFolder = filepath.Join("dist", "release")

// release makes packages of everything that can be built on this machine: the
// trainer for this system, the trainer for Windows, which needs no C compiler,
// and the browser edition; and the checksums of all. Two runs over the same
// source with the same tools give the same bytes.
func release(args []string) error {
	fs := flag.NewFlagSet("start release", flag.ContinueOnError)
	version := fs.String("version", "", "version of the programs and packages; the last tag or commit if not given")
	switch err := fs.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return nil
	case err != nil:
		return err
	case fs.NArg() > 0:
		return fmt.Errorf("release takes no %q", fs.Arg(0))
	}
	if *version == "" {
		*version = sourceVersion()
	}
	if err := checkVersion(*version); err != nil {
		return err
	}
	if err := installMissing(packagesToBuild()); err != nil {
		return err
	}
	when, err := sourceTime()
	if err != nil {
		return err
	}
	if err := os.MkdirAll("dist", 0o755); err != nil {
		return fmt.Errorf("making the folder of the release: %w", err)
	}
	work, err := os.MkdirTemp("dist", ".release-")
	if err != nil {
		return fmt.Errorf("making the folder of the release: %w", err)
	}
	defer os.RemoveAll(work)
	out := filepath.Join(work, "release")
	if err := os.Mkdir(out, 0o755); err != nil {
		return err
	}
	fmt.Println("start: building the browser edition")
	m := maker{version: *version, when: when, work: work, out: out, web: filepath.Join(work, "web"), flags: []string{"-trimpath", "-buildvcs=false"}}
	if err := buildWeb(m.web, m.link(), "-buildvcs=false"); err != nil {
		return err
	}
	if err := m.all(targets(runtime.GOOS, runtime.GOARCH)); err != nil {
		return err
	}
	// The packages take their place only when all of them are complete.
	if err := os.RemoveAll(releaseFolder); err != nil {
		return fmt.Errorf("removing the release before this one: %w", err)
	}
	if err := os.Rename(out, releaseFolder); err != nil {
		return err
	}
	sums, err := os.ReadFile(filepath.Join(releaseFolder, "SHA256SUMS"))
	if err != nil {
		return err
	}
	fmt.Printf("start: version %s is in %s\n%s", *version, releaseFolder, sums)
	return nil
}

// target is a system to package for.
type target struct {
	system, arch string
	window       bool // has the trainer's window, not the browser edition alone
	cgo          bool // the window needs a C compiler for that system
}

// env is what a command is built with. Only the window takes a C compiler.
func (t target) env(command string) []string {
	cgo := "CGO_ENABLED=0"
	if t.cgo && command == "./cmd/slowneedle" {
		cgo = "CGO_ENABLED=1"
	}
	return []string{"GOOS=" + t.system, "GOARCH=" + t.arch, cgo}
}

// targets are what a machine can package. A window for Linux or macOS is built
// on such a machine only; the other two are built anywhere.
func targets(system, arch string) []target {
	var list []target
	if system == "linux" || system == "darwin" {
		list = append(list, target{system, arch, true, true})
	}
	return append(list,
		target{"windows", "amd64", true, false},
		target{"js", "wasm", false, false},
	)
}

// maker puts packages together.
type maker struct {
	version string
	when    time.Time // what every file in a package is dated
	work    string    // folder for what is built on the way
	out     string    // folder for the packages
	web     string    // folder of the browser edition
	flags   []string  // for every go build
}

// link are the linker's flags: the version, and nothing that differs from one
// build to the next.
func (m maker) link() string {
	return "-s -w -buildid= -X slowneedle/drills/version.release=" + m.version
}

func (m maker) all(list []target) error {
	for _, t := range list {
		fmt.Printf("start: packing for %s/%s\n", t.system, t.arch)
		if err := m.one(t); err != nil {
			return fmt.Errorf("the package for %s/%s: %w", t.system, t.arch, err)
		}
	}
	return writeSums(m.out)
}

// one makes the package of one system: a tar for Linux, a zip elsewhere.
func (m maker) one(t target) error {
	a := m.archive(t)
	if err := a.addTexts(); err != nil {
		return err
	}
	// The browser edition is in every package. Where there is nothing else its
	// folder is the edition: what is in it is put on any web server.
	browser := target{"js", "wasm", false, false}
	builds := []linked{{browser.env("./cmd/slowneedle"), "./cmd/slowneedle"}}
	web := ""
	if t.window {
		web = "web"
		for _, p := range []string{"./cmd/slowneedle", "./cmd/markbook"} {
			builds = append(builds, linked{t.env(p), p})
			if err := m.program(a, t, p); err != nil {
				return err
			}
		}
	}
	if err := a.addFolder(web, m.web); err != nil {
		return err
	}
	if err := a.addLicences(builds...); err != nil {
		return err
	}
	if t.system == "linux" {
		err := errors.Join(a.add("slowneedle.desktop", plainFile, []byte(desktopFile)),
			a.addFile("slowneedle.png", plainFile, filepath.Join("assets", "icon.png")))
		if err != nil {
			return err
		}
	}
	return m.pack(t, a)
}

// archive is an empty package for a system.
func (m maker) archive(t target) archive {
	system := t.system + "-" + t.arch
	if !t.window {
		system = "browser"
	}
	return archive{top: "slowneedle-" + m.version + "-" + system, when: m.when, files: fstest.MapFS{}}
}

// pack writes a package.
func (m maker) pack(t target, a archive) error {
	var packed bytes.Buffer
	write, end := a.zip, ".zip"
	if t.system == "linux" {
		write, end = a.tar, ".tar.gz"
	}
	if err := write(&packed); err != nil {
		return err
	}
	return writeWhole(filepath.Join(m.out, a.top+end), &packed)
}

// program builds a command for a system and puts it into its package.
func (m maker) program(a archive, t target, command string) error {
	name := filepath.Base(command)
	link := m.link()
	if t.system == "windows" {
		name += ".exe"
		if command == "./cmd/slowneedle" {
			link += " -H windowsgui" // no console window behind the trainer
		}
	}
	built := filepath.Join(m.work, t.system+"-"+t.arch, name)
	args := append([]string{"build"}, m.flags...)
	if err := showWith(t.env(command), "go", append(args, "-ldflags", link, "-o", built, command)...); err != nil {
		return fmt.Errorf("building %s: %w", command, err)
	}
	return a.addFile(name, programFile, built)
}

// desktopFile puts the trainer into a desktop's menu (Desktop Entry
// Specification 1.5, keys from memory).
const desktopFile = `[Desktop Entry]
Type=Application
Version=1.5
Name=slowneedle
Comment=Learn to set levels by a slow needle and a fast peak lamp
Exec=slowneedle %f
Icon=slowneedle
Terminal=false
Categories=AudioVideo;Audio;Education;
MimeType=audio/x-wav;audio/vnd.wave;
`

// addTexts adds what every package holds besides programs: the readme, the guides
// and the licence.
func (a archive) addTexts() error {
	readme, err := os.ReadFile("README.md")
	if err != nil {
		return err
	}
	// The guides stand beside the readme in a package.
	readme = bytes.ReplaceAll(readme, []byte("assets/guide/"), []byte("guide/"))
	return errors.Join(a.add("README.md", plainFile, readme),
		a.addFile("LICENSE", plainFile, "LICENSE"),
		a.addFolder("guide", filepath.Join("assets", "guide")))
}

var versionForm = regexp.MustCompile(`^[0-9A-Za-z][0-9A-Za-z.+-]{0,63}$`)

func checkVersion(v string) error {
	if !versionForm.MatchString(v) {
		return fmt.Errorf("-version %q: a version is letters, digits, dots, plus and minus signs, as in 1.2.0", v)
	}
	return nil
}

// sourceVersion is the last tag and the commit, or "dev" outside a clone.
func sourceVersion() string {
	out, err := exec.Command("git", "describe", "--tags", "--always", "--dirty=-changed").Output()
	if v := string(trimmed(out)); err == nil && versionForm.MatchString(v) {
		return v
	}
	return "dev"
}

// sourceTime is the time of the last commit, or that of SOURCE_DATE_EPOCH
// (reproducible-builds.org), or the earliest time that a zip can hold.
func sourceTime() (time.Time, error) {
	text := os.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		out, err := exec.Command("git", "log", "-1", "--format=%ct").Output()
		if text = string(trimmed(out)); err != nil || text == "" {
			return time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), nil
		}
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH %q is no number of seconds", text)
	}
	return time.Unix(seconds, 0).UTC(), nil
}
