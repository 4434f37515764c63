//go:build !js

package server

import (
	"cmp"
	"context"
	"maps"
	"net/http"
	"slices"
	"sync"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills/class/sheet"
)

// course is the sheets of a class, in the order in which they were first served.
type course struct {
	store   *store
	library library
	now     func() time.Time

	mu     sync.Mutex
	sheets []*courseSheet
}

// courseSheet is one sheet of the course, as the store keeps it.
type courseSheet struct {
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

// openCourse reads the sheets that the store has.
func openCourse(s *store, l library, now func() time.Time) (*course, error) {
	all, err := kept[*courseSheet](s, keptSheets)
	c := &course{store: s, library: l, now: now, sheets: slices.Collect(maps.Values(all))}
	slices.SortFunc(c.sheets, func(a, b *courseSheet) int {
		return cmp.Or(a.Opened.Compare(b.Opened), cmp.Compare(a.Code, b.Code))
	})
	return c, err
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
	c.mu.Lock()
	defer c.mu.Unlock()
	one := c.find(code)
	if one == nil {
		if n.Recorded {
			if err := c.library.keep(n); err != nil {
				return err
			}
		}
		one = &courseSheet{Code: code, Sheet: n, Opened: c.now().UTC()}
		if !opens.IsZero() {
			one.Opened = opens.UTC()
		}
		if n.Exam {
			one.Secret = newKey()
		}
		c.sheets = append(c.sheets, one)
	} else if len(n.Recordings) > 0 && !sameSheet(n, one.Sheet) {
		return &refusal{status: http.StatusConflict, error: said.Errorf("server.other_recordings", "the class code %s stands for a sheet on other recordings in this course already; make the sheet again with another seed", code)}
	}
	if n.Exam && one.over(c.now()) {
		return errReopen
	}
	one.Opens, one.Closes, one.Shut = opens, closes, false
	return c.store.set(ctx, keptSheets, code, one)
}

func (c *course) find(code string) *courseSheet {
	i := slices.IndexFunc(c.sheets, func(s *courseSheet) bool { return s.Code == code })
	if i < 0 {
		return nil
	}
	return c.sheets[i]
}

// get returns a sheet of the course as it is now; ok is false if it is none.
func (c *course) get(code string) (s courseSheet, ok bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if one := c.find(code); one != nil {
		return *one, true
	}
	return courseSheet{}, false
}

// all returns the sheets of the course as they are now.
func (c *course) all() []courseSheet {
	c.mu.Lock()
	defer c.mu.Unlock()
	var list []courseSheet
	for _, s := range c.sheets {
		list = append(list, *s)
	}
	return list
}

// change changes a sheet and stores it. The error is that it is none of the course,
// or what do does not allow.
func (c *course) change(ctx context.Context, code string, do func(*courseSheet) error) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	one := c.find(code)
	if one == nil {
		return errNoSuch
	}
	if err := do(one); err != nil {
		return err
	}
	return c.store.set(ctx, keptSheets, code, one)
}

// isOpen reports whether a sheet is open at a time. What is handed in otherwise
// is late.
func (s courseSheet) isOpen(now time.Time) bool {
	return !s.Shut && !now.Before(s.Opens) && (s.Closes.IsZero() || now.Before(s.Closes))
}

// over reports whether an exam's verdicts may be seen, after which it is not opened
// again.
func (s courseSheet) over(now time.Time) bool {
	return s.Shut || !s.Closes.IsZero() && !now.Before(s.Closes)
}

// withheld reports whether nobody may see a sheet's verdicts, the teacher included.
func (s courseSheet) withheld(now time.Time) bool { return s.Sheet.Exam && !s.over(now) }

// untold reports whether learners may not see a sheet's verdicts. A test form, which
// is played again, never has any for them.
func (s courseSheet) untold(now time.Time) bool { return s.Sheet.Form != "" || s.withheld(now) }
