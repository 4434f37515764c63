//go:build !js

package journal

import (
	"cmp"
	"encoding/binary"
	"encoding/json"
	"os"
	"slices"
)

// Reading takes from a database too damaged for SQLite: every page is looked
// at by itself, whatever points to it, and a take counts only if its checksum
// is right. The layout is that of "Database File Format", SQLite's own
// description: sections 1.6 and 1.7 (b-tree pages, overflow) and 2.1 (records).
const (
	pageSize = 4096
	leafPage = 0x0d // of a table
	// Most of a record that a leaf page holds, and the least when the rest
	// overflows; the format's X and M for this page size without reserved bytes.
	localMost  = pageSize - 35
	localLeast = (pageSize-12)*32/255 - 23
)

// cellAt is where a record is, and its number in the table.
type cellAt struct {
	n          int64
	page, cell int
}

// carve gives every whole take found in a database file to f, in the order
// they were added. The error is f's, or that of reading the file.
func carve(path string, f func(row) error) error {
	file, err := os.Open(path)
	if err != nil {
		return err
	}
	defer file.Close()
	info, err := file.Stat()
	if err != nil {
		return err
	}
	c := carver{file: file, pages: int((info.Size() + pageSize - 1) / pageSize)}
	var cells []cellAt
	for page := 1; page <= c.pages; page++ {
		c.read(page)
		for cell := range c.cells() {
			if n, _, ok := c.record(cell); ok {
				cells = append(cells, cellAt{n, page, cell})
			}
		}
	}
	slices.SortStableFunc(cells, func(a, b cellAt) int { return cmp.Compare(a.n, b.n) })
	for _, at := range cells {
		c.read(at.page)
		_, take, ok := c.record(at.cell)
		if !ok {
			continue
		}
		r, err := take.row()
		if err != nil {
			continue
		}
		if err := f(r); err != nil {
			return err
		}
	}
	return nil
}

type carver struct {
	file  *os.File
	pages int
	buf   [pageSize]byte
	over  [pageSize]byte
}

// read fetches a page; what is beyond the end of the file is zero.
func (c *carver) read(page int) {
	clear(c.buf[:])
	c.file.ReadAt(c.buf[:], int64(page-1)*pageSize)
}

// cells is the number of cells of the page if it is a leaf of a table.
func (c *carver) cells() int {
	if c.buf[0] != leafPage { // the first page has the schema, no takes
		return 0
	}
	return min(int(binary.BigEndian.Uint16(c.buf[3:])), (pageSize-8)/2)
}

// record reads a cell; ok is false if it is not a whole take.
func (c *carver) record(cell int) (n int64, f found, ok bool) {
	at := int(binary.BigEndian.Uint16(c.buf[8+2*cell:]))
	if at >= pageSize {
		return 0, found{}, false
	}
	b := c.buf[at:]
	size, k := varint(b)
	b = b[k:]
	number, k := varint(b)
	b = b[k:]
	if size < 2 || size > maxBody+maxText+100 {
		return 0, found{}, false
	}
	payload, ok := c.payload(b, int(size))
	if !ok {
		return 0, found{}, false
	}
	f, ok = readRow(payload)
	return number, f, ok
}

// payload puts a record together from what is in the page and its overflow.
func (c *carver) payload(b []byte, size int) ([]byte, bool) {
	if size <= localMost {
		if len(b) < size {
			return nil, false
		}
		return slices.Clone(b[:size]), true
	}
	local := localLeast + (size-localLeast)%(pageSize-4)
	if local > localMost {
		local = localLeast
	}
	if len(b) < local+4 {
		return nil, false
	}
	p := append(make([]byte, 0, size), b[:local]...)
	next := int(binary.BigEndian.Uint32(b[local:]))
	for len(p) < size {
		if next < 2 || next > c.pages {
			return nil, false
		}
		clear(c.over[:])
		c.file.ReadAt(c.over[:], int64(next-1)*pageSize)
		p = append(p, c.over[4:4+min(size-len(p), pageSize-4)]...)
		next = int(binary.BigEndian.Uint32(c.over[:]))
	}
	return p, true
}

// found is a take as it stands in a record.
type found struct {
	id   string
	body []byte
	sum  uint32
	old  bool // of version 1: the body is JSON and there is no checksum
}

// readRow reads a record of the table of takes: number (null here), id, body,
// and from version 2 on the checksum. ok is false if it is another record or
// the checksum is wrong.
func readRow(p []byte) (f found, ok bool) {
	head, k := varint(p)
	if head < int64(k)+3 || head > 40 || int(head) > len(p) {
		return found{}, false
	}
	kinds, values := p[k:head], p[head:]
	var cols [4][]byte
	var types [4]int64
	n := 0
	for ; len(kinds) > 0 && n < 4; n++ {
		kind, k := varint(kinds)
		if k == 0 {
			return found{}, false
		}
		kinds = kinds[k:]
		size := int64(0)
		switch {
		case kind >= 12:
			size = (kind - 12) / 2
		case kind == 7 || kind == 6:
			size = 8
		case kind == 5:
			size = 6
		case kind <= 4:
			size = kind
		}
		if kind < 0 || size > int64(len(values)) {
			return found{}, false
		}
		types[n], cols[n], values = kind, values[:size], values[size:]
	}
	text := func(i int) bool { return types[i] >= 13 && types[i]%2 == 1 }
	if n < 3 || types[0] != 0 || !text(1) {
		return found{}, false
	}
	f = found{id: string(cols[1]), body: cols[2]}
	switch {
	case n == 3 && text(2):
		f.old = true
		return f, json.Valid(f.body)
	case n == 4 && types[2] >= 12 && !text(2):
		for _, x := range cols[3] {
			f.sum = f.sum<<8 | uint32(x)
		}
		if types[3] == 9 { // the number one, without a value
			f.sum = 1
		}
		return f, sumOf(f.id, f.body) == f.sum
	}
	return found{}, false
}

// row makes the row of a take that was found; the error says that it is not a
// take after all.
func (f found) row() (row, error) {
	if f.old {
		var e Entry
		if err := json.Unmarshal(f.body, &e); err != nil {
			return row{}, err
		}
		e.ID = f.id
		return sealed(e)
	}
	e, err := unpack(f.id, f.body, f.sum)
	return row{id: f.id, packed: f.body, sum: f.sum, mark: e.Mark()}, err
}

// varint reads SQLite's variable-length integer and says how many bytes it
// has, 0 if there are none.
func varint(b []byte) (v int64, n int) {
	for i, x := range b {
		if i == 8 {
			return v<<8 | int64(x), 9
		}
		v = v<<7 | int64(x&0x7f)
		if x < 0x80 {
			return v, i + 1
		}
	}
	return v, len(b)
}
