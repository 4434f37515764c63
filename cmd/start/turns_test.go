package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// turns are words that comments and texts of the program do without: they are
// not how English is written today. What to write instead stands beside each.
var turns = []struct {
	pattern *regexp.Regexp
	instead string
}{
	{regexp.MustCompile(`\bstrewn\b`), "scattered"},
	{regexp.MustCompile(`\bapart by\b`), "distinguished by"},
	{regexp.MustCompile(`\b(whatsoever|hereof|thereof|whereof|wherein|therein|thereby|whereby|herewith|withal)\b`), "of it, in which, by which"},
	{regexp.MustCompile(`\b(amid|amidst|betwixt|unto|upon|whilst)\b`), "among, between, to, on, while"},
	{regexp.MustCompile(`\b(hence|henceforth|whence|thither|hither|hitherto|heretofore)\b`), "from here, from then on, so far"},
	{regexp.MustCompile(`\b(nought|naught|lest|perchance|methinks)\b`), "nothing, so that not, perhaps"},
	{regexp.MustCompile(`\b(anew|afresh)\b`), "again"},
	{regexp.MustCompile(`\bbeforehand\b`), "before, in advance"},
	{regexp.MustCompile(`\breckon(s|ed|ing)?\b`), "counted, taken for"},
	{regexp.MustCompile(`\bwholly\b`), "entirely"},
	{regexp.MustCompile(`\bby itself\b`), "on its own, automatically"},
	{regexp.MustCompile(`\b(sees?|saw) to it\b`), "makes sure"},
	{regexp.MustCompile(`\bbe had\b`), "be got, be made"},
	{regexp.MustCompile(`\bspoken of\b`), "mentioned"},
	{regexp.MustCompile(`\b(its|whose|the) \w+ (is|are) nothing\b`), "is zero"},
	{regexp.MustCompile(`^\w{3,} says\b`), "reports, returns"}, // of a function
}

// Comments and texts of all Go files do without the turns.
func TestTurns(t *testing.T) {
	fset := token.NewFileSet()
	err := filepath.WalkDir("../..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || filepath.Base(path) == "turns_test.go" {
			return err
		}
		file, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		look := func(at token.Pos, text string) {
			text = strings.Join(strings.Fields(text), " ")
			for _, turn := range turns {
				if found := turn.pattern.FindString(text); found != "" {
					t.Errorf("%s: %q; write: %s", fset.Position(at), found, turn.instead)
				}
			}
		}
		for _, c := range file.Comments {
			look(c.Pos(), c.Text())
		}
		ast.Inspect(file, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				look(lit.Pos(), lit.Value)
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
