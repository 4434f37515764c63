package progress

import (
	"cmp"
	"math"
	"slices"
	"time"

	"slowneedle/drills/ladder"
)

// Book holds a learner's marks in the order they were made. The zero value is
// empty and ready. It is not for use by several goroutines at once.
type Book struct {
	lanes   map[Key]*lane
	ladders map[Key]ladder.State // by drill and family
	count   int
}

// lane is the marks of one full key.
type lane struct {
	key Key
	m   []point
}

// point is a mark without its key.
type point struct {
	seq    int
	ms     int64 // Unix milliseconds
	err    float64
	points int32
	level  int32
	right  bool
	noErr  bool
}

// Read makes a book of marks, oldest first.
func Read(marks []Mark) *Book {
	b := new(Book)
	for i := range marks {
		b.Add(marks[i])
	}
	return b
}

// Add appends the newest mark.
func (b *Book) Add(m Mark) {
	if b.lanes == nil {
		b.lanes = make(map[Key]*lane)
		b.ladders = make(map[Key]ladder.State)
	}
	k := Key{m.Drill, m.Family, m.Rig}
	l := b.lanes[k]
	if l == nil {
		l = &lane{key: k}
		b.lanes[k] = l
	}
	noErr := m.NoError || math.IsNaN(m.ErrorDB) || math.IsInf(m.ErrorDB, 0)
	l.m = append(l.m, point{seq: b.count, ms: m.At.UnixMilli(), err: m.ErrorDB, points: int32(m.Points),
		level: int32(m.Level), right: m.Right, noErr: noErr})
	b.count++
	if m.Level > 0 {
		k.Rig = ""
		b.ladders[k] = b.ladders[k].Next(m.Right)
	}
}

// Len is the number of marks in the book.
func (b *Book) Len() int { return b.count }

// Keys returns the full keys that have marks, sorted by drill, family and rig.
func (b *Book) Keys() []Key {
	keys := make([]Key, 0, len(b.lanes))
	for k := range b.lanes {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, c Key) int {
		return cmp.Or(cmp.Compare(a.Drill, c.Drill), cmp.Compare(a.Family, c.Family), cmp.Compare(a.Rig, c.Rig))
	})
	return keys
}

// Ladder returns where the learner stands on the ladder of a drill and family;
// the key's rig does not matter. A ladder not begun is the zero state.
func (b *Book) Ladder(k Key) ladder.State {
	k.Rig = ""
	return b.ladders[k]
}

// points returns the marks that a key covers in order, the newest last of them
// if last > 0. The result is not to be changed.
func (b *Book) points(k Key, last int) []point {
	var found []*lane
	n := 0
	for _, l := range b.lanes {
		if k.covers(l.key) {
			found = append(found, l)
			n += len(l.m)
		}
	}
	var all []point
	switch len(found) {
	case 0:
		return nil
	case 1:
		all = found[0].m
	default:
		all = b.merge(found, n)
	}
	if last > 0 && len(all) > last {
		all = all[len(all)-last:]
	}
	return all
}

// merge puts lanes with n marks together in order. Numbers are given once, so
// each mark has its place.
func (b *Book) merge(lanes []*lane, n int) []point {
	places := make([]*point, b.count)
	for _, l := range lanes {
		for i := range l.m {
			places[l.m[i].seq] = &l.m[i]
		}
	}
	all := make([]point, 0, n)
	for _, p := range places {
		if p != nil {
			all = append(all, *p)
		}
	}
	return all
}

func (p point) at() time.Time { return time.UnixMilli(p.ms).UTC() }
