//go:build !js

package server

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/sheet"
)

// clock is a server's clock that a test sets.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// candidate is a learner at an exam, who does what a learner's program does.
type candidate struct {
	t    *testing.T
	c    client.Client
	code string
	h    *handin.HandIn
	time *clock
}

// sitDown joins an exam.
func sitDown(t *testing.T, s *Server, url, who string, c *clock) *candidate {
	t.Helper()
	exam := &candidate{t: t, c: client.Client{Base: url}, code: s.Code(), time: c}
	j, err := exam.c.Join(context.Background(), exam.code, who)
	if err != nil {
		t.Fatal(err)
	}
	if !j.Sheet.Exam || j.Sheet.Seeds != nil {
		t.Errorf("joining an exam gives %+v", j.Sheet)
	}
	if exam.h, err = handin.Begin(who, j.Sheet, "slowneedle test", c.now().Add(-time.Second)); err != nil {
		t.Fatal(err)
	}
	return exam
}

// tell tells the server what is locked, and asks for the round that follows.
func (e *candidate) tell() (client.Standing, error) {
	p := client.Progress{Code: e.code, ID: e.h.ID, Who: e.h.Who, Round: len(e.h.Takes) + 1, Takes: []client.Mark{}}
	for _, t := range e.h.Takes {
		p.Locked = append(p.Locked, t.Digest())
	}
	return e.c.Progress(context.Background(), p)
}

// play plays a round that was given, off its aim by so much.
func (e *candidate) play(d sheet.Drawn, off float64, seconds int) {
	e.t.Helper()
	n, err := e.h.Sheet.With([]sheet.Drawn{d})
	if err != nil {
		e.t.Fatal(err)
	}
	ex, err := n.Exercise(d.Index)
	if err != nil {
		e.t.Fatal(err)
	}
	at := int64(seconds) * 48000
	take := drills.Take{Moves: []drills.Move{{At: 48000, To: -31}, {At: 90112, To: -22}, {At: at - 64, To: ex.Channels[0].AimDB + off}}, LockAt: at}
	if err := e.h.AddDrawn(take, d, e.time.now()); err != nil {
		e.t.Fatal(err)
	}
}

// all plays the rest of the exam and hands it in.
func (e *candidate) all(off float64, seconds int) client.Receipt {
	e.t.Helper()
	for !e.h.Complete() {
		st, err := e.tell()
		if err != nil || st.Drawn == nil || st.Round != len(e.h.Takes)+1 {
			e.t.Fatalf("round %d: %+v, %v", len(e.h.Takes)+1, st, err)
		}
		e.time.add(time.Duration(seconds+2) * time.Second)
		e.play(*st.Drawn, off, seconds)
	}
	if _, err := e.tell(); err != nil {
		e.t.Fatal(err)
	}
	return e.handIn()
}

func (e *candidate) handIn() client.Receipt {
	e.t.Helper()
	file, err := e.h.File()
	if err != nil {
		e.t.Fatal(err)
	}
	r, err := e.c.HandIn(context.Background(), file)
	if err != nil {
		e.t.Fatal(err)
	}
	return r
}

func (e *candidate) indices() (list []int) {
	for _, t := range e.h.Takes {
		list = append(list, t.Drawn.Index)
	}
	return list
}

// refusedWith reports whether an error is a server's refusal with a status.
func refusedWith(err error, status int) bool {
	var r *client.Refused
	return errors.As(err, &r) && r.Status == status
}

func openExam(t *testing.T, c *clock, o Options) (*Server, string) {
	n := testSheet()
	n.Rounds = 8
	n.Time = 45
	o.Exam, o.Sheets, o.Now, o.Opens = true, []sheet.Sheet{n}, c.now, c.now()
	s, web := open(t, o)
	return s, web.URL
}

// An exam from its opening to its verdicts: one set of rounds for all, in an order
// for each; nothing of a verdict anywhere until the teacher closes it, then
// everything; what was given stays after a restart of the server.
func TestExam(t *testing.T) {
	c := &clock{t: time.Now().UTC().Truncate(time.Second)}
	dir := t.TempDir()
	s, url := openExam(t, c, Options{Data: dir})
	tom, ada := sitDown(t, s, url, "Tin Otter", c), sitDown(t, s, url, "Salt Moth", c)
	st, err := tom.tell()
	if err != nil || st.Drawn == nil {
		t.Fatal(st, err)
	}
	if again, err := tom.tell(); err != nil || *again.Drawn != *st.Drawn {
		t.Errorf("asked again the server gives %+v, %v", again, err)
	}
	if r := tom.all(0, 20); r.Points != 0 {
		t.Errorf("the receipt has %d points before the exam is closed", r.Points)
	}
	ada.all(5, 20)
	if slices.Equal(tom.indices(), ada.indices()) {
		t.Errorf("both have the order %v", tom.indices())
	}
	seeds := map[sheet.Drawn]bool{}
	for _, one := range []*candidate{tom, ada} {
		for _, take := range one.h.Takes {
			seeds[*take.Drawn] = true
		}
	}
	if len(seeds) != 8 {
		t.Errorf("two learners had %d rounds of 8", len(seeds))
	}
	teacher := func(path string) reply { return ask(t, "GET", url+path, "", "Cookie", cookie(s)) }
	held := func(what string) {
		t.Helper()
		if _, err := tom.c.Verdicts(context.Background(), tom.h.ID); !refusedWith(err, 403) {
			t.Errorf("%s: verdicts of an open exam: %v", what, err)
		}
		ask(t, "GET", url+"/r/"+tom.h.ID[:12], "").want(t, what, 404, "when the teacher has closed it")
		if r := teacher("/teacher/takes.csv"); strings.Count(r.body, "\n") != 1 {
			t.Errorf("%s: takes of an open exam: %s", what, r.body)
		}
		teacher("/teacher/report").want(t, what, 200, "Not in this book: "+s.Code())
		if r := teacher("/teacher/board.json"); strings.Contains(r.body, `"error_db":`) || !strings.Contains(r.body, `"withheld":true`) || !strings.Contains(r.body, `"state":"in"`) {
			t.Errorf("%s: the board has %s", what, r.body)
		}
	}
	held("open")
	do := func(do string, on bool) reply {
		return ask(t, "POST", url+"/teacher/do", fmt.Sprintf(`{"do":%q,"code":%q,"on":%v}`, do, s.Code(), on), "Cookie", cookie(s))
	}
	do("open", false).want(t, "closing", 200, "")
	teacher("/teacher/board.json").want(t, "closed", 200, `"withheld":false`)
	v, err := tom.c.Verdicts(context.Background(), tom.h.ID)
	if err != nil || len(v.Verdicts) != 8 || v.Verdicts[0].ErrorDB != 0 || !v.Verdicts[7].InWindow {
		t.Errorf("verdicts: %+v, %v", v, err)
	}
	if v, err := ada.c.Verdicts(context.Background(), ada.h.ID); err != nil || v.Verdicts[3].ErrorDB < 4.9 || v.Verdicts[3].InWindow {
		t.Errorf("verdicts: %+v, %v", v, err)
	}
	rounds := map[string]bool{} // who and which, by the sheet's own numbers
	for line := range strings.Lines(teacher("/teacher/takes.csv").body) {
		f := strings.Split(line, ",")
		rounds[f[1]+f[3]] = true
	}
	if len(rounds) != 1+16 || !rounds["Tin Otter8"] || !rounds["Salt Moth1"] {
		t.Errorf("takes of %v", rounds)
	}
	do("open", true).want(t, "opened again", 409, "verdicts may have been seen")
	if st, err := sitDown(t, s, url, "Late Heron", c).tell(); err != nil || !st.Over || st.Drawn != nil {
		t.Errorf("a round of a closed exam: %+v, %v", st, err)
	}
	// The archive alone gives the same book; without what the server knows it is a
	// doubt, and with other seeds nothing counts.
	z, err := zip.NewReader(strings.NewReader(teacher("/teacher/hand-ins.zip").body), int64(len(teacher("/teacher/hand-ins.zip").body)))
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.CopyFS(folder, z); err != nil {
		t.Fatal(err)
	}
	list, err := report.Load(folder, &bench, nil)
	if err != nil || len(list) != 2 || len(list[0].Findings)+len(list[1].Findings) > 0 {
		t.Fatalf("from the archive: %+v, %v", list, err)
	}
	b, err := report.Build(list, &bench, report.Options{Words: speech("en")})
	if err != nil || b.Counted != 2 || len(b.Issues) > 0 || b.Sheets[0].Rounds[3].Right != 1 {
		t.Errorf("the book of the archive: %+v, %v", b, err)
	}
	if err := os.Remove(filepath.Join(folder, "hand-ins", "arrivals.json")); err != nil {
		t.Fatal(err)
	}
	other := tom.h
	other.Who, other.ID = "Own Grouse", strings.Repeat("d", 32)
	other.Sheet.Seeds, other.Takes = nil, nil
	tom.play(sheet.Drawn{Index: 2, Seed: 99}, 0, 20)
	file, _ := other.File()
	if err := os.WriteFile(filepath.Join(folder, "hand-ins", "x.json"), file, 0o644); err != nil {
		t.Fatal(err)
	}
	if list, err = report.Load(folder, &bench, nil); err != nil || !strings.Contains(fmt.Sprint(list[0].Findings), "only the class server can tell") {
		t.Errorf("without arrivals: %+v, %v", list, err)
	}
	if b, err = report.Build(list, &bench, report.Options{Words: speech("en")}); err != nil || b.Counted != 2 || b.Issues[0].Kind != "changed" || b.Issues[0].Who != "Own Grouse" {
		t.Errorf("with rounds of another exam: %+v, %v", b.Issues, err)
	}
}

// On the board of an exam that was closed a column is a round, the same one for all,
// whatever order each learner had it in; what was not played stays empty.
func TestBoardOfAnExamByRounds(t *testing.T) {
	c := &clock{t: time.Now().UTC().Truncate(time.Second)}
	s, url := openExam(t, c, Options{Data: t.TempDir()})
	off := func(round int) float64 { return -4 - float64(round)/2 } // tells which round a mark is of
	for _, who := range []string{"Tin Otter", "Salt Moth"} {
		one := sitDown(t, s, url, who, c)
		for range 6 {
			st, err := one.tell()
			if err != nil || st.Drawn == nil {
				t.Fatal(st, err)
			}
			c.add(22 * time.Second)
			one.play(*st.Drawn, off(st.Drawn.Index), 20)
		}
		if _, err := one.tell(); err != nil {
			t.Fatal(err)
		}
		one.handIn()
		played, list := one.indices(), s.board.view(s.Code(), 8, false)
		l := list[slices.IndexFunc(list, func(l learnerView) bool { return l.ID == one.h.ID })]
		if slices.IsSorted(played) || len(l.Marks) != 8 {
			t.Fatalf("%s played %v and has the marks %v", who, played, l.Marks)
		}
		for i, m := range l.Marks {
			switch {
			case slices.Contains(played, i) != (m != nil):
				t.Errorf("%s played %v, round %d on the board has %+v", who, played, i, m)
			case m != nil && math.Abs(m.ErrorDB-off(i)) > 0.051:
				t.Errorf("%s: round %d on the board has %v, the error of another", who, i, m.ErrorDB)
			}
		}
	}
}

// Started again, the server goes on with the same exam: same rounds, same order,
// same locks; and an exam that was closed is not opened again.
func TestExamGoesOn(t *testing.T) {
	c := &clock{t: time.Now().UTC().Truncate(time.Second)}
	n := testSheet()
	o := Options{Data: t.TempDir(), Exam: true, Sheets: []sheet.Sheet{n}, Now: c.now, Words: speech}
	var first []sheet.Drawn
	id := strings.Repeat("c", 32)
	for range 2 {
		s, err := Open(o)
		if err != nil {
			t.Fatal(err)
		}
		one, _ := s.course.get(s.Code())
		var have []sheet.Drawn
		var digests []string
		for i := range 3 {
			d, _, err := s.exams.advance(context.Background(), one, id, "who", digests, true)
			if err != nil {
				t.Fatal(err)
			}
			have, digests = append(have, *d), append(digests, fmt.Sprint(i))
		}
		if first != nil && !reflect.DeepEqual(have, first) {
			t.Errorf("first %v, then %v", first, have)
		}
		if _, _, err := s.exams.advance(context.Background(), one, id, "who", []string{"0", "x"}, true); !errors.Is(err, errLocked) {
			t.Errorf("a locked take is changed: %v", err)
		}
		first = have
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		c.add(time.Minute)
	}
	s, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	if got, _ := s.exams.get(id); len(got.Given) != 3 || got.Given[1].Sub(got.Given[0]) != 0 {
		t.Errorf("stored: %+v", got)
	}
	if err := s.course.change(context.Background(), s.Code(), func(c *courseSheet) error { c.Shut = true; return nil }); err != nil {
		t.Fatal(err)
	}
	s.Close()
	if _, err := Open(o); !errors.Is(err, errReopen) {
		t.Errorf("a closed exam is opened again: %v", err)
	}
	o.Sheets = nil
	if s, err = Open(o); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if !s.Sheet().Exam || !s.current().isOpen(c.now()) || len(s.course.all()) != 2 {
		t.Errorf("without a sheet an exam that is closed is followed by %v", s.Sheet())
	}
	if one, two := s.course.all()[0].Secret, s.course.all()[1].Secret; one == two || len(one) != 26 {
		t.Errorf("the secrets of two exams are %q and %q", one, two)
	}
}

// Where all wait for each other, a round of an exam is given when the teacher releases it;
// and an exam that closes by date gives its verdicts from then on, and no more rounds.
func TestExamReleasedAndClosedByDate(t *testing.T) {
	c := &clock{t: time.Now().UTC().Truncate(time.Second)}
	s, url := openExam(t, c, Options{Closes: c.now().Add(time.Hour)})
	do := func(do string) {
		t.Helper()
		ask(t, "POST", url+"/teacher/do", fmt.Sprintf(`{"do":%q,"code":%q,"on":true}`, do, s.Code()), "Cookie", cookie(s)).want(t, do, 200, "")
	}
	do("together")
	one := sitDown(t, s, url, "Tin Otter", c)
	st, err := one.tell()
	if err != nil || st.Drawn == nil {
		t.Fatalf("the first round: %+v, %v", st, err)
	}
	c.add(22 * time.Second)
	one.play(*st.Drawn, 0, 20)
	if st, err := one.tell(); err != nil || st.Drawn != nil || st.Locked != 1 {
		t.Errorf("before it is released the second round is %+v, %v", st, err)
	}
	do("release")
	if st, err = one.tell(); err != nil || st.Drawn == nil {
		t.Fatalf("released the second round is %+v, %v", st, err)
	}
	file := one.handIn()
	if _, err := one.c.Verdicts(context.Background(), file.ID); !refusedWith(err, 403) {
		t.Errorf("verdicts before the exam closes: %v", err)
	}
	c.add(time.Hour)
	if v, err := one.c.Verdicts(context.Background(), file.ID); err != nil || len(v.Verdicts) != 1 {
		t.Errorf("verdicts after the exam has closed: %+v, %v", v, err)
	}
	if st, err := sitDown(t, s, url, "Late Heron", c).tell(); err != nil || !st.Over || st.Drawn != nil {
		t.Errorf("a round after the exam has closed: %+v, %v", st, err)
	}
}

// What a learner may try in an exam, and what the server makes of it.
func TestExamIsFair(t *testing.T) {
	c := &clock{t: time.Now().UTC().Truncate(time.Second)}
	s, url := openExam(t, c, Options{})
	findings := func(e *candidate) string {
		s.mu.Lock()
		defer s.mu.Unlock()
		return fmt.Sprint(s.submissions[e.h.ID].Findings)
	}
	// A round that was not given cannot be played, whatever its seed.
	one := sitDown(t, s, url, "Early Crane", c)
	one.play(sheet.Drawn{Index: 0, Seed: 7}, 0, 20)
	if _, err := one.tell(); !refusedWith(err, 409) {
		t.Errorf("a round that was not given: %v", err)
	}
	// A take that was locked stays.
	two := sitDown(t, s, url, "Twice Finch", c)
	st, _ := two.tell()
	two.play(*st.Drawn, 6, 20)
	if _, err := two.tell(); err != nil {
		t.Fatal(err)
	}
	bad := two.h.Takes
	two.h.Takes = nil
	two.play(*st.Drawn, 0, 20)
	if _, err := two.tell(); !refusedWith(err, 409) {
		t.Errorf("a locked round played again: %v", err)
	}
	two.h.Takes = bad
	// Rounds of seeds of one's own are not the exam's.
	two.h.Takes[0].Drawn = &sheet.Drawn{Index: st.Drawn.Index, Seed: 8}
	file, _ := two.h.File()
	if _, err := two.c.HandIn(context.Background(), file); !refusedWith(err, 409) && !refusedWith(err, 422) {
		t.Errorf("other seeds: %v", err)
	}
	// Takes that last longer than the server waited, and rounds that lay open.
	three := sitDown(t, s, url, "Quick Wren", c)
	for !three.h.Complete() {
		st, err := three.tell()
		if err != nil {
			t.Fatal(err)
		}
		c.add(time.Second)
		three.play(*st.Drawn, 0, 30)
	}
	three.tell()
	three.handIn()
	if text := findings(three); !strings.Contains(text, "its take lasts 30 s, but the server had it 1 s after giving the round") {
		t.Error(text)
	}
	four := sitDown(t, s, url, "Slow Owl", c)
	st, _ = four.tell()
	c.add(10 * time.Minute)
	four.play(*st.Drawn, 0, 20)
	four.all(0, 20)
	if text := findings(four); !strings.Contains(text, "it lay open for 600 s by the server's clock; the exam allows 45 s") {
		t.Error(text)
	}
	// Begun again under the same name, however it is spelled.
	five := sitDown(t, s, url, "quick  WREN", c)
	five.all(0, 20)
	if text := findings(five); !strings.Contains(text, "begun 2 times") {
		t.Error(text)
	}
	// So it is, too, when that is worked out again later, as for the archive.
	exam, _ := s.course.get(s.Code())
	for who, want := range map[*candidate]int{three: 1, five: 2} {
		if got := s.exams.sitting(exam, who.h.ID).Starts; got != want {
			t.Errorf("%s had begun %d times by then, want %d", who.h.Who, got, want)
		}
	}
	if text := findings(three); strings.Contains(text, "begun") {
		t.Errorf("the first start is said to be another: %s", text)
	}
	// What was locked in time is taken after the end; nothing else is.
	six := sitDown(t, s, url, "Late Heron", c)
	st, _ = six.tell()
	six.play(*st.Drawn, 0, 20)
	st, err := six.tell()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.course.change(context.Background(), s.Code(), func(c *courseSheet) error { c.Shut = true; return nil }); err != nil {
		t.Fatal(err)
	}
	locked := slices.Clone(six.h.Takes)
	six.play(*st.Drawn, 0, 20)
	if file, err = six.h.File(); err != nil {
		t.Fatal(err)
	}
	if st, err := six.tell(); err != nil || !st.Over || st.Locked != 1 {
		t.Errorf("a lock after the end: %+v, %v", st, err)
	}
	if _, err := six.c.HandIn(context.Background(), file); !refusedWith(err, 403) {
		t.Errorf("a take after the end: %v", err)
	}
	six.h.Takes = locked
	six.handIn()
	if text := findings(six); !strings.Contains(text, "it is unfinished: 1 of 8 rounds") {
		t.Error(text)
	}
	var j struct{ Learners []learnerView }
	r := ask(t, "GET", url+"/teacher/board.json", "", "Cookie", cookie(s))
	if err := json.Unmarshal([]byte(r.body), &j); err != nil || len(j.Learners) == 0 {
		t.Error(err, r.body)
	}
	ask(t, "GET", url+"/teacher/report", "", "Cookie", cookie(s)).want(t, "the book with an unfinished exam", 200, "Slow Owl")
}

// An exam that is over is opened again only as long as nobody was given a round of it, as
// after a wrong date; the command that opened it shows it.
func TestExamWithAWrongDate(t *testing.T) {
	c := &clock{t: time.Now().UTC().Truncate(time.Second)}
	o := Options{Data: t.TempDir(), Exam: true, Sheets: []sheet.Sheet{testSheet()}, Now: c.now, Words: speech}
	id := strings.Repeat("e", 32)
	for i, row := range []struct {
		closes time.Duration // from now
		open   bool
		err    error
	}{{-time.Hour, false, nil}, {time.Hour, true, nil}, {40 * time.Minute, true, nil}, {-40 * time.Minute, false, nil}, {time.Hour, false, errReopen}} {
		o.Closes = c.now().Add(row.closes)
		s, err := Open(o)
		if !errors.Is(err, row.err) {
			t.Fatalf("%d: %v, want %v", i, err, row.err)
		}
		if err != nil {
			continue
		}
		one := s.current()
		if one.isOpen(c.now()) != row.open || one.over(c.now()) == row.open {
			t.Errorf("%d: it is open: %v, over: %v", i, one.isOpen(c.now()), one.over(c.now()))
		}
		err = s.obey(t.Context(), asked{Do: "open", Code: one.Code, On: true})
		if i == 3 != errors.Is(err, errReopen) {
			t.Errorf("%d: opened on the board: %v", i, err)
		}
		if i == 2 {
			if _, _, err := s.exams.advance(t.Context(), one, id, "who", nil, true); err != nil {
				t.Fatal(err)
			}
			c.add(80 * time.Minute)
			o.Closes = one.Closes
			if err := s.course.add(t.Context(), one.Sheet, time.Time{}, one.Closes); err != nil {
				t.Fatal(err)
			}
		}
		s.Close()
	}
}
