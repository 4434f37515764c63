package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"time"

	"slowneedle/drills/table"
)

func fixed(v float64, decimals int) string { return strconv.FormatFloat(v+0, 'f', decimals, 64) }

// CSVOptions say how tables are written.
type CSVOptions struct {
	Separator rune // 0: a comma
	BOM       bool // begin with a byte order mark, by which some spreadsheets know UTF-8
	Share     bool // a gradebook has the share of the sheet's rounds that are right, in percent, not the points
}

// write writes rows as a table in CSV (RFC 4180).
func (o CSVOptions) write(w io.Writer, rows [][]string) error {
	if o.BOM {
		if _, err := io.WriteString(w, "\ufeff"); err != nil {
			return fmt.Errorf("writing CSV: %w", err)
		}
	}
	c := csv.NewWriter(w)
	if o.Separator != 0 {
		c.Comma = o.Separator
	}
	if err := c.WriteAll(rows); err != nil {
		return fmt.Errorf("writing CSV: %w", err)
	}
	return nil
}

// WriteTakesCSV writes a line for every take that counts.
func (b *Book) WriteTakesCSV(w io.Writer) error {
	rows := [][]string{{"id", "who", "code", "round", "family", "kind", "rig", "decided_by", "aim_db", "fader_db", "error_db", "outside_db",
		"in_window", "points", "under_read_db", "headroom_db", "clipped_samples", "seconds", "moves", "ended", "arrived", "late", "file"}}
	for _, s := range b.Sheets {
		for _, e := range s.Entries {
			arrived := ""
			if !e.Arrived.IsZero() {
				arrived = e.Arrived.Format(time.RFC3339)
			}
			for i, v := range e.Verdicts {
				r := e.Round(i)
				rig := ""
				if r.Info.Rig.Medium != "" {
					rig = r.Info.Rig.String()
				}
				rows = append(rows, []string{table.Guard(e.Learner.ID), table.Guard(e.Learner.Who), s.Code, strconv.Itoa(r.Index + 1),
					string(r.Info.Family), r.Info.Kind, rig, string(v.DecidedBy), fixed(v.AimDB, 1), fixed(v.FaderDB, 1), fixed(v.ErrorDB, 1),
					fixed(e.Answers[i].OutsideDB, 1), strconv.FormatBool(v.InWindow), strconv.Itoa(v.Points), fixed(v.UnderReadDB, 2),
					fixed(v.HeadroomDB, 2), strconv.FormatInt(v.Clipped, 10), fixed(v.Seconds, 1), strconv.Itoa(v.MoveCount),
					e.Ended.Format(time.RFC3339), arrived, strconv.FormatBool(e.Late), table.Guard(e.Name)})
			}
		}
	}
	return b.CSV.write(w, rows)
}

// WriteLearnersCSV writes a line for every learner, sheet and family, and one
// for all families of a sheet together. Intervals are 95 %; without enough takes
// for one they are empty.
func (b *Book) WriteLearnersCSV(w io.Writer) error {
	rows := [][]string{{"id", "who", "code", "family", "takes", "right", "too_hot", "too_cold", "bias_db", "bias_lo_db", "bias_hi_db", "spread_db", "leans", "doubts"}}
	line := func(e *Entry, family string, s Stat) {
		row := []string{table.Guard(e.Learner.ID), table.Guard(e.Learner.Who), e.Code, family, strconv.Itoa(s.N), strconv.Itoa(s.Right),
			strconv.Itoa(s.Hot), strconv.Itoa(s.Cold), fixed(s.Bias.Value, 2), "", "", "", []string{"cold", "", "hot"}[s.Claim()+1], strconv.Itoa(len(e.Learner.Doubts))}
		if s.Bias.OK {
			row[9], row[10], row[11] = fixed(s.Bias.Lo, 2), fixed(s.Bias.Hi, 2), fixed(s.Spread.Value, 2)
		}
		rows = append(rows, row)
	}
	for _, s := range b.Sheets {
		for _, e := range s.Entries {
			line(e, "all", e.All)
			for _, c := range s.Class {
				if one, ok := e.ByFamily[c.Family]; ok {
					line(e, string(c.Family), one)
				}
			}
		}
	}
	return b.CSV.write(w, rows)
}

// WriteGradebookCSV writes a row for each learner and a column for each sheet,
// as learning platforms import grades: by an id of theirs, or by name. Whoever
// handed in nothing has an empty cell. Points are 0 to 100, the mean.
func (b *Book) WriteGradebookCSV(w io.Writer) error {
	head := []string{"id", "name"}
	for _, s := range b.Sheets {
		head = append(head, s.Code)
	}
	rows := [][]string{head}
	for _, l := range b.Learners {
		row := []string{table.Guard(l.ID), table.Guard(l.Who)}
		for _, s := range b.Sheets {
			cell := ""
			switch e := l.On(s); {
			case e == nil:
			case b.CSV.Share:
				cell = fixed(100*float64(e.All.Right)/float64(len(s.Rounds)), 1)
			default:
				cell = fixed(e.Points(), 1)
			}
			row = append(row, cell)
		}
		rows = append(rows, row)
	}
	for _, one := range b.Absent {
		rows = append(rows, append([]string{table.Guard(one.ID), table.Guard(one.Name)}, make([]string, len(b.Sheets))...))
	}
	return b.CSV.write(w, rows)
}
