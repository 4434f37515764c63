package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"testing/fstest"
	"time"

	"slowneedle/audio/wholefile"
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
	m := maker{version: *version, when: when, work: work, out: out, web: filepath.Join(work, "web")}
	if err := buildWeb(m.web, m.link(), "-buildvcs=false"); err != nil {
		return err
	}
	for _, t := range targets(runtime.GOOS, runtime.GOARCH) {
		if err := m.one(t); err != nil {
			return fmt.Errorf("the package for %s/%s: %w", t.system, t.arch, err)
		}
	}
	if err := writeSums(m.out); err != nil {
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
type target struct{ system, arch string }

// browser is the edition that is in every package, and a package of its own.
var browser = target{"js", "wasm"}

// env is what a command is built with. Only the window takes a C compiler, on Linux and
// macOS.
func (t target) env(command string) []string {
	cgo := "CGO_ENABLED=0"
	if command == "./cmd/slowneedle" && (t.system == "linux" || t.system == "darwin") {
		cgo = "CGO_ENABLED=1"
	}
	return []string{"GOOS=" + t.system, "GOARCH=" + t.arch, cgo}
}

// targets are what a machine can package. A window for Linux or macOS is built
// on such a machine only; the other two are built anywhere.
func targets(system, arch string) []target {
	list := []target{{"windows", "amd64"}, browser}
	if system == "linux" || system == "darwin" {
		list = append([]target{{system, arch}}, list...)
	}
	return list
}

// maker puts packages together.
type maker struct {
	version string
	when    time.Time // what every file in a package is dated
	work    string    // folder for what is built on the way
	out     string    // folder for the packages
	web     string    // folder of the browser edition
}

// link are the linker's flags: the version, and nothing that differs from one
// build to the next.
func (m maker) link() string {
	return "-s -w -buildid= -X slowneedle/drills/version.release=" + m.version
}

// one makes the package of one system: a tar for Linux, a zip elsewhere.
func (m maker) one(t target) error {
	fmt.Printf("start: packing for %s/%s\n", t.system, t.arch)
	a := m.archive(t)
	if err := a.addTexts(); err != nil {
		return err
	}
	// Where there are no programs the folder of the browser edition is the package: what
	// is in it is put on any web server.
	web, commands := "", []built{{browser, "./cmd/slowneedle"}}
	if t != browser {
		web, commands = "web", append(commands, built{t, "./cmd/slowneedle"}, built{t, "./cmd/markbook"})
	}
	for _, b := range commands[1:] {
		if err := m.program(a, b); err != nil {
			return err
		}
	}
	if err := errors.Join(a.addFolder(web, m.web), a.addLicences(commands...)); err != nil {
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
	if t == browser {
		system = "browser"
	}
	return archive{top: "slowneedle-" + m.version + "-" + system, when: m.when, files: fstest.MapFS{}}
}

// pack writes a package.
func (m maker) pack(t target, a archive) error {
	write, end := a.zip, ".zip"
	if t.system == "linux" {
		write, end = a.tar, ".tar.gz"
	}
	return wholefile.Write(filepath.Join(m.out, a.top+end), plainFile, write)
}

// program builds a command for a system and puts it into its package.
func (m maker) program(a archive, b built) error {
	name := filepath.Base(b.command)
	link := m.link()
	if b.system == "windows" {
		name += ".exe"
		if b.command == "./cmd/slowneedle" {
			link += " -H windowsgui" // no console window behind the trainer
		}
	}
	path := filepath.Join(m.work, b.system+"-"+b.arch, name)
	if err := showWith(b.env(b.command), "go", "build", "-trimpath", "-buildvcs=false", "-ldflags", link, "-o", path, b.command); err != nil {
		return fmt.Errorf("building %s: %w", b.command, err)
	}
	return a.addFile(name, programFile, path)
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
	v, err := output("git", "describe", "--tags", "--always", "--dirty=-changed")
	if err != nil || !versionForm.MatchString(v) {
		return "dev"
	}
	return v
}

// sourceTime is the time of the last commit, or that of SOURCE_DATE_EPOCH
// (reproducible-builds.org), or the earliest time that a zip can hold.
func sourceTime() (time.Time, error) {
	text := os.Getenv("SOURCE_DATE_EPOCH")
	if text == "" {
		var err error
		if text, err = output("git", "log", "-1", "--format=%ct"); err != nil || text == "" {
			return time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC), nil
		}
	}
	seconds, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH %q is no number of seconds", text)
	}
	return time.Unix(seconds, 0).UTC(), nil
}
