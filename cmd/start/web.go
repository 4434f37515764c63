package main

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"

	"slowneedle/audio/wholefile"
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
	built, err := os.ReadFile(program)
	if err != nil {
		return err
	}
	if err := wholefile.Write(program+".gz", plainFile, func(w io.Writer) error { return pack(w, built) }); err != nil {
		return fmt.Errorf("packing the browser edition: %w", err)
	}
	root, err := output("go", "env", "GOROOT")
	if err != nil {
		return err
	}
	page, err := filepath.Glob(filepath.Join("assets", "web", "*"))
	if err != nil {
		return err
	}
	for _, f := range append(page, filepath.Join(root, "lib", "wasm", "wasm_exec.js"), filepath.Join("assets", "icon.png")) {
		data, err := os.ReadFile(f)
		if err == nil && filepath.Base(f) == "index.html" {
			data, err = tellLength(data, len(built))
		}
		if err == nil {
			err = wholefile.WriteBytes(filepath.Join(dir, filepath.Base(f)), plainFile, data)
		}
		if err != nil {
			return fmt.Errorf("putting the browser edition together: %w", err)
		}
	}
	return nil
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
func tellLength(page []byte, length int) ([]byte, error) {
	asked := []byte(`data-bytes="0"`)
	if !bytes.Contains(page, asked) {
		return nil, fmt.Errorf("the page has no place for the program's length, %s", asked)
	}
	return bytes.Replace(page, asked, fmt.Appendf(nil, `data-bytes="%d"`, length), 1), nil
}

// pack writes data packed.
func pack(w io.Writer, data []byte) error {
	z, err := gzip.NewWriterLevel(w, gzip.BestCompression)
	if err != nil {
		return err
	}
	_, err = z.Write(data)
	return errors.Join(err, z.Close())
}
