package progress

import (
	"testing"
	"time"

	"slowneedle/audio/source"
)

// A remark tells what the newest takes of one drill and family have in common, counted
// by hand: errors in dB, those below one in size right.
func TestRemark(t *testing.T) {
	for _, c := range []struct {
		name   string
		errors []float64
		want   Remark
	}{
		{"the third too hot in a row", []float64{-2, 3, 2, 4}, Remark{Code: RowHot, Takes: 3, DB: 3}},
		{"the fourth too low in a row", []float64{-2, -3, -2, -5}, Remark{Code: RowCold, Takes: 4, DB: 2.5}},
		{"two too hot", []float64{0, 3, 2}, Remark{}},
		{"one too low between", []float64{3, 2, -2, 3, 2}, Remark{}},
		{"five right", []float64{4, 0, 0.5, -0.5, 0, 0}, Remark{Code: RowRight, Takes: 5}},
		{"four right", []float64{0, 0.5, -0.5, 0}, Remark{}},
		{"right after three that were not", []float64{0, 3, -3, 2, 0}, Remark{Code: Back, Takes: 3}},
		{"the second right after three that were not", []float64{3, -3, 2, 0, 0}, Remark{}},
		{"right after two that were not", []float64{0, -3, 2, 0}, Remark{}},
		{"the first", []float64{3}, Remark{}},
		{"none", nil, Remark{}},
	} {
		b := &Book{}
		k := Key{Drill: "take", Family: source.Voice}
		for i, e := range c.errors {
			at := time.Unix(1.7e9+int64(i)*60, 0)
			b.Add(Mark{At: at, Drill: "take", Family: source.Voice, Rig: []string{"digital", "tape"}[i%2], ErrorDB: e, Right: e > -1 && e < 1})
			b.Add(Mark{At: at, Drill: "take", Family: source.Struck, ErrorDB: 9}) // no part of it
		}
		got, ok := b.Remark(k)
		if ok != (c.want.Code != "") {
			t.Errorf("%s: %v, %+v", c.name, ok, got)
			continue
		}
		if c.want.Key = k; ok && got != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, got, c.want)
		}
	}
}
