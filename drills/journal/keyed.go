package journal

import (
	"encoding/base64"
	"errors"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"slowneedle/audio/said"
	"slowneedle/drills/progress"
)

// cells is storage of texts by name, as a browser's local storage is. set
// either stores the whole text or nothing; its error is ErrFull if there is no
// room.
type cells interface {
	get(name string) (text string, ok bool)
	set(name, text string) error
	remove(name string)
	names() []string
}

// Names of the cells. A take has "slowneedle.take.NNNNNNNNNNNN.ID", numbered in
// the order of adding; two windows that add at once use different names. Its
// text is the CRC-32 in hexadecimal, a dot, and the packed entry in base64.
const (
	takeCell  = "slowneedle.take."
	asideCell = "slowneedle.broken."
)

// keyed is a journal in cells. Every take is a cell of its own, so there is no
// file to lock and none to be damaged as a whole.
type keyed struct {
	mu     sync.Mutex
	cells  cells
	next   int64
	names  []string          // of the takes, in order
	ids    map[string]string // name of the cell by name of the take
	asides []string
}

// errRemoved: another window has removed the cell.
var errRemoved = errors.New("journal: the take has been removed")

// newKeyed reads the names and sets cells that are damaged aside.
func newKeyed(c cells) (*keyed, error) {
	k := &keyed{cells: c, ids: make(map[string]string)}
	for _, name := range c.names() {
		rest, ok := strings.CutPrefix(name, takeCell)
		if !ok {
			continue
		}
		number, id, _ := strings.Cut(rest, ".")
		n, err := strconv.ParseInt(number, 10, 64)
		e, readErr := k.read(name)
		if err != nil || n < 0 || readErr != nil || e.ID != id {
			if err := k.setAside(name); err != nil {
				return nil, err
			}
			continue
		}
		if _, twice := k.ids[id]; twice {
			continue
		}
		k.ids[id] = name
		k.names = append(k.names, name)
		k.next = max(k.next, n+1)
	}
	slices.Sort(k.names)
	return k, nil
}

// setAside moves a damaged cell to a name not used before.
func (k *keyed) setAside(name string) error {
	text, _ := k.cells.get(name)
	for i := 1; ; i++ {
		to := fmt.Sprintf("%s%s.%d.%s", asideCell, time.Now().UTC().Format("20060102T150405Z"), i, strings.TrimPrefix(name, takeCell))
		if _, taken := k.cells.get(to); taken {
			continue
		}
		k.cells.remove(name) // first, or there may be no room; the text is in memory
		if err := k.cells.set(to, text); err != nil {
			return errors.Join(fmt.Errorf("journal: setting a damaged take aside: %w", err), k.cells.set(name, text))
		}
		k.asides = append(k.asides, to)
		return nil
	}
}

func (k *keyed) read(name string) (Entry, error) {
	text, ok := k.cells.get(name)
	if !ok {
		return Entry{}, errRemoved
	}
	_, id, _ := strings.Cut(strings.TrimPrefix(name, takeCell), ".")
	crc, packed, _ := strings.Cut(text, ".")
	sum, err := strconv.ParseUint(crc, 16, 32)
	if err != nil {
		return Entry{}, errDamaged
	}
	b, err := base64.StdEncoding.DecodeString(packed)
	if err != nil {
		return Entry{}, errDamaged
	}
	e, err := unpack(id, b)
	if err == nil && (e.ID != id || e.row(b).sum() != uint32(sum)) {
		err = errDamaged
	}
	return e, err
}

// addRows stores rows, all or none, and returns how many were new. They need not be
// sorted: Marks are in order of time anyway.
func (k *keyed) addRows(rows []row, _ bool) (int, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	var added []row
	var names []string
	for _, r := range rows {
		if _, known := k.ids[r.id]; known {
			continue
		}
		name := fmt.Sprintf("%s%012d.%s", takeCell, k.next, r.id)
		text := strconv.FormatUint(uint64(r.sum()), 16) + "." + base64.StdEncoding.EncodeToString(r.packed)
		if err := k.cells.set(name, text); err != nil {
			for i, r := range added {
				k.cells.remove(names[i])
				delete(k.ids, r.id)
			}
			return 0, said.Errorf("journal.storing", "journal: storing a take in the browser: %w", err)
		}
		k.next++
		k.ids[r.id] = name
		added, names = append(added, r), append(names, name)
	}
	k.names = append(k.names, names...)
	return len(added), nil
}

// All gives every take in the order they were added. It ends after the first error; cells
// that another window has removed meanwhile are left out.
func (k *keyed) All() iter.Seq2[Entry, error] {
	return func(yield func(Entry, error) bool) {
		k.mu.Lock()
		names := slices.Clone(k.names)
		k.mu.Unlock()
		for _, name := range names {
			e, err := k.read(name)
			if err == errRemoved {
				continue
			}
			if !yield(e, err) || err != nil {
				return
			}
		}
	}
}

// Marks returns what statistics need of every take, in order of time.
func (k *keyed) Marks() ([]progress.Mark, error) {
	var marks []progress.Mark
	for e, err := range k.All() {
		if err != nil {
			return nil, err
		}
		marks = append(marks, e.Mark())
	}
	slices.SortStableFunc(marks, func(a, b progress.Mark) int { return a.At.Compare(b.At) })
	return marks, nil
}

// ForgetAll removes every take, what was set aside included.
func (k *keyed) ForgetAll() error {
	k.mu.Lock()
	defer k.mu.Unlock()
	for _, name := range k.cells.names() {
		if strings.HasPrefix(name, takeCell) || strings.HasPrefix(name, asideCell) {
			k.cells.remove(name)
		}
	}
	k.names, k.asides = nil, nil
	clear(k.ids)
	return nil
}

// Asides lists where the damaged takes are that were set aside since Open.
func (k *keyed) Asides() []string { return slices.Clone(k.asides) }
