package practice

import (
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
	"slowneedle/drills/testform"
)

// TestForms is what there is to be told of a learner's test forms.
type TestForms struct {
	Next  sheet.Sheet // the form that is gone on with, or would begin
	Done  int         // its rounds that are played, 0 before it begins
	Taken []TakenForm // those of the newest set, oldest first
	// Due is set a week after the second form of a set: the third shows what lasted.
	Due bool
}

// TakenForm is a test form that was played to its end.
type TakenForm struct {
	Letter testform.Form
	progress.Form
}

// formWait is how long after the second form the third is proposed.
const formWait = 7 * 24 * time.Hour

// TestForms looks at the test forms of the history. The next is the first of the
// newest set that was not played; after all three comes another set.
func (p *Session) TestForms() TestForms {
	p.Records.Wait()
	now := time.Now()
	var t TestForms
	set := uint32(p.seed % testform.Sets)
	for _, f := range p.Records.Book.Forms() {
		s, err := sheet.ParseCode(f.Code)
		if err != nil || s.Form == "" || s.Recorded { // of another edition, or of a class
			continue
		}
		if s.Seed != set || len(t.Taken) == 0 {
			set, t.Taken = s.Seed, nil
		}
		t.Taken = append(t.Taken, TakenForm{s.Form, f})
	}
	t.Due = len(t.Taken) == 2 && now.Sub(t.Taken[1].Last) >= formWait
	if under, ok := p.Records.Book.FormUnder(now); ok && (p.Series == nil || p.Series.Hand.Code != under.Code) {
		if s, err := sheet.ParseCode(under.Code); err == nil && !s.Recorded {
			t.Next, t.Done = s, len(under.Errors)
			return t
		}
	}
	played := make(map[testform.Form]bool)
	for _, f := range t.Taken {
		played[f.Letter] = true
	}
	next := testform.A
	for i := len(testform.Forms) - 1; i >= 0; i-- {
		if f := testform.Forms[i]; !played[f] {
			next = f
		}
	}
	if len(played) == len(testform.Forms) {
		set = (set + 1) % testform.Sets
	}
	t.Next, _ = sheet.NewForm(set, next) // there is one
	return t
}

// Form makes the next round of a test form: of the one that is gone on with, or the
// first of the next.
func (p *Session) Form() *Making {
	t := p.TestForms()
	code, err := t.Next.Code()
	if err != nil {
		return failed(err)
	}
	a := &Assignment{Settings: t.Next.Settings(t.Done), number: t.Done + 1, of: t.Next.Rounds,
		Again: t.Done > 0, Form: code, NoVerdict: true}
	return begin(a, func(pause func()) (*drills.Exercise, error) { return t.Next.Make(t.Done, pause) })
}
