package report

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"

	"slowneedle/drills/table"
)

func fixed(v float64, decimals int) string { return strconv.FormatFloat(v+0, 'f', decimals, 64) }

// WriteTakesCSV writes a line for every take that counts.
func (b *Book) WriteTakesCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	c.Write([]string{"who", "code", "round", "family", "kind", "rig", "decided_by", "aim_db", "fader_db", "error_db",
		"in_window", "points", "under_read_db", "headroom_db", "clipped_samples", "seconds", "moves", "ended", "file"})
	for _, l := range b.Learners {
		for _, e := range l.Entries {
			h := e.Submission.Result.HandIn
			for i, v := range e.Submission.Result.Verdicts {
				r := e.Sheet.Rounds[i]
				rig := ""
				if r.Info.Rig.Medium != "" {
					rig = r.Info.Rig.String()
				}
				c.Write([]string{table.Guard(l.Who), h.Code, strconv.Itoa(i + 1), string(r.Info.Family), r.Info.Kind, rig,
					string(v.DecidedBy), fixed(v.AimDB, 1), fixed(v.FaderDB, 1), fixed(v.ErrorDB, 1), strconv.FormatBool(v.InWindow),
					strconv.Itoa(v.Points), fixed(v.UnderReadDB, 2), fixed(v.HeadroomDB, 2), strconv.FormatInt(v.Clipped, 10),
					fixed(v.Seconds, 1), strconv.Itoa(v.MoveCount), h.Ended.Format(time.RFC3339), table.Guard(e.Submission.Name)})
			}
		}
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return fmt.Errorf("writing the takes as CSV: %w", err)
	}
	return nil
}

// WriteLearnersCSV writes a line for every learner and family, and one for all
// families together. Intervals are 95 %; without enough takes for one they are
// empty.
func (b *Book) WriteLearnersCSV(w io.Writer) error {
	c := csv.NewWriter(w)
	c.Write([]string{"who", "family", "takes", "right", "bias_db", "bias_lo_db", "bias_hi_db", "spread_db", "leans", "doubts"})
	line := func(l *Learner, family string, s Stat) {
		row := []string{table.Guard(l.Who), family, strconv.Itoa(s.N), strconv.Itoa(s.Right), fixed(s.Bias.Value, 2), "", "", "",
			strings.TrimSpace(leanWord(s.Claim(), true)), strconv.Itoa(len(l.Doubts))}
		if s.Bias.OK {
			row[5], row[6], row[7] = fixed(s.Bias.Lo, 2), fixed(s.Bias.Hi, 2), fixed(s.Spread.Value, 2)
		}
		c.Write(row)
	}
	for _, l := range b.Learners {
		line(l, "all", l.All)
		for _, f := range b.Families {
			if s, ok := l.ByFamily[f]; ok {
				line(l, string(f), s)
			}
		}
	}
	c.Flush()
	if err := c.Error(); err != nil {
		return fmt.Errorf("writing the learners as CSV: %w", err)
	}
	return nil
}
