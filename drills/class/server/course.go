//go:build !js

package server

import (
	"fmt"
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

// courseSheet is one sheet of the course.
type courseSheet struct {
	servedSheet
	sheet sheet.Sheet

	// All wait for each other, and the teacher releases round after round.
	together bool
	released int // the last round that may be played
}

// openCourse reads the sheets that the store has.
func openCourse(s *store, l library, now func() time.Time) (*course, error) {
	c := &course{store: s, library: l, now: now}
	list, err := s.sheets()
	if err != nil {
		return nil, err
	}
	for _, one := range list {
		n, err := sheet.ParseCode(one.code)
		if err != nil {
			return nil, fmt.Errorf("a sheet of the course: %w", err)
		}
		if n.Recorded {
			if n, err = l.read(one.code); err != nil {
				return nil, err
			}
		}
		c.sheets = append(c.sheets, &courseSheet{servedSheet: one, sheet: n})
	}
	return c, nil
}

// add puts a sheet into the course, or opens it again, from a time to another if
// they are not zero.
func (c *course) add(n sheet.Sheet, opens, closes time.Time) error {
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
			if err := c.library.keep(n, code); err != nil {
				return err
			}
		}
		one = &courseSheet{servedSheet: servedSheet{code: code, opened: c.now().UTC()}, sheet: n}
		if !opens.IsZero() {
			one.opened = opens.UTC()
		}
		if n.Exam {
			one.secret = newKey()
		}
		c.sheets = append(c.sheets, one)
	} else if len(n.Recordings) > 0 && !sameSheet(n, one.sheet) {
		return said.Errorf("server.other_recordings", "the class code %s stands for a sheet on other recordings in this course already; make the sheet again with another seed", code)
	}
	if n.Exam && one.over(c.now()) {
		return errReopen
	}
	one.opens, one.closes, one.shut = opens, closes, false
	return c.store.setSheet(one.servedSheet)
}

func (c *course) find(code string) *courseSheet {
	i := slices.IndexFunc(c.sheets, func(s *courseSheet) bool { return s.code == code })
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

// change changes a sheet and stores it; it reports false if it is none of the
// course. What do does not allow is its error.
func (c *course) change(code string, do func(*courseSheet) error) (bool, error) {
	c.mu.Lock()
	defer c.mu.Unlock()
	one := c.find(code)
	if one == nil {
		return false, nil
	}
	if err := do(one); err != nil {
		return true, err
	}
	return true, c.store.setSheet(one.servedSheet)
}

// isOpen reports whether a sheet is open at a time. What is handed in otherwise
// is late.
func (s servedSheet) isOpen(now time.Time) bool {
	return !s.shut && !now.Before(s.opens) && (s.closes.IsZero() || now.Before(s.closes))
}
