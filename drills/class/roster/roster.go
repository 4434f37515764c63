// Package roster reads the list of a class: who should hand in.
//
// It is a table in CSV with a line for each learner: an id, the name, and any
// number of other spellings of the name. A first line with "id" or "name" in their
// places is a heading. Separators may be commas, semicolons or tabs, whichever the
// first line has.
//
//	id,name
//	1041,Moonrake
//	1042,Salt Moth,Salty,S. Moth
package roster

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"slowneedle/drills/class/handin"
	"slowneedle/drills/table"
)

// Limits of a roster.
const (
	MaxFile    = 1 << 20 // bytes
	MaxEntries = 5000
)

// Entry is one learner of a class.
type Entry struct {
	ID   string
	Name string
	Also []string // other spellings
}

// Roster is the list of a class. The zero value is empty.
type Roster struct {
	Entries []Entry
	index   map[string]int // by the skeleton of each spelling
}

// Parse reads a roster. The error is one sentence that names the line.
func Parse(data []byte) (Roster, error) {
	if !utf8.Valid(data) {
		return Roster{}, errors.New("roster: it is not text in UTF-8; save the table as CSV in UTF-8")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	first, _, _ := bytes.Cut(bytes.TrimLeft(data, "\r\n"), []byte("\n"))
	in := csv.NewReader(bytes.NewReader(data))
	in.FieldsPerRecord, in.TrimLeadingSpace = -1, true
	for _, comma := range ";\t" {
		if bytes.ContainsRune(first, comma) && !bytes.ContainsRune(first, ',') {
			in.Comma = comma
		}
	}
	r := Roster{index: make(map[string]int)}
	for heading := true; ; {
		row, err := in.Read()
		if err == io.EOF {
			break
		}
		if broken := (*csv.ParseError)(nil); errors.As(err, &broken) {
			return Roster{}, fmt.Errorf("roster: line %d: a quotation mark is out of place; put the whole name in quotation marks, and write one inside it twice", broken.StartLine)
		}
		if err != nil {
			return Roster{}, fmt.Errorf("roster: %w", err)
		}
		for i := range row {
			row[i] = handin.TidyWho(table.Unguard(row[i]))
		}
		if strings.Join(row, "") == "" { // spreadsheets leave empty rows
			continue
		}
		if heading {
			if heading = false; isHeading(row) {
				continue
			}
		}
		if err := r.add(row); err != nil {
			line, _ := in.FieldPos(0)
			return Roster{}, fmt.Errorf("roster: line %d: %w", line, err)
		}
	}
	if len(r.Entries) == 0 {
		return Roster{}, fmt.Errorf("roster: it is empty; write a line with id and name for each learner")
	}
	return r, nil
}

// isHeading reports whether a row says what stands below.
func isHeading(row []string) bool {
	return strings.EqualFold(row[0], "id") || len(row) > 1 && strings.EqualFold(row[1], "name")
}

// add adds a learner: an id, the name and other spellings of it.
func (r *Roster) add(row []string) error {
	switch {
	case len(row) < 2:
		return errors.New("it needs an id and a name, as in 1041,Moonrake")
	case row[0] == "":
		return errors.New("the id is missing")
	case strings.EqualFold(row[0], "name") && len(r.Entries) == 0:
		return errors.New("the id comes first, then the name; change the columns")
	case slices.ContainsFunc(r.Entries, func(e Entry) bool { return e.ID == row[0] }):
		return fmt.Errorf("the id %.40q is given twice", row[0])
	case len(r.Entries) == MaxEntries:
		return fmt.Errorf("a roster has at most %d learners", MaxEntries)
	}
	e := Entry{ID: row[0], Name: row[1]}
	for i, name := range row[1:] {
		if name == "" && i > 0 {
			continue
		}
		if err := handin.CheckWho(name); err != nil {
			return err
		}
		key := handin.Skeleton(name)
		if other, ok := r.index[key]; ok && other != len(r.Entries) {
			return fmt.Errorf("%s and %s cannot be told apart; add something to one of them", name, r.Entries[other].Name)
		}
		r.index[key] = len(r.Entries)
		if i > 0 {
			e.Also = append(e.Also, name)
		}
	}
	r.Entries = append(r.Entries, e)
	return nil
}

// Find returns the learner of a name, whichever spelling it is.
func (r Roster) Find(who string) (Entry, bool) {
	if i, ok := r.index[handin.Skeleton(who)]; ok {
		return r.Entries[i], true
	}
	return Entry{}, false
}

// Key tells learners apart: by the roster where they are in it, else by how their
// names look.
func (r Roster) Key(who string) string {
	if one, ok := r.Find(who); ok {
		return one.ID
	}
	return "\n" + handin.Skeleton(who)
}

// Search returns at most so many names in which a word begins with what was
// typed, in alphabetical order.
func (r Roster) Search(typed string, most int) []string {
	names := []string{}
	want := handin.Skeleton(typed)
	for _, e := range r.Entries {
		if want != "" && strings.Contains(" "+handin.Skeleton(e.Name), " "+want) {
			names = append(names, e.Name)
		}
	}
	slices.Sort(names)
	return names[:min(len(names), most)]
}
