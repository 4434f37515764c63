//go:build !js

package server

import (
	"archive/zip"
	"bytes"
	"cmp"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/drills/class/client"
	"slowneedle/drills/class/demo"
	"slowneedle/drills/class/handin"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/roster"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/testform"
)

// rows are what a store has.
func rows(t testing.TB, s *Server) (list []row) {
	t.Helper()
	if err := s.store.each(func(r row) error { list = append(list, r); return nil }); err != nil {
		t.Fatal(err)
	}
	return list
}

// do has the server do something as the board does.
func do(t testing.TB, s *Server, web string, what string) reply {
	t.Helper()
	return ask(t, "POST", web+"/teacher/do", what, "Cookie", cookie(s))
}

// look is what the board's page gets.
func look(t testing.TB, s *Server, web, query string) (v boardView) {
	t.Helper()
	r := ask(t, "GET", web+"/teacher/board.json?"+query, "", "Cookie", cookie(s))
	if err := json.Unmarshal([]byte(r.body), &v); err != nil || r.status != 200 {
		t.Fatalf("%d %v: %.200s", r.status, err, r.body)
	}
	return v
}

// edited is a learner's hand-in with something changed, and sealed again.
func edited(t testing.TB, n int, change func(*handin.HandIn)) []byte {
	t.Helper()
	data, _ := file(t, n)
	h, err := handin.Read(data)
	if err != nil {
		t.Fatal(err)
	}
	change(h)
	if data, err = h.File(); err != nil {
		t.Fatal(err)
	}
	return data
}

// The first of a learner's hand-ins to arrive counts, whatever their own clock
// has: not one that is dated back, and not one under another's name. What does
// not fit is a doubt.
func TestOrderOfArrival(t *testing.T) {
	s, web := open(t, Options{})
	honest, _ := file(t, 0)
	if r := send(t, s, web.URL+"/api/handin", string(honest)); r.status != 201 {
		t.Fatal(r)
	}
	dated := edited(t, 0, func(h *handin.HandIn) {
		h.ID = strings.Repeat("a", 32)
		h.Began, h.Ended = h.Began.Add(-24*time.Hour), h.Ended.Add(-24*time.Hour)
	})
	other := edited(t, 1, func(h *handin.HandIn) {
		who, _ := file(t, 0)
		first, _ := handin.Read(who)
		h.Who, h.ID = strings.ToUpper(first.Who), strings.Repeat("b", 32)
		h.Began = time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC)
		h.Ended = h.Began.Add(time.Hour)
	})
	ahead := edited(t, 2, func(h *handin.HandIn) { h.Ended = h.Ended.Add(48 * time.Hour) })
	for _, data := range [][]byte{dated, other, ahead} {
		if r := send(t, s, web.URL+"/api/handin", string(data)); r.status != 201 {
			t.Fatal(r)
		}
	}
	b, err := s.book(speech("en"), nil)
	if err != nil {
		t.Fatal(err)
	}
	want, _ := handin.Read(honest)
	if b.Counted != 2 || b.Sheets[0].Entries[0].ID != want.ID && b.Sheets[0].Entries[1].ID != want.ID {
		t.Errorf("%d counted: %+v", b.Counted, b.Sheets[0].Entries)
	}
	doubles, doubts := 0, ""
	for _, q := range b.Issues {
		switch q.Kind {
		case "double":
			doubles++
		case "doubt":
			doubts += strings.Join(q.Says, " ")
		}
	}
	if doubles != 2 || !strings.Contains(doubts, "that clock was wrong") {
		t.Errorf("issues %+v", b.Issues)
	}
	for id, says := range map[string]string{strings.Repeat("a", 32): "before its sheet was opened", strings.Repeat("b", 32): "ended on 2001-01-01"} {
		if text := fmt.Sprint(s.submissions[id].Findings); !strings.Contains(text, says) {
			t.Errorf("%s: %s", id, text)
		}
	}
	// The archive has the arrivals, and a folder of it gives the same order.
	r := ask(t, "GET", web.URL+"/teacher/hand-ins.zip", "", "Cookie", cookie(s))
	z, err := zip.NewReader(strings.NewReader(r.body), int64(len(r.body)))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, z); err != nil {
		t.Fatal(err)
	}
	list, err := report.Load(dir, &bench, nil)
	if err != nil {
		t.Fatal(err)
	}
	again, err := report.Build(list, &bench, report.Options{Words: speech("en")})
	if err != nil {
		t.Fatal(err)
	}
	if again.Counted != 2 || len(again.Issues) != len(b.Issues) {
		t.Errorf("from the archive %d counted, %+v", again.Counted, again.Issues)
	}
	for _, e := range again.Sheets[0].Entries {
		if e.Arrived.IsZero() || e.ID == strings.Repeat("a", 32) {
			t.Errorf("from the archive %s counts, arrived %v", e.ID, e.Arrived)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "hand-ins", "arrivals.json"), []byte(`{"files":[{"file":"x","arrived":"soon","sheet_opened":"later","late":false}]}`), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := report.Load(dir, &bench, nil); err == nil || !strings.Contains(err.Error(), `arrivals.json: parsing time "soon"`) {
		t.Errorf("broken arrivals: %v", err)
	}
}

// One learner cannot push the others off the board, fill the store or have the
// server judge one file again and again.
func TestOneLearnerCannotStopTheClass(t *testing.T) {
	s, web := open(t, Options{Limits: Limits{Learners: 20, PerAddress: 30}})
	mark := `{"error_db":1,"in_window":true,"points":100}`
	var real []string
	for i := range 10 {
		id := fmt.Sprintf("%032x", 0xaaaa+i)
		real = append(real, id)
		send(t, s, web.URL+"/api/progress", progressJSON(s.Code(), id, fmt.Sprintf("Real %d", i), 2, mark)).want(t, "progress", 200, "")
	}
	// A flood of invented learners from one address and one token.
	own := s.quotas.join("10.0.0.9:1")
	said := make(map[int]int)
	for i := range 500 {
		r := ask(t, "POST", web.URL+"/api/progress", progressJSON(s.Code(), fmt.Sprintf("%032x", i), fmt.Sprintf("Fake %d", i), 1, ""), client.TokenHeader, own)
		said[r.status]++
	}
	if said[200] != idsPerToken || said[403] != 500-idsPerToken {
		t.Errorf("with one token: %v", said)
	}
	joined := 0
	for range 500 {
		if s.quotas.join("10.0.0.9:1") != "" {
			joined++
		}
	}
	if joined != 29 {
		t.Errorf("%d more joined from one address, want 29", joined)
	}
	if s.quotas.join("10.0.0.10:1") == "" {
		t.Error("another address cannot join")
	}
	// Even a board full of invented ones has a place for who comes, and never
	// takes that of somebody with takes.
	for i := range 40 {
		if !s.board.progress(s.Code(), client.Progress{ID: fmt.Sprintf("%032x", 0xbbbb00+i), Who: "Fake", Round: 1}) {
			t.Fatal("the board takes nobody more")
		}
	}
	v := look(t, s, web.URL, "")
	seen := make(map[string]bool)
	for _, l := range v.Learners {
		seen[l.ID] = true
	}
	for _, id := range real {
		if !seen[id] {
			t.Errorf("%s was pushed off the board", id)
		}
	}
	if len(v.Learners) > 20 {
		t.Errorf("%d learners on a board for 20", len(v.Learners))
	}
	// Forged tokens, and none.
	for _, token := range []string{"", "x", strings.Repeat("a", 32), own[:31] + "!", own[1:] + "a"} {
		ask(t, "POST", web.URL+"/api/progress", progressJSON(s.Code(), real[0], "Real 0", 3, mark), client.TokenHeader, token).want(t, "token "+token, http.StatusUnauthorized, "not joined")
		ask(t, "POST", web.URL+"/api/handin", "{}", client.TokenHeader, token).want(t, "token "+token, http.StatusUnauthorized, "not joined")
	}
	// A file that came before is not judged again: with all judges busy it is
	// answered all the same.
	data, _ := file(t, 0)
	send(t, s, web.URL+"/api/handin", string(data)).want(t, "hand-in", 201, "")
	for range cap(s.judge) {
		s.judge <- struct{}{}
	}
	send(t, s, web.URL+"/api/handin", string(data)).want(t, "sent again", 200, `"known":true`)
	for range cap(s.judge) {
		<-s.judge
	}
	// No more than the sheet's rounds can need is read.
	r := send(t, s, web.URL+"/api/handin", `{"format":"`+strings.Repeat("x", bytesHandIn+4*bytesTake)+`"}`)
	r.want(t, "large", http.StatusRequestEntityTooLarge, "has more than")
}

// A full store says so, and takes again once there is room.
func TestFullStore(t *testing.T) {
	first, _ := file(t, 0)
	second, _ := file(t, 1)
	s, web := open(t, Options{Limits: Limits{StoreBytes: int64(len(first) + 10)}})
	send(t, s, web.URL+"/api/handin", string(first)).want(t, "hand-in", http.StatusCreated, "")
	r := send(t, s, web.URL+"/api/handin", string(second))
	r.want(t, "full", http.StatusInsufficientStorage, "storage is full")
	if r.header.Get("Retry-After") == "" {
		t.Error("the client is not asked to try again")
	}
	send(t, s, web.URL+"/api/handin", string(first)).want(t, "sent again though full", http.StatusOK, `"known":true`)
}

// What the teacher can do: remove a hand-in for good, close joining, change the
// key, open and close sheets.
func TestTeacherDoes(t *testing.T) {
	dir := t.TempDir()
	s, web := open(t, Options{Data: dir})
	data, id := file(t, 0)
	tok := token(s)
	post := func(body string) reply {
		return ask(t, "POST", web.URL+"/api/handin", body, client.TokenHeader, tok)
	}
	post(string(data)).want(t, "hand-in", 201, "")
	do(t, s, web.URL, `{"do":"remove","id":"`+id+`"}`).want(t, "remove", 200, "")
	if v := look(t, s, web.URL, ""); len(v.Learners) != 0 {
		t.Errorf("removed, and on the board: %+v", v.Learners)
	}
	post(string(data)).want(t, "sent again", http.StatusGone, "removed")
	send(t, s, web.URL+"/api/progress", progressJSON(s.Code(), id, "A", 1, "")).want(t, "progress", http.StatusGone, "removed")
	ask(t, "GET", web.URL+"/r/"+id[:12], "").want(t, "result", 404, "nothing here")

	ask(t, "GET", web.URL+"/api/sheet?code="+strings.ReplaceAll(s.Code(), " ", ""), "").want(t, "join", 200, `"token"`)
	other, otherID := file(t, 1)
	ask(t, "POST", web.URL+"/api/progress", progressJSON(s.Code(), otherID, "B", 1, ""), client.TokenHeader, tok).want(t, "progress", 200, "")
	do(t, s, web.URL, `{"do":"joining","on":false}`).want(t, "close", 200, "")
	ask(t, "GET", web.URL+"/api/sheet?code="+strings.ReplaceAll(s.Code(), " ", ""), "").want(t, "join", 403, "lets nobody else join")
	ask(t, "GET", web.URL+"/api/sheet?code="+strings.ReplaceAll(s.Code(), " ", "")+"&id="+otherID, "").want(t, "going on", 200, `"token"`)
	post(string(other)).want(t, "hand-in of who has joined", 201, "")
	do(t, s, web.URL, `{"do":"joining","on":true}`).want(t, "open", 200, "")

	old := cookie(s)
	if r := do(t, s, web.URL, `{"do":"key"}`); r.status != 200 || !strings.Contains(r.header.Get("Set-Cookie"), cookie(s)) || old == cookie(s) {
		t.Errorf("new key: %+v", r)
	}
	ask(t, "GET", web.URL+"/teacher/report", "", "Cookie", old).want(t, "old key", 403, "")

	sh := testSheet()
	sh.Seed++
	code, _ := sh.Code()
	do(t, s, web.URL, `{"do":"add","code":"`+strings.ToLower(strings.ReplaceAll(code, " ", ""))+`"}`).want(t, "add", 200, "")
	if s.Code() != code || len(look(t, s, web.URL, "").Sheets) != 2 {
		t.Errorf("added %s, the board shows %s", code, s.Code())
	}
	do(t, s, web.URL, `{"do":"open","code":"`+code+`","on":false}`).want(t, "close", 200, "")
	if s.Code() == code {
		t.Error("the board shows a sheet that is closed beside one that is open")
	}
	for _, bad := range []string{`{"do":"dance"}`, `{"do":"add","code":"x"}`, `{"do":"open","code":"4GAH 6AW7 PY0M"}`, `{}`, `[]`, `{"do":"key","more":1}`} {
		do(t, s, web.URL, bad).want(t, bad, 400, "error")
	}
	ask(t, "POST", web.URL+"/teacher/do", `{"do":"key"}`, "Cookie", cookie(s), "Origin", "https://elsewhere.example", "Sec-Fetch-Site", "cross-site").want(t, "another site", 403, "another site")
	ask(t, "POST", web.URL+"/teacher/do", `{"do":"key"}`).want(t, "no key", 403, "need the key")

	// All of it is as it was when the server is started again.
	web.Close()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := Open(Options{Data: dir, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	_, shown := again.board.who(id)
	if again.Key() != s.Key() || again.Code() != s.Code() || len(again.course.all()) != 2 || shown || !again.board.isRemoved(id) || !again.quotas.genuine(tok) {
		t.Errorf("started again: %v %s", again.course.all(), again.Code())
	}
}

// Sheets open and close by date; what comes otherwise is taken and marked late.
func TestLate(t *testing.T) {
	now := time.Now()
	s, web := open(t, Options{Opens: now.Add(-time.Hour), Closes: now.Add(time.Hour), Now: func() time.Time { return now }})
	code := strings.ReplaceAll(s.Code(), " ", "")
	first, _ := file(t, 0)
	send(t, s, web.URL+"/api/handin", string(first)).want(t, "in time", 201, "")
	ask(t, "GET", web.URL+"/api/sheet?code="+code, "").want(t, "open", 200, `"late":false`)
	now = now.Add(2 * time.Hour)
	second, id := file(t, 1)
	ask(t, "GET", web.URL+"/api/sheet?code="+code, "").want(t, "closed", 200, `"late":true`)
	send(t, s, web.URL+"/api/handin", string(second)).want(t, "late", 201, "")
	if p := s.submissions[id]; !p.Late {
		t.Error("what came after the sheet was closed is not late")
	}
	b, err := s.book(speech("en"), nil)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := b.WriteTakesCSV(&out); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(out.String(), ",true,"+id); n != 4 {
		t.Errorf("%d lines are late, want 4", n)
	}
	if b.Counted != 2 {
		t.Errorf("%d counted", b.Counted)
	}
}

// A roster says who is absent, and a name that is taken is told at joining.
func TestRoster(t *testing.T) {
	data, _ := file(t, 0)
	h, _ := handin.Read(data)
	class, err := roster.Parse([]byte("id,name\n1,Tom Moth\n2,Salt Heron\n3,Tomke Rake\n4,Somebody," + h.Who + "\n"))
	if err != nil {
		t.Fatal(err)
	}
	s, web := open(t, Options{Roster: class})
	ctx := context.Background()
	c := at(web)
	for typed, want := range map[string]string{"to": "[Tom Moth Tomke Rake]", "he": "[Salt Heron]", "TOM M": "[Tom Moth]", "": "[]", "x": "[]", "oth": "[]"} {
		names, err := c.Roster(ctx, s.Code(), typed)
		if err != nil || fmt.Sprint(names) != want {
			t.Errorf("%q: %v, %v, want %s", typed, names, err, want)
		}
	}
	j, err := c.Join(ctx, s.Code(), "Tom Moth")
	if err != nil || j.Taken {
		t.Errorf("%+v, %v", j, err)
	}
	if of, err := c.Class(ctx); err != nil || of != (client.Class{Roster: true}) {
		t.Errorf("%+v, %v", of, err)
	}
	if _, err := c.Progress(ctx, client.Progress{Code: s.Code(), ID: strings.Repeat("1", 32), Who: "Tom Moth", Round: 1, Takes: []client.Mark{}}); err != nil {
		t.Fatal(err)
	}
	for who, taken := range map[string]bool{"Tom Moth": true, "TOM MOTH": true, "Tom  Moth": true, "Т0m Moth": true, "T0m Moth": true, "Tom Mott": false} {
		if j, err := c.Join(ctx, s.Code(), handin.TidyWho(who)); err != nil || j.Taken != taken {
			t.Errorf("%q: taken is %v, %v", who, j.Taken, err)
		}
	}
	if _, err := c.HandIn(ctx, data); err != nil {
		t.Fatal(err)
	}
	if v := look(t, s, web.URL, "names=1"); fmt.Sprint(v.Absent) != "[Salt Heron Tomke Rake]" {
		t.Errorf("absent %v", v.Absent)
	}
	if v := look(t, s, web.URL, ""); fmt.Sprintf("%q", v.Absent) != `["" ""]` {
		t.Errorf("absent without names %q", v.Absent)
	}
	r := ask(t, "GET", web.URL+"/teacher/grades.csv", "", "Cookie", cookie(s))
	list, err := csv.NewReader(strings.NewReader(r.body)).ReadAll()
	if err != nil || len(list) != 5 || list[1][0] != "4" || list[1][1] != "Somebody" || list[1][2] == "" || list[2][2] != "" {
		t.Errorf("gradebook %v, %v", list, err)
	}
}

// All wait for each other: the server says up to which round, and the teacher
// releases the next.
func TestTogether(t *testing.T) {
	s, web := open(t, Options{})
	c := at(web)
	p := client.Progress{Code: s.Code(), ID: strings.Repeat("1", 32), Who: "A", Round: 1, Takes: []client.Mark{}}
	standing := func() client.Standing {
		t.Helper()
		st, err := c.Progress(context.Background(), p)
		if err != nil {
			t.Fatal(err)
		}
		return st
	}
	if st := standing(); st.Together {
		t.Errorf("%+v", st)
	}
	do(t, s, web.URL, `{"do":"together","code":"`+s.Code()+`","on":true}`).want(t, "together", 200, "")
	if st := standing(); st != (client.Standing{Together: true, Released: 1, Round: 1}) {
		t.Errorf("%+v", st)
	}
	for range 9 {
		do(t, s, web.URL, `{"do":"release","code":"`+s.Code()+`"}`).want(t, "release", 200, "")
	}
	if st := standing(); st.Released != 4 {
		t.Errorf("%+v", st)
	}
	if v := look(t, s, web.URL, ""); !v.Together || v.Released != 4 {
		t.Errorf("%+v", v)
	}
}

// A learner's result can be opened again by whoever has the hand-in's id, in the
// language of the browser.
func TestResult(t *testing.T) {
	_, web := open(t, Options{Title: "Tuesday"})
	data, id := file(t, 0)
	c := at(web)
	receipt, err := c.HandIn(context.Background(), data)
	if err != nil || receipt.Result != "/r/"+id[:12] {
		t.Fatalf("%+v, %v", receipt, err)
	}
	h, _ := handin.Read(data)
	r := ask(t, "GET", web.URL+receipt.Result, "", "Accept-Language", "de-AT,de;q=0.9,en;q=0.5")
	r.want(t, "result", 200, h.Who)
	if !strings.Contains(r.body, `lang="de"`) || strings.Contains(r.body, "slip-2") {
		t.Errorf("%.300s", r.body)
	}
	for _, other := range []string{strings.Repeat("0", 12), id[:11], id, "", "%2e%2e"} {
		if r := ask(t, "GET", web.URL+"/r/"+other, ""); r.status < 400 || strings.Contains(r.body, h.Who) {
			t.Errorf("/r/%s: %d", other, r.status)
		}
	}
}

// Started again without a title, a course has the one that it had.
func TestTitleStays(t *testing.T) {
	dir := t.TempDir()
	for _, one := range []struct{ given, want string }{{"", ""}, {"Tuesday", "Tuesday"}, {"", "Tuesday"}, {"Thursday", "Thursday"}} {
		s, err := Open(Options{Data: dir, Title: one.given, Words: speech})
		if err != nil {
			t.Fatal(err)
		}
		for language, heading := range map[string]string{"en": cmp.Or(one.want, "Class"), "de": cmp.Or(one.want, "Klasse")} {
			r := httptest.NewRequest("GET", "/teacher", nil)
			r.Header.Set("Accept-Language", language)
			page := httptest.NewRecorder()
			if s.boardPage(page, r); !strings.Contains(page.Body.String(), "<h1>"+heading+"</h1>") {
				t.Errorf("opened as %q the board is not called %q", one.given, heading)
			}
		}
		if of, _ := s.getClass(nil); of.(client.Class).Title != one.want {
			t.Errorf("opened as %q it is %+v, want %q", one.given, of, one.want)
		}
		s.Close()
	}
}

// Two classes on one machine each have a cookie of their own; who comes without
// a key gets a page to type it on.
func TestTwoClassesOnOneMachine(t *testing.T) {
	one, first := open(t, Options{})
	two, second := open(t, Options{})
	if one.cookie == two.cookie {
		t.Error("one name for both cookies")
	}
	both := cookie(one) + "; " + cookie(two)
	for _, web := range []string{first.URL, second.URL} {
		ask(t, "GET", web+"/teacher", "", "Cookie", both).want(t, web, 200, "<main>")
		ask(t, "GET", web+"/teacher", "", "Accept", "text/html").want(t, web, 403, `name="key"`)
		ask(t, "GET", web+"/teacher?key=x", "", "Accept", "text/html", "Accept-Language", "de").want(t, web, 403, "nicht der Schlüssel")
		ask(t, "GET", web+"/teacher/board.json", "").want(t, web, 403, `{"error":"The teacher`)
	}
}

func TestAcceptEncoding(t *testing.T) {
	for header, want := range map[string]bool{"gzip": true, "gzip, br": true, "br;q=1.0, gzip;q=0.8": true, "*": true, "GZIP": true, "gzip;q=0": false, "gzip; q=0.0": false,
		"*;q=0": false, "gzip;q=0, *": false, "": false, "br": false, "identity": false, "gzip;q=x": true} {
		if takesGzip(header) != want {
			t.Errorf("%q: want %v", header, want)
		}
	}
}

// Nobody but the teacher's own account can read the store, its journal included.
func TestPermissions(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "class")
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "class.db"), nil, 0o644); err != nil { // as one that was copied
		t.Fatal(err)
	}
	s, err := Open(Options{Data: dir, Words: speech})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	tx, err := s.store.db.Begin() // while something is written there is a journal
	if err != nil {
		t.Fatal(err)
	}
	defer tx.Rollback()
	if _, err := tx.Exec(`INSERT INTO kept (kind, name, value) VALUES ('x', 'y', 'z')`); err != nil {
		t.Fatal(err)
	}
	files, err := os.ReadDir(dir)
	if err != nil || len(files) != 2 {
		t.Fatalf("%v, %v", files, err)
	}
	for _, f := range files {
		if info, err := f.Info(); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", f.Name(), info.Mode(), err)
		}
	}
}

// A client whose token is no longer known joins again on its own.
func TestClientJoinsAgain(t *testing.T) {
	s, web := open(t, Options{})
	c := at(web)
	data, id := file(t, 0)
	if r, err := c.HandIn(context.Background(), data); err != nil || r.ID != id {
		t.Fatalf("without having joined: %+v, %v", r, err)
	}
	s.quotas.secret = []byte("another")
	if r, err := c.HandIn(context.Background(), data); err != nil || !r.Known {
		t.Errorf("after the server forgot its secret: %+v, %v", r, err)
	}
	do(t, s, web.URL, `{"do":"joining","on":false}`)
	s.quotas.secret = []byte("a third")
	other, _ := file(t, 1)
	var refused *client.Refused
	if _, err := c.HandIn(context.Background(), other); !errors.As(err, &refused) || refused.Status != 403 || !strings.Contains(refused.Says, "lets nobody else join") {
		t.Errorf("with joining closed: %v", err)
	}
}

// Many sheets in one course: the mark book keeps them apart.
func TestCourse(t *testing.T) {
	other := testSheet()
	other.Seed, other.Rounds = 5, 2
	s, web := open(t, Options{Sheets: []sheet.Sheet{testSheet(), other}})
	data, _ := file(t, 0)
	send(t, s, web.URL+"/api/handin", string(data)).want(t, "first sheet", 201, "")
	h, err := handin.Begin("Tin Moth", other, "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	for i := range other.Rounds {
		e, err := bench.Exercise(other, i)
		if err != nil {
			t.Fatal(err)
		}
		v, err := bench.Judge(other, i, e.ShowMe())
		if err != nil {
			t.Fatal(err)
		}
		if err := h.Add(e.ShowMe(), v, evening.Add(time.Duration(i+1)*time.Minute)); err != nil {
			t.Fatal(err)
		}
	}
	data, err = h.File()
	if err != nil {
		t.Fatal(err)
	}
	send(t, s, web.URL+"/api/handin", string(data)).want(t, "second sheet", 201, "")
	b, err := s.book(speech("en"), nil)
	if err != nil || len(b.Sheets) != 2 || b.Counted != 2 {
		t.Fatalf("%+v, %v", b, err)
	}
	one, two := s.course.all()[0].Code, s.course.all()[1].Code
	if v := look(t, s, web.URL, "sheet="+strings.ReplaceAll(one, " ", "")); v.Code != one || len(v.Learners) != 1 || v.Rounds != 4 {
		t.Errorf("%+v", v)
	}
	if v := look(t, s, web.URL, ""); v.Code != two || len(v.Learners) != 1 || v.Rounds != 2 {
		t.Errorf("%+v", v)
	}
}

// Two spellings are made one learner, over all sheets, after a restart and in the
// archive, and two again.
func TestMerge(t *testing.T) {
	dir := t.TempDir()
	s, web := open(t, Options{Data: dir})
	ids := make([]string, 3)
	names := make([]string, 3)
	for i := range ids {
		var data []byte
		data, ids[i] = file(t, i)
		h, _ := handin.Read(data)
		names[i] = h.Who
		if r := send(t, s, web.URL+"/api/handin", string(data)); r.status != 201 {
			t.Fatal(r)
		}
	}
	learners := func(s *Server) (list []string) {
		t.Helper()
		b, err := s.book(speech("en"), nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range b.Learners {
			list = append(list, l.Who)
		}
		slices.Sort(list)
		return list
	}
	merge := func(id, into string) reply {
		return do(t, s, web.URL, fmt.Sprintf(`{"do":"merge","id":%q,"into":%q}`, id, into))
	}
	merge(ids[0], ids[1]).want(t, "merging", 200, "")
	merge(ids[1], ids[0]).want(t, "merging them again", 409, "one learner already")
	merge(ids[1], strings.Repeat("0", 32)).want(t, "merging with nobody", 400, "")
	merge(ids[1], ids[2]).want(t, "merging both with the third", 200, "")
	if got := learners(s); !slices.Equal(got, names[2:]) {
		t.Errorf("learners %v, want %v", got, names[2:])
	}
	if v := look(t, s, web.URL, "names=1"); v.Learners[0].As != names[2] || v.Learners[2].As != "" {
		t.Errorf("%+v", v.Learners)
	}
	r := ask(t, "GET", web.URL+"/teacher/hand-ins.zip", "", "Cookie", cookie(s))
	z, err := zip.NewReader(strings.NewReader(r.body), int64(len(r.body)))
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.CopyFS(folder, z); err != nil {
		t.Fatal(err)
	}
	list, err := report.Load(folder, &bench, nil)
	if err != nil {
		t.Fatal(err)
	}
	if b, err := report.Build(list, &bench, report.Options{Words: speech("en")}); err != nil || len(b.Learners) != 1 || b.Learners[0].Who != names[2] {
		t.Errorf("from the archive: %+v, %v", b.Learners, err)
	}
	web.Close()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s, web = open(t, Options{Data: dir})
	if got := learners(s); len(got) != 1 {
		t.Errorf("after a restart: %v", got)
	}
	merge(ids[0], "").want(t, "splitting", 200, "")
	if got := learners(s); len(got) != 2 || !slices.Contains(got, names[0]) {
		t.Errorf("after splitting: %v", got)
	}
}

// Of a test form the class sees how far everybody is and no marks, and whoever hands
// it in is told that it came and no more; the teacher's mark book has it.
func TestFormIsToldToNobody(t *testing.T) {
	form, err := sheet.NewForm(5, testform.B)
	if err != nil {
		t.Fatal(err)
	}
	s, web := open(t, Options{Sheets: []sheet.Sheet{form}})
	seat, err := demo.NewSeat(&bench, form)
	if err != nil {
		t.Fatal(err)
	}
	h, err := seat.HandIn(demo.Class(9, 1)[0], 9, 0, "slowneedle test", evening)
	if err != nil {
		t.Fatal(err)
	}
	other := strings.Repeat("a", 32)
	send(t, s, web.URL+"/api/progress", progressJSON(h.Code, other, "Salt Moth", 2, `{"error_db":4,"in_window":false,"points":20}`)).want(t, "progress", 200, "")
	data, err := h.File()
	if err != nil {
		t.Fatal(err)
	}
	c := at(web)
	receipt, err := c.HandIn(context.Background(), data)
	if err != nil || receipt.ID != h.ID || receipt.Points != 0 || receipt.Result != "" {
		t.Errorf("%+v, %v", receipt, err)
	}
	if r := ask(t, "GET", web.URL+"/r/"+h.ID[:12], ""); r.status < 400 || strings.Contains(r.body, h.Who) {
		t.Errorf("its result: %d", r.status)
	}
	ask(t, "GET", web.URL+"/api/verdicts?id="+h.ID, "").want(t, "its verdicts", 404, "")
	v := look(t, s, web.URL, "")
	if len(v.Learners) != 2 {
		t.Fatalf("%+v", v.Learners)
	}
	for _, l := range v.Learners {
		if len(l.Marks) > 0 || l.Round < 2 {
			t.Errorf("the board shows %+v", l)
		}
	}
	ask(t, "GET", web.URL+"/teacher/report", "", "Cookie", cookie(s)).want(t, "the mark book", 200, h.Who)
}

// Dates without a sheet would be for none where the course goes on: that is refused, and
// what it has stays as it was.
func TestDatesWithoutASheet(t *testing.T) {
	dir := t.TempDir()
	closes := time.Now().Add(time.Hour)
	for i, o := range []Options{{Closes: closes}, {}, {Closes: closes.Add(time.Hour)}, {Opens: closes}} {
		o.Data, o.Words = dir, speech
		s, err := Open(o)
		if i >= 2 {
			if err == nil || !strings.Contains(err.Error(), "name the sheet with --sheet or --code") {
				t.Errorf("%d: %v", i, err)
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if c := s.current(); !c.Closes.Equal(closes) || !c.Opens.IsZero() {
			t.Errorf("%d: it opens %v and closes %v", i, c.Opens, c.Closes)
		}
		s.Close()
	}
}

// What cannot be stored has not happened: a sheet stays open, a key stays good, and an exam
// has no round that a server started again would not know of.
func TestNothingIsAheadOfTheDisk(t *testing.T) {
	s, _ := open(t, Options{Exam: true})
	key, one, id := s.Key(), s.current(), strings.Repeat("d", 32)
	if err := s.store.close(); err != nil {
		t.Fatal(err)
	}
	ctx := t.Context()
	for _, do := range []asked{{Do: "open", Code: one.Code}, {Do: "together", Code: one.Code, On: true}, {Do: "key"}, {Do: "add", Code: "4GAH 6AW7 PY0M"}} {
		if err := s.obey(ctx, do); !errors.Is(err, errClosed) {
			t.Errorf("%+v: %v", do, err)
		}
	}
	if d, _, err := s.exams.advance(ctx, one, id, "who", nil, true); d != nil || !errors.Is(err, errClosed) {
		t.Errorf("a round is given: %v, %v", d, err)
	}
	if now := s.current(); now.Shut || now.Together || s.Key() != key || len(s.course.all()) != 1 || len(s.exams.all()) != 0 {
		t.Errorf("%+v, %d sheets, %d at the exam", now, len(s.course.all()), len(s.exams.all()))
	}
}

// Sheets that were opened at one moment stand in the order in which they were given, also
// once the server is started again: the last is the one that the board shows.
func TestOrderStays(t *testing.T) {
	o := Options{Data: t.TempDir(), Opens: evening, Words: speech}
	for seed := range uint32(4) {
		o.Sheets = append(o.Sheets, sheet.New(4711*(4-seed)))
	}
	want, err := o.Sheets[3].Code()
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		s, err := Open(o)
		if err != nil {
			t.Fatal(err)
		}
		if s.Code() != want {
			t.Errorf("the board shows %s, want %s of %v", s.Code(), want, s.course.all())
		}
		s.Close()
		o.Sheets, o.Opens = nil, time.Time{}
	}
}
