package journal

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"slowneedle/audio/said"
	"slowneedle/audio/source"
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
	if err := out.Encode(format{formatName, formatVersion}); err != nil {
		return said.Errorf("journal.exporting", "journal: exporting: %w", err)
	}
	for e, err := range j.All() {
		if err == nil {
			err = out.Encode(e)
		}
		if err != nil {
			return said.Errorf("journal.exporting", "journal: exporting: %w", err)
		}
	}
	if err := b.Flush(); err != nil {
		return said.Errorf("journal.exporting", "journal: exporting: %w", err)
	}
	return nil
}

// columns of the CSV form. Those from error_db to seconds repeat the verdict
// for spreadsheets and are not read back.
var columns = []string{"id", "when", "drill", "family", "kind", "level", "rig", "seed", "index",
	"error_db", "tolerance_db", "in_window", "points", "seconds",
	"estimate_db", "sheet", "version", "no_error", "settings", "take", "verdict"}

// ExportCSV writes the journal as CSV (RFC 4180) in UTF-8 with a line of
// column names. settings, take and verdict are JSON. Texts that a
// spreadsheet would take for a formula begin with an apostrophe.
func (j *Journal) ExportCSV(w io.Writer) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	out.Write(columns)
	for e, err := range j.All() {
		if err != nil {
			return said.Errorf("journal.exporting", "journal: exporting: %w", err)
		}
		take, err1 := json.Marshal(e.Take)
		verdict, err2 := json.Marshal(e.Verdict)
		if err := errors.Join(err1, err2); err != nil {
			return fmt.Errorf("journal: exporting take %s: %w", e.ID, err)
		}
		errorDB := strconv.FormatFloat(e.Verdict.ErrorDB, 'g', -1, 64)
		if e.NoError {
			errorDB = ""
		}
		estimate := ""
		if e.EstimateDB != nil {
			estimate = strconv.FormatFloat(*e.EstimateDB, 'g', -1, 64)
		}
		out.Write([]string{table.Guard(e.ID), e.When.Format(time.RFC3339Nano), table.Guard(e.Drill), table.Guard(string(e.Family)),
			table.Guard(e.Kind), strconv.Itoa(e.Level), table.Guard(e.Rig), strconv.FormatUint(e.Seed, 10), strconv.Itoa(e.Index),
			errorDB, strconv.FormatFloat(e.ToleranceDB, 'g', -1, 64), strconv.FormatBool(e.Verdict.InWindow), strconv.Itoa(e.Verdict.Points),
			strconv.FormatFloat(e.Verdict.Seconds, 'g', -1, 64),
			estimate, table.Guard(e.Sheet), table.Guard(e.Version), strconv.FormatBool(e.NoError),
			table.Guard(string(e.Settings)), string(take), string(verdict)})
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return said.Errorf("journal.exporting", "journal: exporting: %w", err)
	}
	return nil
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
	for _, name := range columns {
		if _, ok := at[name]; !ok && !strings.Contains("error_db in_window points seconds", name) {
			return nil, said.Errorf("journal.no_column", "line 1: it is neither JSON lines nor a CSV with a column %q", name)
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
		r, err := readRecord(func(name string) string { return record[at[name]] })
		if err != nil {
			line, _ := in.FieldPos(0)
			return nil, said.Errorf("journal.line", "line %d: %w", line, err)
		}
		rows = append(rows, r)
	}
}

// readRecord makes an entry of the cells of a line.
func readRecord(cell func(string) string) (row, error) {
	var e Entry
	var err error
	e.ID, e.Drill, e.Kind = table.Unguard(cell("id")), table.Unguard(cell("drill")), table.Unguard(cell("kind"))
	e.Family, e.Rig = source.Family(table.Unguard(cell("family"))), table.Unguard(cell("rig"))
	e.Sheet, e.Version = table.Unguard(cell("sheet")), table.Unguard(cell("version"))
	for _, f := range []struct {
		name string
		read func(string) error
	}{
		{"when", func(s string) error { e.When, err = time.Parse(time.RFC3339Nano, s); return err }},
		{"level", func(s string) error { e.Level, err = strconv.Atoi(s); return err }},
		{"seed", func(s string) error { e.Seed, err = strconv.ParseUint(s, 10, 64); return err }},
		{"index", func(s string) error { e.Index, err = strconv.Atoi(s); return err }},
		{"tolerance_db", func(s string) error { e.ToleranceDB, err = strconv.ParseFloat(s, 64); return err }},
		{"estimate_db", func(s string) error {
			if s == "" {
				return nil
			}
			e.EstimateDB = new(float64)
			*e.EstimateDB, err = strconv.ParseFloat(s, 64)
			return err
		}},
		{"no_error", func(s string) error { e.NoError, err = strconv.ParseBool(s); return err }},
		{"take", func(s string) error { return json.Unmarshal([]byte(s), &e.Take) }},
		{"verdict", func(s string) error { return json.Unmarshal([]byte(s), &e.Verdict) }},
		{"settings", func(s string) error { e.Settings, err = raw(s); return err }},
	} {
		if err := f.read(cell(f.name)); err != nil {
			return row{}, fmt.Errorf("%s: %w", f.name, err)
		}
	}
	return newRow(e)
}

func raw(s string) (json.RawMessage, error) {
	if s == "" {
		return nil, nil
	}
	s = table.Unguard(s)
	if !json.Valid([]byte(s)) {
		return nil, errors.New("it is not JSON")
	}
	return json.RawMessage(s), nil
}
