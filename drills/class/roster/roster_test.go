package roster

import (
	"fmt"
	"strings"
	"testing"
)

func TestParse(t *testing.T) {
	for text, want := range map[string]string{
		"id,name\n1,Tom\n2,Zoë,Zoe,Zo\n":        "[{1 Tom []} {2 Zoë [Zoe Zo]}]",
		"\ufeffID;NAME\r\n1;Tom\r\n":            "[{1 Tom []}]",
		"1\tTom\tTommy\n":                       "[{1 Tom [Tommy]}]",
		"1, Tom , ,Tommy\n":                     "[{1 Tom [Tommy]}]",
		"'=1,\"Tom, B.\"\n":                     "[{=1 Tom, B. []}]",
		"1,Tom,TOM\n":                           "[{1 Tom [TOM]}]",
		"":                                      "it is empty",
		"id,name\n":                             "it is empty",
		"1,Tom\n1,Tim\n":                        `line 2: the id "1" is given twice`,
		"1,Tom\n2,T0M\n":                        "line 2: T0M and Tom cannot be told apart",
		"1,Tom,Moth\n2,Moth\n":                  "line 2: Moth and Tom cannot be told apart",
		"1\n":                                   "line 1: it needs an id and a name",
		",Tom\n":                                "line 1: the id is missing",
		"id,name\n1,\n":                         "line 2: a name or alias is missing",
		"1,To\u200bm\n":                         "line 1: the name holds a character",
		"1,Tim\n2,\"Tom\n3,Zoë\n":               "line 2: a quotation mark is out of place",
		"id,name\n1,Tom \"Tommy\" Moth\n":       "line 2: a quotation mark is out of place",
		"1,\"Tom \"\"Tommy\"\" Moth\"\n":        `[{1 Tom "Tommy" Moth []}]`,
		"1,Tom\n,,\n;\n2,Tim\n,\n":              "line 3: it needs an id",
		"id;name\n1;Tom\n;\n2;Tim\n;;\n":        "[{1 Tom []} {2 Tim []}]",
		",\nid,name\n1,Tom\n":                   "[{1 Tom []}]",
		"\n\r\n;\nNr;Name\n1;Tom\n":             "[{1 Tom []}]",
		"Nr;Name\n1;Tom\n":                      "[{1 Tom []}]",
		"ID\n1,Tom\n":                           "[{1 Tom []}]",
		"Name,Nr\nTom,1\n":                      "line 1: the id comes first, then the name",
		"1,Tom\n2,Name\n":                       "[{1 Tom []} {2 Name []}]",
		"1,Tom\n\n\n,Tim\n":                     "line 4: the id is missing",
		"id;name\n1;M\xfcller\n":                "not text in UTF-8; save the table as CSV in UTF-8",
		strings.Repeat("x,Tom\n", MaxEntries+1): "given twice",
	} {
		r, err := Parse([]byte(text))
		got := fmt.Sprint(r.Entries)
		if err != nil {
			got = err.Error()
		}
		if !strings.Contains(got, want) {
			t.Errorf("%.40q: %s, want %s", text, got, want)
		}
	}
	var many strings.Builder
	for i := range MaxEntries + 1 {
		fmt.Fprintf(&many, "%d,Learner %x a\n", i, i+0xa000)
	}
	if _, err := Parse([]byte(many.String())); err == nil || !strings.Contains(err.Error(), "at most 5000") {
		t.Errorf("too many: %v", err)
	}
}

func TestFind(t *testing.T) {
	r, err := Parse([]byte("1,Zoë Moth,Zo\n"))
	if err != nil {
		t.Fatal(err)
	}
	for who, want := range map[string]bool{"zoë moth": true, "ZO": true, "Z0": true, "Zoe Moth": false, "": false} {
		if _, ok := r.Find(who); ok != want {
			t.Errorf("%q is found: %v", who, ok)
		}
	}
	if _, ok := (Roster{}).Find("Tom"); ok {
		t.Error("somebody is in no roster")
	}
}
