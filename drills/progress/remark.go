package progress

import "slices"

// Remark is what the newest takes of a drill and family have in common, the newest
// included, in a figure or two. It is about the learner's past and no part of a verdict.
type Remark struct {
	Key   Key
	Code  RemarkCode
	Takes int     // so many in a row
	DB    float64 // by how much in the middle, above zero; 0 if Code has none
}

// RemarkCode names what they have in common.
type RemarkCode string

// What takes can have in common.
const (
	RowHot   RemarkCode = "hot"   // all of them too hot
	RowCold  RemarkCode = "cold"  // all of them too low
	RowRight RemarkCode = "right" // all of them right
	Back     RemarkCode = "back"  // the newest is right after so many that were not
)

// How many takes in a row are worth a remark: three to one side come about by chance
// one time in four if each is as likely as the other, five right ones in a row one time
// in six on the ladder, which keeps a learner right in 71 of 100.
const (
	remarkSide  = 3
	remarkRight = 5
)

// Remark returns what there is to tell of the newest takes of a drill and family, those
// in all rigs; false if there is nothing.
func (b *Book) Remark(k Key) (Remark, bool) {
	k.Rig = ""
	p := b.pairs[k]
	if p == nil {
		return Remark{}, false
	}
	r := Remark{Key: k}
	if n, db := b.SameSide(k); n >= remarkSide {
		r.Code, r.Takes, r.DB = RowHot, n, db
		if db < 0 {
			r.Code, r.DB = RowCold, -db
		}
		return r, true
	}
	right := lastRun(p.m, true)
	if r.Takes = right; right >= remarkRight {
		r.Code = RowRight
		return r, true
	}
	r.Code, r.Takes = Back, lastRun(p.m[:len(p.m)-right], false)
	return r, right == 1 && r.Takes >= remarkSide
}

// lastRun is how many of the newest points in a row are right, or are not.
func lastRun(all []taken, right bool) (n int) {
	for _, m := range slices.Backward(all) {
		if m.Right != right {
			break
		}
		n++
	}
	return n
}
