package practice

import (
	"encoding/json"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/report"
	"slowneedle/drills/class/server"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/progress"
	"slowneedle/drills/testfiles"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// A sheet on a teacher's recordings is played from a class server, which sends them and
// keeps them for its next start, and from the folder they are in; with neither, it is told
// what is needed.
func TestSheetOnRecordings(t *testing.T) {
	data := t.TempDir()
	n, dir := testfiles.Sheet(t, drills.SetTake, 20)
	code, err := n.Code()
	if err != nil {
		t.Fatal(err)
	}
	text, err := n.File()
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, "sheet.json"), text, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}

	w := &words.Speech{}
	if err := w.Load("en"); err != nil {
		t.Fatal(err)
	}
	pageWords := func(language string) report.Words {
		s := &words.Speech{}
		if err := s.Load(language); err != nil {
			return nil
		}
		return s
	}
	var told []string
	session := func() *Session {
		return NewSession(7, "test", store.NewKeeper(store.DefaultSettings(), func() {}), NewRecords(&progress.Book{}, w, silentReports(&told)))
	}
	until := func(what string, ok func() bool) {
		t.Helper()
		for end := time.Now().Add(20 * time.Second); !ok(); time.Sleep(2 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatal(what)
			}
		}
	}
	play := func(p *Session) {
		t.Helper()
		for p.Series.round() <= n.Rounds {
			a, err := p.Series.assign().Wait()
			if err != nil {
				t.Fatal(err)
			}
			if want := n.Recordings[(p.Series.round()-1)%2].Name; a.Channels[0].Sound.Kind != want {
				t.Errorf("round %d is on %s, want %s", p.Series.round(), a.Channels[0].Sound.Kind, want)
			}
			take := a.ShowMe()
			v, err := a.Judge(take)
			if err == nil {
				err = p.Series.Hand.Add(take, v, time.Now().Add(time.Hour))
			}
			if err != nil {
				t.Fatal(err)
			}
			// What is kept of it goes on after a restart.
			kept, err := json.Marshal(p.Series)
			if err != nil {
				t.Fatal(err)
			}
			if p.Series, err = readSeries(kept); err != nil {
				t.Fatal(err)
			}
		}
	}

	// From the server, started again without the sheet and its folder.
	for i, sheets := range [][]sheet.Sheet{{n}, nil} {
		s, err := server.Open(server.Options{Sheets: sheets, Data: data, Words: pageWords})
		if err != nil {
			t.Fatal(err)
		}
		web := httptest.NewServer(s)
		p := session()
		form := NewJoin(p, code, []string{"Moonrake", "Salt Moth"}[i], "", web.URL)
		form.Enter()
		until("the server answers", func() bool {
			form.Update()
			if !form.Asking && p.Series == nil {
				t.Fatal(form.Line())
			}
			return p.Series != nil
		})
		play(p)
		p.Series.Send(p.Records)
		reported := 0
		until("it is handed in", func() bool {
			if p.Series.update(p.Records) {
				reported++
			}
			return p.Series.State == HandIn || p.Series.State == HandRefused
		})
		if p.Series.update(p.Records) || p.Series.State != HandIn || reported != 1 {
			t.Errorf("handed in: %s", p.Series.Says)
		}
		if _, err := (&client.Client{Base: web.URL}).Recording(t.Context(), code, sheet.Recording{SHA256: strings.Repeat("0", 64)}); err == nil {
			t.Error("a recording that the sheet does not have is sent")
		}
		web.Close()
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}

	// From the folder.
	p := session()
	p.OpenFiles(filepath.Join(dir, "sheet.json"))
	offered := ""
	until("the sheet is read", func() bool { p.Update(); offered = p.Offered(); return offered != "" })
	if form := NewJoin(p, offered, "Moonrake", "", ""); offered != code || !form.Enter() {
		t.Fatalf("%s, %q", offered, form.Line())
	}
	play(p)

	// From neither.
	p = session()
	if form := NewJoin(p, code, "Moonrake", "", ""); form.Enter() || !strings.Contains(form.Line(), "join at the class's server, or open the sheet.json") {
		t.Errorf("it is told %q", form.Line())
	}
}
