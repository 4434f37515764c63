//go:build !js

package server

import (
	"cmp"
	"context"
	"maps"
	"net/http"
	"slices"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills/class/sheet"
)

// course is the sheets of a class, by their class codes.
type course struct {
	*shelf[courseSheet]
	library library
	exams   *exams
	now     func() time.Time
}

// courseSheet is one sheet of the course, as the store keeps it.
type courseSheet struct {
	Number        int // in the order in which they were first served
	Code          string
	Sheet         sheet.Sheet
	Opened        time.Time // when it was first open
	Opens, Closes time.Time // if they are set by date
	Shut          bool      // by hand
	Secret        string    // that the rounds of an exam follow from

	// All wait for each other, and the teacher releases round after round.
	Together bool
	Released int // the last round that may be played
}

// add puts a sheet into the course, or opens it again, from a time to another if
// they are not zero.
func (c *course) add(ctx context.Context, n sheet.Sheet, opens, closes time.Time) error {
	n, err := n.Canonical()
	if err != nil {
		return err
	}
	code, err := n.Code()
	if err != nil {
		return err
	}
	return c.shelf.change(ctx, code, func(one *courseSheet) error {
		switch {
		case one.Code == "":
			*one = courseSheet{Number: len(c.shelf.all()), Code: code, Sheet: n, Opened: c.now().UTC()}
			if !opens.IsZero() {
				one.Opened = opens.UTC()
			}
			if n.Exam {
				one.Secret = newKey()
			}
			if n.Recorded {
				if err := c.library.keep(n); err != nil {
					return err
				}
			}
		case len(n.Recordings) > 0 && !sameSheet(n, one.Sheet):
			return &refusal{status: http.StatusConflict, error: said.Errorf("server.other_recordings", "the class code %s stands for a sheet on other recordings in this course already; make the sheet again with another seed", code)}
		}
		if !one.Shut && one.Opens.Equal(opens) && one.Closes.Equal(closes) {
			return nil // the command that opened it was given once more
		}
		if c.isSpent(*one) {
			return errReopen
		}
		one.Opens, one.Closes, one.Shut = opens, closes, false
		return nil
	})
}

// all returns the sheets of the course as they are now, in the order in which they were
// first served.
func (c *course) all() []courseSheet {
	return slices.SortedFunc(maps.Values(c.shelf.all()), func(a, b courseSheet) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.Code, b.Code))
	})
}

// change changes a sheet. The error is that it is none of the course, or what do does not
// allow.
func (c *course) change(ctx context.Context, code string, do func(*courseSheet) error) error {
	return c.shelf.change(ctx, code, func(one *courseSheet) error {
		if one.Code == "" {
			return errNoSuch
		}
		return do(one)
	})
}

// isSpent reports whether a sheet is an exam that is not opened again: it is over, and
// somebody was given rounds of it, so that verdicts may have been seen.
func (c *course) isSpent(s courseSheet) bool {
	return s.Sheet.Exam && s.over(c.now()) && c.exams.begun(s.Code)
}

// isOpen reports whether a sheet is open at a time. What is handed in otherwise
// is late.
func (s courseSheet) isOpen(now time.Time) bool {
	return !s.Shut && !now.Before(s.Opens) && (s.Closes.IsZero() || now.Before(s.Closes))
}

// over reports whether an exam's verdicts may be seen.
func (s courseSheet) over(now time.Time) bool {
	return s.Shut || !s.Closes.IsZero() && !now.Before(s.Closes)
}

// withheld reports whether nobody may see a sheet's verdicts, the teacher included.
func (s courseSheet) withheld(now time.Time) bool { return s.Sheet.Exam && !s.over(now) }

// untold reports whether learners may not see a sheet's verdicts. A test form, which
// is played again, never has any for them.
func (s courseSheet) untold(now time.Time) bool { return s.Sheet.Form != "" || s.withheld(now) }
