//go:build !js

package journal

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"hash/crc32"

	"slowneedle/drills/progress"
)

// adder puts rows into the tables inside one transaction. The newest strip is
// held until flush.
type adder struct {
	tx    *sql.Tx
	lanes map[progress.Key]uint32
	begun bool
	strip int64
	marks []byte
	dirty bool
}

// add stores a row unless its name is there already, which it reports.
func (a *adder) add(r row) (added bool, err error) {
	res, err := a.tx.Exec(`INSERT INTO take (id, body, sum) VALUES (?, ?, ?) ON CONFLICT (id) DO NOTHING`,
		r.id, r.packed, int64(r.sum))
	if err != nil {
		return false, err
	}
	if n, err := res.RowsAffected(); err != nil || n == 0 {
		return false, err
	}
	return true, a.mark(r.mark)
}

// mark appends a mark to the strips.
func (a *adder) mark(m progress.Mark) error {
	if err := a.begin(); err != nil {
		return err
	}
	lane, err := a.lane(progress.Key{Drill: m.Drill, Family: m.Family, Rig: m.Rig})
	if err != nil {
		return err
	}
	if len(a.marks) == stripLen*markBytes {
		if err := a.flush(); err != nil {
			return err
		}
		a.strip++
		a.marks = a.marks[:0]
	}
	a.marks = appendMark(a.marks, m, lane)
	a.dirty = true
	return nil
}

// begin finds the newest strip.
func (a *adder) begin() error {
	if a.begun {
		return nil
	}
	a.begun = true
	var sum int64
	err := a.tx.QueryRow(`SELECT s, marks, sum FROM strip ORDER BY s DESC LIMIT 1`).Scan(&a.strip, &a.marks, &sum)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	return checkStrip(a.marks, sum)
}

func checkStrip(marks []byte, sum int64) error {
	if int64(crc32.ChecksumIEEE(marks)) != sum || len(marks)%markBytes != 0 || len(marks) > stripLen*markBytes {
		return fmt.Errorf("a strip of marks: %w", errDamaged)
	}
	return nil
}

// lane returns the number of a key, a new one if need be.
func (a *adder) lane(k progress.Key) (uint32, error) {
	if n, ok := a.lanes[k]; ok {
		return n, nil
	}
	if _, err := a.tx.Exec(`INSERT INTO lane (drill, family, rig) VALUES (?, ?, ?) ON CONFLICT DO NOTHING`,
		k.Drill, string(k.Family), k.Rig); err != nil {
		return 0, err
	}
	var n uint32
	if err := a.tx.QueryRow(`SELECT k FROM lane WHERE drill = ? AND family = ? AND rig = ?`,
		k.Drill, string(k.Family), k.Rig).Scan(&n); err != nil {
		return 0, err
	}
	if a.lanes == nil {
		a.lanes = make(map[progress.Key]uint32)
	}
	a.lanes[k] = n
	return n, nil
}

// flush stores the newest strip.
func (a *adder) flush() error {
	if !a.dirty {
		return nil
	}
	a.dirty = false
	_, err := a.tx.Exec(`INSERT OR REPLACE INTO strip (s, marks, sum) VALUES (?, ?, ?)`,
		a.strip, a.marks, int64(crc32.ChecksumIEEE(a.marks)))
	return err
}

// restrip writes all strips anew from marks.
func restrip(tx *sql.Tx, marks []progress.Mark) error {
	if err := statements(`DELETE FROM strip`, `DELETE FROM lane`)(tx); err != nil {
		return err
	}
	a := adder{tx: tx}
	for _, m := range marks {
		if err := a.mark(m); err != nil {
			return err
		}
	}
	return a.flush()
}

// marksOf reads all marks of a database in order, as they stand at one moment,
// whatever another window writes.
func marksOf(db *sql.DB) ([]progress.Mark, error) {
	tx, err := db.BeginTx(context.Background(), &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return nil, err
	}
	defer tx.Rollback() // nothing was changed
	return readMarks(tx)
}

// readMarks reads all marks in order.
func readMarks(tx *sql.Tx) ([]progress.Mark, error) {
	lanes := make(map[uint32]progress.Key)
	rows, err := tx.Query(`SELECT k, drill, family, rig FROM lane`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var n uint32
		var k progress.Key
		if err := rows.Scan(&n, &k.Drill, &k.Family, &k.Rig); err != nil {
			return nil, err
		}
		lanes[n] = k
	}
	if err := rows.Err(); err != nil {
		return nil, err
	}
	rows.Close()

	if rows, err = tx.Query(`SELECT (SELECT count(*) FROM strip), marks, sum FROM strip ORDER BY s`); err != nil {
		return nil, err
	}
	defer rows.Close()
	var marks []progress.Mark
	for rows.Next() {
		var b sql.RawBytes
		var strips, sum int64
		if err := rows.Scan(&strips, &b, &sum); err != nil {
			return nil, err
		}
		if err := checkStrip(b, sum); err != nil {
			return nil, err
		}
		if marks == nil {
			marks = make([]progress.Mark, 0, strips*stripLen)
		}
		for ; len(b) > 0; b = b[markBytes:] {
			m, lane := readMark(b)
			k, ok := lanes[lane]
			if !ok {
				return nil, fmt.Errorf("a mark without a lane: %w", errDamaged)
			}
			m.Drill, m.Family, m.Rig = k.Drill, k.Family, k.Rig
			marks = append(marks, m)
		}
	}
	return marks, rows.Err()
}
