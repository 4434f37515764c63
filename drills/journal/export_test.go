//go:build !js

package journal

import (
	"bytes"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestExportAndImport(t *testing.T) {
	dir := memoryDir(t)
	j := open1(t, filepath.Join(dir, "journal.db"))
	want := fill(t, j, 40)
	odd := entry(41)
	odd.Kind, odd.Drill, odd.Sheet, odd.NoError = `=1+1, "quoted"; 'x`, "'=x", "-5", true
	odd.Settings, odd.Take.Moves = nil, nil
	number, choice := -3.5, 2
	odd.Take.Number, odd.Take.Choice = &number, &choice
	odd.Seed = 1<<64 - 1
	odd, err := j.Add(odd)
	if err != nil {
		t.Fatal(err)
	}
	want = append(want, odd)

	for name, export := range map[string]func(*bytes.Buffer) error{
		"JSON lines": func(b *bytes.Buffer) error { return j.ExportJSON(b) },
		"CSV":        func(b *bytes.Buffer) error { return j.ExportCSV(b) },
		"CSV that a spreadsheet has saved": func(b *bytes.Buffer) error {
			var plain bytes.Buffer
			err := j.ExportCSV(&plain)
			b.WriteString(strings.NewReplacer(",false,", ",FALSE,", ",true,", ",TRUE,").Replace(plain.String()))
			return err
		},
	} {
		t.Run(name, func(t *testing.T) {
			var b bytes.Buffer
			if err := export(&b); err != nil {
				t.Fatal(err)
			}
			other := open1(t, filepath.Join(memoryDir(t), "journal.db"))
			got, err := other.Import(bytes.NewReader(b.Bytes()))
			if err != nil || got != (Imported{Added: len(want)}) {
				t.Fatalf("Import: %+v, %v", got, err)
			}
			if diff := cmp.Diff(want, read(t, other)); diff != "" {
				t.Errorf("the round trip changed takes (-want +got):\n%s", diff)
			}
			got, err = other.Import(bytes.NewReader(b.Bytes()))
			if err != nil || got != (Imported{Known: len(want)}) {
				t.Errorf("a second Import: %+v, %v", got, err)
			}
			if err := other.Check(t.Context()); err != nil || len(other.Asides()) > 0 {
				t.Errorf("Check after import: %v, %v", err, other.Asides())
			}
		})
	}
}

// Takes of two machines come together in order of time.
func TestImportPutsMarksInOrderOfTime(t *testing.T) {
	a := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	b := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	var even, odd []Entry
	for i := range 300 {
		even, odd = append(even, entry(2*i)), append(odd, entry(2*i+1))
	}
	a.addRows(rows(t, even...), false)
	b.addRows(rows(t, odd...), false)
	var out bytes.Buffer
	if err := b.ExportJSON(&out); err != nil {
		t.Fatal(err)
	}
	if got, err := a.Import(&out); err != nil || got.Added != 300 {
		t.Fatalf("%+v, %v", got, err)
	}
	marks, err := a.Marks()
	if err != nil || len(marks) != 600 {
		t.Fatalf("%d, %v", len(marks), err)
	}
	for i, m := range marks {
		if m != entry(i).Mark() {
			t.Fatalf("mark %d is %+v, want %+v", i, m, entry(i).Mark())
		}
	}
}

func rows(t *testing.T, all ...Entry) (rows []row) {
	t.Helper()
	for _, e := range all {
		r, err := newRow(e)
		if err != nil {
			t.Fatal(err)
		}
		rows = append(rows, r)
	}
	return rows
}

func TestImportsThatAreWrongChangeNothing(t *testing.T) {
	j := open1(t, filepath.Join(memoryDir(t), "journal.db"))
	good, _ := json.Marshal(entry(1))
	var names []string
	for _, c := range columns {
		names = append(names, c.name)
	}
	csvHead := strings.Join(names, ",") + "\r\n"
	for text, want := range map[string]string{
		"":      "empty",
		"hello": "neither JSON lines nor a CSV",
		`{"format":"something else","version":1}`:            "line 1: it is not a history",
		`{"format":"slowneedle journal","version":2}`:        "newer than this program",
		string(good) + "\n{":                                 "line 2",
		string(good) + "\n" + `{"drill":"x"}`:                "line 2: the take cannot be saved: when is missing",
		string(good) + "\n" + `{"seed":-1}`:                  "line 2",
		csvHead + "a,b":                                      "line 2",
		csvHead + strings.Repeat("x,", len(columns)-1) + "x": "line 2: when",
	} {
		if _, err := j.Import(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("import of %.40q: %v, want %q", text, err, want)
		}
	}
	if n := len(read(t, j)); n != 0 {
		t.Errorf("%d takes were imported", n)
	}
}
