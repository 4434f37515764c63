package practice

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/sheet"
)

// A learner whose class plays together is held after a round until the teacher
// releases the next one, and not held where nobody waits, where there is no
// server, or after the last round.
func TestHeld(t *testing.T) {
	var standing atomic.Pointer[client.Standing]
	standing.Store(&client.Standing{})
	n := sheet.New(7)
	n.Rounds = 2
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == "GET" {
			json.NewEncoder(w).Encode(client.Joined{Token: "token", Sheet: n, Code: r.URL.Query().Get("code")})
			return
		}
		json.NewEncoder(w).Encode(standing.Load())
	}))
	defer web.Close()
	s, err := NewSeries(n, "Moonrake", web.URL, "")
	if err != nil {
		t.Fatal(err)
	}
	until := func(what string, held bool) {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); s.Held() != held; time.Sleep(5 * time.Millisecond) {
			s.update(nil)
			if time.Now().After(end) {
				t.Fatalf("%s: held is %v", what, !held)
			}
		}
	}
	take := func() {
		a, err := s.assign().Wait()
		if err != nil {
			t.Fatal(err)
		}
		v, err := a.Exercise.Judge(a.Exercise.ShowMe())
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Hand.Add(a.Exercise.ShowMe(), v, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	s.report()
	until("nobody waits", false)
	standing.Store(&client.Standing{Together: true, Released: 1})
	s.report()
	until("the first round", false)
	take()
	s.report()
	until("after the first round", true)
	standing.Store(&client.Standing{Together: true, Released: 2})
	until("the second round is released", false)
	take()
	standing.Store(&client.Standing{Together: true, Released: 1})
	s.report()
	until("after the last round", false)
	if s.Held() {
		t.Error("held after the last round")
	}
}
