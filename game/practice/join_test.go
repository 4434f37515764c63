package practice

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/assets"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// The form knows whose class it is before anything is typed, offers names of its
// roster as one is typed, and asks the server once for each pause in the typing.
func TestJoinOffersNames(t *testing.T) {
	class := []string{"Salt Heron", "Tom Moth", "Tomke Rake"}
	asked := make(chan string, 100)
	web := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch r.URL.Path {
		case "/api/class":
			json.NewEncoder(w).Encode(client.Class{Title: "Evening class", Roster: true})
		case "/api/roster":
			typed := strings.ToLower(r.URL.Query().Get("typed"))
			asked <- typed
			json.NewEncoder(w).Encode(slices.DeleteFunc(slices.Clone(class), func(n string) bool { return typed == "" || !strings.HasPrefix(strings.ToLower(n), typed) }))
		}
	}))
	defer web.Close()
	w, err := assets.Load("en")
	if err != nil {
		t.Fatal(err)
	}
	records := NewRecords(&progress.Book{}, &words.Speech{Words: w}, Reports{Note: func(string, map[string]any) {}})
	code, _ := sheet.New(7).Code()
	s := NewJoin(NewSession(1, "", store.NewKeeper(store.DefaultSettings(), func() {}), records), code, "", "", web.URL)
	until := func(what string, ok func() bool) {
		t.Helper()
		for end := time.Now().Add(10 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
			if s.Update(); time.Now().After(end) {
				t.Fatalf("%s: %v", what, s.Names)
			}
		}
	}
	until("the class tells its name", func() bool { return s.Class != nil })
	if s.Class.Title != "Evening class" || s.At != FieldWho {
		t.Errorf("%+v, field %d", s.Class, s.At)
	}
	for _, r := range "tom" {
		s.Write(r)
		s.Update()
	}
	until("names are offered", func() bool { return slices.Equal(s.Names, class[1:]) })
	s.Write('k')
	until("fewer names are offered", func() bool { return slices.Equal(s.Names, class[2:]) })
	s.Take(s.Names[0])
	if s.Text[FieldWho] != "Tomke Rake" || len(s.Names) > 0 {
		t.Errorf("taken: %q, %v", s.Text[FieldWho], s.Names)
	}
	close(asked)
	var all []string
	for typed := range asked {
		if typed != "" {
			all = append(all, typed)
		}
	}
	if !slices.Equal(all, []string{"tom", "tomk"}) {
		t.Errorf("the server was asked for %q", all)
	}
}
