package journal

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills/table"
)

// format is the first line of an export as JSON lines.
type format struct {
	Format  string `json:"format"`
	Version int    `json:"version"`
}

const (
	formatName    = "slowneedle journal"
	formatVersion = 1
)

// ExportJSON writes the journal as JSON lines in UTF-8: first
// {"format":"slowneedle journal","version":1}, then one Entry a line in the
// order of adding.
func (j *Journal) ExportJSON(w io.Writer) error {
	b := bufio.NewWriter(w)
	out := json.NewEncoder(b)
	err := out.Encode(format{formatName, formatVersion})
	return j.export(err, func(e *Entry) error { return out.Encode(e) }, b.Flush)
}

// ExportCSV writes the journal as CSV (RFC 4180) in UTF-8 with a line of
// column names. settings, take and verdict are JSON. Texts that a
// spreadsheet would take for a formula begin with an apostrophe.
func (j *Journal) ExportCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	record := make([]string, len(columns))
	for i, c := range columns {
		record[i] = c.name
	}
	err := out.Write(record)
	return j.export(err, func(e *Entry) error {
		for i, c := range columns {
			record[i] = c.write(e)
		}
		return out.Write(record)
	}, func() error {
		out.Flush()
		return out.Error()
	})
}

// export writes every take and then the end, unless there is an error already.
func (j *Journal) export(err error, write func(*Entry) error, end func() error) error {
	for e, fault := range j.All() {
		if err = cmp.Or(err, fault); err != nil {
			break
		}
		err = write(&e)
	}
	if err == nil {
		err = end()
	}
	if err != nil {
		return said.Errorf("journal.exporting", "journal: exporting: %w", err)
	}
	return nil
}

// column is one of the CSV form. Those without read repeat the verdict for
// spreadsheets.
type column struct {
	name  string
	write func(e *Entry) string
	read  func(e *Entry, cell string) error
}

var columns = []column{
	text("id", func(e *Entry) *string { return &e.ID }),
	{"when", func(e *Entry) string { return e.When.Format(time.RFC3339Nano) },
		func(e *Entry, cell string) (err error) { e.When, err = time.Parse(time.RFC3339Nano, cell); return err }},
	text("drill", func(e *Entry) *string { return &e.Drill }),
	text("family", func(e *Entry) *string { return (*string)(&e.Family) }),
	text("kind", func(e *Entry) *string { return &e.Kind }),
	value("level", func(e *Entry) any { return &e.Level }),
	text("rig", func(e *Entry) *string { return &e.Rig }),
	value("seed", func(e *Entry) any { return &e.Seed }),
	value("index", func(e *Entry) any { return &e.Index }),
	{"error_db", func(e *Entry) string {
		if e.NoError {
			return ""
		}
		return plain(e.Verdict.ErrorDB)
	}, nil},
	value("tolerance_db", func(e *Entry) any { return &e.ToleranceDB }),
	{"in_window", func(e *Entry) string { return plain(e.Verdict.InWindow) }, nil},
	{"points", func(e *Entry) string { return plain(e.Verdict.Points) }, nil},
	{"seconds", func(e *Entry) string { return plain(e.Verdict.Seconds) }, nil},
	optional(value("estimate_db", func(e *Entry) any { return &e.EstimateDB })),
	text("sheet", func(e *Entry) *string { return &e.Sheet }),
	text("version", func(e *Entry) *string { return &e.Version }),
	{"no_error", func(e *Entry) string { return plain(e.NoError) }, // a spreadsheet writes FALSE
		func(e *Entry, cell string) (err error) { e.NoError, err = strconv.ParseBool(cell); return err }},
	optional(value("settings", func(e *Entry) any { return &e.Settings })),
	value("take", func(e *Entry) any { return &e.Take }),
	value("verdict", func(e *Entry) any { return &e.Verdict }),
}

// text is a column of text.
func text(name string, of func(*Entry) *string) column {
	return column{name, func(e *Entry) string { return table.Guard(*of(e)) },
		func(e *Entry, cell string) error { *of(e) = table.Unguard(cell); return nil }}
}

// value is a column of a number, or of anything else that is written as JSON.
func value(name string, of func(*Entry) any) column {
	return column{name, func(e *Entry) string { return plain(of(e)) },
		func(e *Entry, cell string) error { return json.Unmarshal([]byte(cell), of(e)) }}
}

// optional is a column that may be empty.
func optional(c column) column {
	read := c.read
	c.read = func(e *Entry, cell string) error {
		if cell == "" {
			return nil
		}
		return read(e, cell)
	}
	return c
}

// plain is a value as JSON, or nothing if there is none.
func plain(v any) string {
	b, err := json.Marshal(v)
	if err != nil || string(b) == "null" {
		return ""
	}
	return string(b)
}

// Import reads an export of either form, recognised by its first character.
// Takes that the journal has already, by ID, are left as they are, so an
// import may be repeated. It is all or nothing: an error names the line that is
// wrong, and then nothing was imported. Fields of later versions that this one
// does not know are ignored.
func (j *Journal) Import(r io.Reader) (Imported, error) {
	b := bufio.NewReaderSize(r, 64<<10)
	if bom, _ := b.Peek(3); bytes.Equal(bom, []byte("\xef\xbb\xbf")) {
		b.Discard(3)
	}
	first, err := b.Peek(1)
	if err != nil {
		return Imported{}, said.Errorf("journal.import_empty", "journal: importing: the file is empty")
	}
	var rows []row
	if first[0] == '{' {
		rows, err = readLines(b)
	} else {
		rows, err = readCSV(b)
	}
	if err != nil {
		return Imported{}, said.Errorf("journal.importing", "journal: importing: %w; nothing was imported", err)
	}
	added, err := j.addRows(rows, true)
	if err != nil {
		return Imported{}, err
	}
	return Imported{Added: added, Known: len(rows) - added}, nil
}

func readLines(b *bufio.Reader) ([]row, error) {
	var rows []row
	in := bufio.NewScanner(b)
	in.Buffer(nil, maxBody)
	n := 0
	for in.Scan() {
		n++
		line := bytes.TrimSpace(in.Bytes())
		if len(line) == 0 {
			continue
		}
		var f format
		if n == 1 && json.Unmarshal(line, &f) == nil && f.Format != "" {
			if f.Format != formatName || f.Version < 1 {
				return nil, said.Errorf("journal.not_one", "line 1: it is not a history but %q", f.Format)
			}
			if f.Version > formatVersion {
				return nil, said.Errorf("journal.import_newer", "line 1: version %d is newer than this program reads (%d); update it", f.Version, formatVersion)
			}
			continue
		}
		var e Entry
		if err := json.Unmarshal(line, &e); err != nil {
			return nil, said.Errorf("journal.line", "line %d: %w", n, err)
		}
		r, err := newRow(e)
		if err != nil {
			return nil, said.Errorf("journal.line", "line %d: %w", n, err)
		}
		rows = append(rows, r)
	}
	if err := in.Err(); err != nil {
		return nil, said.Errorf("journal.line", "line %d: %w", n+1, err)
	}
	return rows, nil
}

func readCSV(b *bufio.Reader) ([]row, error) {
	in := csv.NewReader(b)
	in.ReuseRecord = true
	head, err := in.Read()
	if err != nil {
		return nil, said.Errorf("journal.neither", "it is neither JSON lines nor CSV: %w", err)
	}
	at := make(map[string]int)
	for i, name := range head {
		at[strings.TrimSpace(name)] = i
	}
	for _, c := range columns {
		if _, ok := at[c.name]; !ok && c.read != nil {
			return nil, said.Errorf("journal.no_column", "line 1: it is neither JSON lines nor a CSV with a column %q", c.name)
		}
	}
	var rows []row
	for {
		record, err := in.Read()
		if err == io.EOF {
			return rows, nil
		}
		if bad, ok := errors.AsType[*csv.ParseError](err); ok {
			return nil, said.Errorf("journal.line", "line %d: %w", bad.Line, bad.Err)
		}
		if err != nil {
			return nil, err
		}
		var e Entry
		for _, c := range columns {
			if c.read == nil || err != nil {
				continue
			}
			if err = c.read(&e, record[at[c.name]]); err != nil {
				err = fmt.Errorf("%s: %w", c.name, err)
			}
		}
		var r row
		if err == nil {
			r, err = newRow(e)
		}
		if err != nil {
			line, _ := in.FieldPos(0)
			return nil, said.Errorf("journal.line", "line %d: %w", line, err)
		}
		rows = append(rows, r)
	}
}
