package main

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// What a file is called, and what is in it, cannot write over the terminal.
func TestCheckShowsNoEscapes(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "a\x1b[2J\x1b]0;gone\a\u202ebad.json")
	if err := os.WriteFile(name, []byte(`{"a`+"\x1b"+`[31m":1}`), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"check", name}, {"check", dir}, {"check", name + "x"}, {"check", "--json", name}} {
		var out, errs bytes.Buffer
		if status := run(args, streams{out: &out, err: &errs}); status != 1 {
			t.Errorf("%q ends with %d", args, status)
		}
		if text := out.String() + errs.String(); strings.ContainsAny(text, "\x1b\a") || !slices.Contains(args, "--json") && strings.Contains(text, "\u202e") || !strings.Contains(text, "bad.json") {
			t.Errorf("%q prints %q", args, text)
		}
	}
}
