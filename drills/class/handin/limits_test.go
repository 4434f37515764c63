package handin

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// Every field may go as far as its limit and no further.
func TestLimitsOfFields(t *testing.T) {
	day := func(year int) time.Time { return time.Date(year, 12, 31, 0, 0, 0, 0, time.UTC) }
	between := func(h *HandIn, year int) { h.Began, h.Ended = day(year), day(year) }
	for _, row := range []struct {
		name   string
		change func(*HandIn)
		says   string // empty: it may be
	}{
		{"program of 60 bytes", func(h *HandIn) { h.Program = strings.Repeat("x", 60) }, ""},
		{"program of 61 bytes", func(h *HandIn) { h.Program = strings.Repeat("x", 61) }, "at most 60 bytes"},
		{"program with a line break", func(h *HandIn) { h.Program = "a\nb" }, "plain text"},
		{"language of 8 letters", func(h *HandIn) { h.Language = "zh-hansa" }, ""},
		{"language of 9 letters", func(h *HandIn) { h.Language = "zh-hansab" }, "language"},
		{"language in capitals", func(h *HandIn) { h.Language = "DE" }, "language"},
		{"identity of 31 digits", func(h *HandIn) { h.ID = h.ID[:31] }, "32 hexadecimal digits"},
		{"identity of 33 digits", func(h *HandIn) { h.ID += "0" }, "32 hexadecimal digits"},
		{"identity with a capital", func(h *HandIn) { h.ID = strings.Repeat("A", 32) }, "32 hexadecimal digits"},
		{"made in 2000", func(h *HandIn) { between(h, 2000) }, ""},
		{"made in 1999", func(h *HandIn) { between(h, 1999) }, "time in UTC"},
		{"made in 9999", func(h *HandIn) { between(h, 9999) }, ""},
		{"made in 10000", func(h *HandIn) { between(h, 10000) }, "time in UTC"},
		{"in half a second", func(h *HandIn) { h.Ended = h.Ended.Add(time.Second / 2) }, "to the second"},
		{"begun in half a second", func(h *HandIn) { h.Began = h.Began.Add(-time.Second / 2) }, "to the second"},
		{"in a time zone", func(h *HandIn) { h.Ended = h.Ended.In(time.FixedZone("", 3600)) }, "time in UTC"},
		{"ended as it began", func(h *HandIn) { h.Ended = h.Began }, ""},
		{"ended before it began", func(h *HandIn) { h.Ended = h.Began.Add(-time.Second) }, "before began"},
		{"no takes", func(h *HandIn) { h.Takes = nil }, "there are none"},
		{"one take", func(h *HandIn) { h.Takes = h.Takes[:1] }, ""},
		{"a take too many", func(h *HandIn) { h.Takes = append(h.Takes, h.Takes[0]) }, "there are 4; the sheet has 3 rounds"},
		{"rounds out of order", func(h *HandIn) { h.Takes[0].Round = 2 }, "takes[0].round: it is 2; here it must be 1"},
		{"4096 moves", func(h *HandIn) { h.Takes[1].Moves = make([]drills.Move, 4096) }, ""},
		{"4097 moves", func(h *HandIn) { h.Takes[1].Moves = make([]drills.Move, 4097) }, "takes[1].moves: there are 4097; at most 4096"},
		{"a headline", func(h *HandIn) { h.Takes[2].Verdict.Headline = "Fine." }, "takes[2].verdict"},
		{"a reason", func(h *HandIn) { h.Takes[2].Verdict.Reason = "It was." }, "takes[2].verdict"},
		{"drawn, in no exam", func(h *HandIn) { h.Takes[0].Drawn = &sheet.Drawn{Seed: 1} }, "takes[0].drawn"},
	} {
		h, err := Read(sample())
		if err != nil {
			t.Fatal(err)
		}
		row.change(h)
		checkSays(t, row.name, h.check(), row.says)
	}
}

// checkSays wants a sentence with certain words in it, or no error where there are none.
func checkSays(t *testing.T, name string, err error, words string) {
	t.Helper()
	switch {
	case words == "" && err != nil:
		t.Errorf("%s: %v", name, err)
	case words != "" && (err == nil || !strings.Contains(err.Error(), words)):
		t.Errorf("%s: got %v, want a sentence with %q", name, err, words)
	}
}

// As many takes as the sheet has rounds are put in, and no more.
func TestNoTakeTooMany(t *testing.T) {
	h, err := Read(sample())
	if err != nil {
		t.Fatal(err)
	}
	h.Takes = h.Takes[:2]
	for _, says := range []string{"", "all 3 rounds have their take"} {
		err := h.Add(drills.Take{Moves: moves(1, -9), LockAt: 48000}, drills.Verdict{Headline: "Fine.", Reason: "It was."}, evening.Add(time.Hour))
		if says == "" && err != nil || says != "" && (err == nil || !strings.Contains(err.Error(), says)) {
			t.Errorf("got %v, want %q", err, says)
		}
	}
	if n := len(h.Takes); n != 3 || h.Takes[2].Round != 3 || h.Takes[2].Verdict != (drills.Verdict{}) || !h.Complete() || !h.Ended.Equal(evening.Add(time.Hour)) {
		t.Errorf("%d takes, the last %+v, ended at %v", n, h.Takes[2], h.Ended)
	}
}

// A file may have 4 MiB, written and read.
func TestLargestFile(t *testing.T) {
	whole := sample()
	if _, err := Read(append(slices.Clone(whole), make([]byte, 4<<20+1-len(whole))...)); err == nil || !strings.Contains(err.Error(), "more than 4194304 bytes") {
		t.Errorf("a byte too many: %v", err)
	}
	full := append(slices.Clone(whole), strings.Repeat(" ", 4<<20-len(whole))...)
	if _, err := Read(full); err != nil {
		t.Errorf("as many bytes as it may have: %v", err)
	}
	h, err := Read(whole)
	if err != nil {
		t.Fatal(err)
	}
	large := 0
	for h.Takes[0].Moves = nil; ; large++ {
		h.Takes[0].Moves = append(h.Takes[0].Moves, make([]drills.Move, 1000)...)
		text, err := h.File()
		if err != nil {
			if !strings.Contains(err.Error(), "a hand-in has at most 4194304") {
				t.Errorf("too large: %v", err)
			}
			break
		}
		if len(text) > 4<<20+1 { // its last line break goes uncounted
			t.Fatalf("%d bytes were written", len(text))
		}
	}
	if large < 50 {
		t.Errorf("%d thousand moves are too many", large)
	}
}

// An exam's rounds each have one take, and nothing said of it.
func TestLimitsOfAnExam(t *testing.T) {
	exam := func() *HandIn {
		n := sheet.New(12)
		n.Rounds, n.Families, n.Exam = 3, []source.Family{source.Steady}, true
		h, err := Begin("Brass Button", n, "slowneedle test", evening)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range h.Sheet.Draw("secret", h.ID)[:2] {
			if err := h.AddDrawn(drills.Take{Moves: moves(3, -20), LockAt: 48000}, d, evening); err != nil {
				t.Fatal(err)
			}
		}
		return h
	}
	for _, row := range []struct {
		name   string
		change func(*HandIn)
		says   string
	}{
		{"as it is", func(*HandIn) {}, ""},
		{"a verdict", func(h *HandIn) { h.Takes[1].Verdict.Points = 100 }, "takes[1].verdict: in an exam it is left out"},
		{"not drawn", func(h *HandIn) { h.Takes[1].Drawn = nil }, "takes[1].drawn"},
		{"one round twice", func(h *HandIn) { h.Takes[1].Drawn = h.Takes[0].Drawn }, "of the exam has a take already"},
		{"a round that there is not", func(h *HandIn) { h.Takes[1].Drawn = &sheet.Drawn{Index: 3, Seed: 1} }, "its index is 3"},
	} {
		h := exam()
		row.change(h)
		checkSays(t, row.name, h.check(), row.says)
	}
}

// By the server's clock a take may last five seconds longer than the server waited for
// it, and lie open two minutes longer than the exam allows; what goes beyond is a doubt.
func TestExamTimes(t *testing.T) {
	for _, row := range []struct {
		name         string
		lasts, waits float64 // seconds
		starts       int
		want         string
	}{
		{"as it should be", 10, 11, 1, ""},
		{"five seconds too soon", 16, 11, 1, ""},
		{"more than that", 16.1, 11, 1, "doubt 1 lock_at: its take lasts 16 s, but the server had it 11 s after giving the round"},
		{"open for two minutes longer", 10, 140, 1, ""},
		{"for more", 10, 140.1, 1, "doubt 1 lock_at: it lay open for 140 s by the server's clock; the exam allows 20 s"},
		{"begun twice", 10, 11, 2, "doubt 0 id: the exam was begun 2 times"},
		{"not locked", 10, -1, 1, "changed 1 lock_at: its take was not locked with the server"},
	} {
		n := sheet.New(12)
		n.Rounds, n.Families, n.Exam, n.Time = 2, []source.Family{source.Steady}, true, 20
		h, err := Begin("Brass Button", n, "slowneedle test", evening)
		if err != nil {
			t.Fatal(err)
		}
		if err := h.AddDrawn(drills.Take{Moves: moves(3, -20), LockAt: int64(row.lasts * 48000)}, h.Sheet.Draw("secret", h.ID)[0], evening); err != nil {
			t.Fatal(err)
		}
		s := &Sitting{Secret: "secret", Starts: row.starts, Given: []time.Time{evening}}
		if row.waits >= 0 {
			s.Locked = []time.Time{evening.Add(time.Duration(row.waits * float64(time.Second)))}
		}
		found := ""
		for _, f := range h.Exam(s, &bench) {
			found += fmt.Sprintf("%s %d %s: %s\n", f.Kind, f.Round, f.Field, f.Says)
		}
		if row.want == "" && found != "" || !strings.HasPrefix(found, row.want) || strings.Count(found, "\n") > 1 {
			t.Errorf("%s: %q, want %q", row.name, found, row.want)
		}
	}
	h := &HandIn{}
	if list := h.Exam(nil, &bench); len(list) != 1 || list[0].Kind != Doubt || list[0].Field != "takes" {
		t.Errorf("without its server: %v", list)
	}
}

// The name of a file has the small letters, the figures and the spaces of the learner's
// name, the code without its spaces, and eight digits of the identity.
func TestFileNames(t *testing.T) {
	for who, want := range map[string]string{"Tom Moth 3": "tom-moth-3", "AZ az 09": "az-az-09", "@[`{/:": "learner", "Zoë": "zo", "北斗": "learner"} {
		if got := FileStem(who); got != want {
			t.Errorf("%q becomes %q, want %q", who, got, want)
		}
	}
	h := HandIn{Head: Head{Who: "Tom Moth", Code: "4GAH 6AW7 PY0M", ID: "0123456789abcdef0123456789abcdef"}}
	if got := h.FileName(); got != "handin-tom-moth-4gah6aw7py0m-01234567.json" {
		t.Errorf("the file is called %q", got)
	}
}

// A name of few characters may still be too long: 320 bytes are the most.
func TestLongestName(t *testing.T) {
	letter := "ab\u0323\u0302" // two letters, one of them with two marks: 6 bytes
	for n, ok := range map[string]bool{
		strings.Repeat("x", 40):                          true,
		strings.Repeat("👩🏽", 40):                         true,  // 320 bytes
		strings.Repeat("👩🏽", 39) + "a🏽🏽":                 false, // 40 characters, 321 bytes
		strings.TrimSpace(strings.Repeat(letter+" ", 8)): true,
	} {
		if err := CheckWho(TidyWho(n)); (err == nil) != ok {
			t.Errorf("%q of %d bytes: %v", n, len(n), err)
		}
	}
}
