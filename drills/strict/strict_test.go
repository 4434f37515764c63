package strict

import (
	"encoding/json"
	"strings"
	"testing"
)

type inner struct {
	N int `json:"n"`
}

type embedded struct {
	A string `json:"a"`
}

type sample struct {
	embedded
	List []inner         `json:"list"`
	P    *float64        `json:"p,omitempty"`
	Raw  json.RawMessage `json:"raw,omitempty"`
}

func TestDecode(t *testing.T) {
	for text, says := range map[string]string{
		`{"a":"x","list":[{"n":1},{"n":2}],"p":1.5,"raw":{"what":["ever"]}}`: "",
		`{"list":[],"a":"x"}`:                     "",
		`{"a":"x","list":[{"n":1},{"n":"2"}]}`:    "list[1].n: it must be a whole number in range, not text",
		`{"a":"x","list":[{"n":1.5}]}`:            "list[0].n: it must be a whole number in range, not 1.5",
		`{"a":"x","list":[{"n":1},{"n":1e99}]}`:   "list[1].n: it must be a whole number in range, not 1e99",
		`{"a":"x","list":[{"n":1},[]]}`:           "list[1]: it must be an object, not a list",
		`{"a":"x","list":{}}`:                     "list: it must be a list, not an object",
		`{"a":true,"list":[]}`:                    "a: it must be text in quotes, not true or false",
		`{"a":"x","list":[],"p":"1.5"}`:           "p: it must be a number, not text",
		`{"a":"x","list":[],"p":1e999}`:           "p: it must be a number, not 1e999",
		`{"a":"x","list":[{"n":1},{"N":2}]}`:      "list[1].N: there is no such field",
		`{"a":"x","list":[{"n":1},{}]}`:           "list[1].n: it is missing",
		`{"a":"x","list":[{"n":1,"n":1}]}`:        "list[0].n: it is given twice",
		`{"a":"x","list":[null]}`:                 "list[0]: null is not a value here",
		`{"a":"x","list":[],"raw":{"b":1,"b":2}}`: "raw.b: it is given twice",
		`{"a":"x"}`:                                           "list: it is missing",
		`{"a":"x","list":[{"n":1}`:                            "cut short: it ends inside list",
		`{"a":"x","list":[}`:                                  "it is not JSON near byte 18, inside list",
		`{"a":"x" "list":[]}`:                                 "it is not JSON near byte 10, inside the file",
		`{"a":"x","list":[],}`:                                "it is not JSON near byte 20, inside the file",
		`{"a":"x","list":[,]}`:                                "it is not JSON near byte 18, inside list[0]",
		`{"a" "x","list":[]}`:                                 "it is not JSON near byte 6, inside a",
		`{"a":"\x","list":[]}`:                                "it is not JSON near byte 8",
		`{"a":"x","list":[{"n":01}]}`:                         "it is not JSON near byte 24",
		`{"a":"x","list":[{"n":tru}]}`:                        "it is not JSON near byte 26, inside list[0].n",
		`{"a":"x","list":["\"]`:                               "cut short: it ends inside list[0]",
		`{"\u0061":"x","a":"y","list":[]}`:                    "a: it is given twice",
		`{"a":"x","list":[],"p":null,"raw":nul}`:              "it is not JSON near byte 38",
		`{"a":"x","list":[]}x`:                                "something follows",
		`{"a":"x","list":[],"raw":` + strings.Repeat("[", 40): "nested deeper",
		`"x"`:   "it must be one JSON object",
		"":      "it is empty",
		"\xff{": "UTF-8",
	} {
		var s sample
		err := Decode([]byte(text), &s)
		switch {
		case says == "" && err != nil:
			t.Errorf("%s: %v", text, err)
		case says != "" && (err == nil || !strings.Contains(err.Error(), says)):
			t.Errorf("%s: error %v, want one with %q", text, err, says)
		}
	}
}
