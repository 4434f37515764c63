package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
)

// webFolder is where the browser edition is built to, and where markbook serve
// looks for it.
var webFolder = filepath.Join("dist", "web")

// buildWeb makes the browser edition: the trainer for js/wasm, what the Go
// distribution needs to run it, and the page around both. The program is packed
// in advance, so that a server need not. The flags go to go build, link to the
// linker.
func buildWeb(dir, link string, flags ...string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("making the folder of the browser edition: %w", err)
	}
	program := filepath.Join(dir, "slowneedle.wasm")
	args := slices.Concat([]string{"build", "-trimpath", "-ldflags", "-s -w " + link}, smaller(), flags, []string{"-o", program, "./cmd/slowneedle"})
	err := showWith([]string{"GOOS=js", "GOARCH=wasm", "CGO_ENABLED=0"}, "go", args...)
	if err != nil {
		return fmt.Errorf("building the browser edition: %w", err)
	}
	if err := pack(program); err != nil {
		return fmt.Errorf("packing the browser edition: %w", err)
	}
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return fmt.Errorf("asking go for its folder: %w", err)
	}
	from := []string{
		filepath.Join(string(trimmed(root)), "lib", "wasm", "wasm_exec.js"),
		filepath.Join("assets", "icon.png"),
	}
	page, err := filepath.Glob(filepath.Join("assets", "web", "*"))
	if err != nil {
		return err
	}
	for _, f := range append(from, page...) {
		data, err := os.ReadFile(f)
		if err == nil {
			err = writeWhole(filepath.Join(dir, filepath.Base(f)), bytes.NewReader(data))
		}
		if err != nil {
			return fmt.Errorf("putting the browser edition together: %w", err)
		}
	}
	return tellLength(filepath.Join(dir, "index.html"), program)
}

// smaller are flags of go build that make the program smaller by a tenth: functions are
// copied into their callers only where that makes for speed, in the trainer's own rooms
// and beneath them.
func smaller() []string {
	flags := []string{"-gcflags=all=-l"}
	for _, fast := range []string{"slowneedle", "gonum.org", "math", "runtime", "internal", "sync"} {
		flags = append(flags, "-gcflags="+fast+"/...=")
	}
	return flags
}

// tellLength tells the page how long the program is, for its bar: the server tells
// the length of the packed one.
func tellLength(page, program string) error {
	info, err := os.Stat(program)
	if err != nil {
		return err
	}
	text, err := os.ReadFile(page)
	if err != nil {
		return err
	}
	const asked = `data-bytes="0"`
	if !bytes.Contains(text, []byte(asked)) {
		return fmt.Errorf("%s has no place for the program's length, %s", page, asked)
	}
	text = bytes.Replace(text, []byte(asked), fmt.Appendf(nil, `data-bytes="%d"`, info.Size()), 1)
	return os.WriteFile(page, text, 0o644)
}

// pack writes NAME.gz beside a file.
func pack(name string) error {
	data, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	var packed bytes.Buffer
	z, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	if err != nil {
		return err
	}
	if _, err := z.Write(data); err != nil {
		return err
	}
	if err := z.Close(); err != nil {
		return err
	}
	return writeWhole(name+".gz", &packed)
}

// writeWhole writes a file under another name first, so that a half-written one never
// bears its name.
func writeWhole(name string, from io.Reader) error {
	out, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+"-*")
	if err != nil {
		return err
	}
	defer os.Remove(out.Name())
	_, err = io.Copy(out, from)
	if err := errors.Join(err, out.Chmod(plainFile), out.Close()); err != nil {
		return err
	}
	return os.Rename(out.Name(), name)
}
