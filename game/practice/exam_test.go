//go:build !js

package practice

import (
	"encoding/json"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"slowneedle/assets"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
	"slowneedle/game/words"
)

// An exam as the trainer plays it: each round comes from the server when the one
// before is locked, also after a restart in its middle; the takes go out without
// verdicts, and those come when the exam is closed. Closed in its middle, what was
// locked is handed in.
func TestExam(t *testing.T) {
	w, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	records := NewRecords(&progress.Book{}, &words.Speech{Words: w}, Reports{Tell: func(string) {}, Note: func(string, map[string]any) {}, Changed: func() {}})
	began := time.Now()
	var later atomic.Int64
	now := func() time.Time { return time.Now().Add(time.Duration(later.Load())) }
	n := sheet.New(4711)
	n.Rounds = 3
	class, err := server.Open(server.Options{Exam: true, Sheets: []sheet.Sheet{n}, Closes: began.Add(time.Hour), Data: t.TempDir(), Now: now})
	if err != nil {
		t.Fatal(err)
	}
	defer class.Close()
	web := httptest.NewServer(class)
	defer web.Close()

	start := func(who string) *Series {
		s, err := NewSeries(class.Sheet(), who, web.URL, "Evening class")
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	until := func(what string, ok func() bool) {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal(what)
			}
		}
	}
	play := func(s *Series, off float64) {
		t.Helper()
		until("the round comes", func() bool { s.update(records); return !s.Held() })
		a, err := s.assign().Wait()
		if err != nil || !a.NoVerdict {
			t.Fatal(a, err)
		}
		take := a.ShowMe()
		take.Moves[len(take.Moves)-1].To += off
		v, err := a.Judge(take)
		if err != nil || s.add(records, a, take, v) == nil {
			t.Fatal(err)
		}
	}
	s, unlucky := start("Moonrake"), start("Salt Moth")
	if _, err := s.assign().Wait(); err == nil {
		t.Error("a round is played that the server has not given")
	}
	play(unlucky, 0)
	for i := range 3 {
		play(s, -3*float64(i))
		data, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		if s, err = readSeries(data); err != nil {
			t.Fatal(err)
		}
	}
	for _, take := range s.Hand.Takes {
		if take.Verdict.Points != 0 || take.Verdict.Code != "" {
			t.Errorf("a take of an exam goes out with %+v", take.Verdict)
		}
	}
	s.finish(records)
	until("it is handed in", func() bool { s.update(records); return s.State == HandIn })
	until("the verdicts are asked for", func() bool { s.update(records); return s.asking })
	until("the verdicts are refused", func() bool { s.update(records); return !s.asking })
	if s.Verdicts() != nil {
		t.Errorf("verdicts of an open exam: %+v", s.Verdicts())
	}
	slow, away := start("Own Grouse"), start("Tin Otter") // whose last take is too late
	for range 2 {
		play(slow, 0)
		play(away, 0)
	}
	for _, one := range []*Series{slow, away} {
		until("the last round comes", func() bool { one.update(records); return !one.Held() })
	}
	later.Store(int64(2 * time.Hour))
	for _, one := range []*Series{slow, away} {
		play(one, 0)
		if one == away { // closed at once, and started again
			data, err := json.Marshal(one)
			if err != nil {
				t.Fatal(err)
			}
			if away, err = readSeries(data); err != nil {
				t.Fatal(err)
			}
			one = away
		}
		one.finish(records)
		until("what was in time is handed in", func() bool { one.update(records); return one.State == HandIn && len(one.Hand.Takes) == 2 })
	}
	s.asked = time.Time{}
	until("the verdicts come", func() bool { s.update(records); return s.Verdicts() != nil })
	if v := s.Verdicts(); len(v) != 3 || v[0].ErrorDB != 0 || v[2].ErrorDB != -6 {
		t.Errorf("%+v", v)
	}
	play(unlucky, 0) // too late
	until("the end is told", func() bool { unlucky.Held(); unlucky.update(records); return unlucky.Over() })
	until("what was locked is handed in", func() bool { unlucky.update(records); return unlucky.State == HandIn })
	if m := unlucky.Next(); m != nil || len(unlucky.Hand.Takes) != 1 {
		t.Errorf("after the end follows %+v", m)
	}
	stranger := start("Nettle") // with a server that answers what cannot be
	stranger.standing = client.Standing{Over: true, Locked: -1}
	if stranger.update(records); stranger.State != HandRefused {
		t.Errorf("-1 takes are locked: %q", stranger.State)
	}
}
