package practice

import (
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
	"slowneedle/drills/testform"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// A class's form on recordings, which only the class has, is neither gone on with nor
// counted among the learner's own.
func TestFormsOfAClass(t *testing.T) {
	code, err := sheet.Sheet{Seed: 4711, Form: testform.A, Recorded: true}.Code()
	if err != nil {
		t.Fatal(err)
	}
	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	for _, rounds := range []int{5, testform.Rounds} {
		book := &progress.Book{}
		for range rounds {
			book.Add(progress.Mark{At: time.Now(), Form: code})
		}
		var told []string
		p := NewSession(3, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(book, w, silentReports(&told)))
		if f := p.TestForms(); f.Next.Recorded || f.Next.Form != testform.A || f.Done != 0 || len(f.Taken) != 0 {
			t.Errorf("after %d rounds of a class's form: %+v", rounds, f)
		}
	}
}

// The third form is due a week after the second, and not before.
func TestThirdFormIsDueAfterAWeek(t *testing.T) {
	for days, due := range map[int]bool{6: false, 8: true} {
		book := &progress.Book{}
		for i, letter := range []testform.Form{testform.A, testform.B} {
			n, err := sheet.NewForm(3, letter)
			if err != nil {
				t.Fatal(err)
			}
			code, err := n.Code()
			if err != nil {
				t.Fatal(err)
			}
			for range testform.Rounds {
				book.Add(progress.Mark{At: time.Now().AddDate(0, 0, -days-30*(1-i)), Form: code})
			}
		}
		var told []string
		p := newSession(t, &told)
		p.Records.Book = book
		if f := p.TestForms(); f.Due != due || len(f.Taken) != 2 || f.Next.Form != testform.C {
			t.Errorf("%d days after the second: %+v", days, f)
		}
	}
}

// A round that is judged over the whole of its length begins again when it was left, for less
// of it could not be judged; every other one of a test form goes on with the time that was left.
func TestRoundsLeftByDrill(t *testing.T) {
	for _, d := range drills.Drills() {
		p := NewSession(21, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(&progress.Book{}, &words.Speech{}, silentReports(new([]string))))
		a := &Assignment{Exercise: &drills.Exercise{Drill: d, Seconds: 40}, Form: "A", number: 3}
		want := 25.0
		if d.ID == "ride" {
			want = 40
		}
		p.Left(a, 15)
		p.Resume(a)
		if a.Seconds != want {
			t.Errorf("%s, left after 15 of 40 s, goes on with %v s, want %v", d.ID, a.Seconds, want)
		}
	}
}
