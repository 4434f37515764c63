// Package strict reads JSON that people and programs hand over, and says in one
// sentence what is wrong with which field.
//
// It refuses what encoding/json lets pass: unknown names, names in other case,
// names given twice or left out (but for those tagged omitempty or omitzero),
// anything after the closing brace, and nesting deeper than a file of ours has.
package strict

import (
	"bytes"
	"cmp"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"reflect"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"
)

// maxDepth bounds how deep objects and arrays lie inside each other.
const maxDepth = 12

// Decode reads one JSON object into a pointer to a struct. Fields of types that
// read themselves (json.Unmarshaler, encoding.TextUnmarshaler) and
// json.RawMessage are theirs to check but for names given twice and depth.
//
// The error is one sentence that begins with the field, as in
// "takes[3].lock_at: ...".
func Decode(data []byte, into any) error {
	if !utf8.Valid(data) {
		return errors.New("it is not text in UTF-8")
	}
	if len(bytes.TrimSpace(data)) == 0 {
		return errors.New("it is empty")
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.UseNumber()
	w := walk{dec: dec, size: len(data)}
	if err := w.value("", reflect.TypeOf(into).Elem(), 0, true); err != nil {
		return err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something follows the closing brace")
	}
	if err := json.Unmarshal(data, into); err != nil {
		return explain(err)
	}
	return nil
}

// explain words an error that encoding/json still has, of types that read
// themselves, by its field.
func explain(err error) error {
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		return fmt.Errorf("%s: it must be %s, not %s", field(wrong.Field), kind(wrong.Type), wrong.Value)
	}
	return err
}

func field(path string) string {
	if path == "" {
		return "the file"
	}
	return path
}

func kind(t reflect.Type) string {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.String:
		return "text in quotes"
	case reflect.Bool:
		return "true or false"
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64,
		reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return "a whole number in range"
	case reflect.Float32, reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		return "a list"
	}
	return "an object"
}

// walk goes through the tokens beside the type they are meant for.
type walk struct {
	dec  *json.Decoder
	size int
}

func (w walk) broken(path string, err error) error {
	var syntax *json.SyntaxError
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("it is cut short: it ends inside %s", field(path))
	case errors.As(err, &syntax) && syntax.Offset >= int64(w.size):
		return fmt.Errorf("it is cut short: it ends inside %s", field(path))
	}
	return fmt.Errorf("it is not JSON near byte %d, inside %s", w.dec.InputOffset(), field(path))
}

// value passes over one value. t is nil where any value may stand.
func (w walk) value(path string, t reflect.Type, depth int, top bool) error {
	if depth > maxDepth {
		return fmt.Errorf("%s: it is nested deeper than %d levels", field(path), maxDepth)
	}
	token, err := w.dec.Token()
	if err != nil {
		return w.broken(path, err)
	}
	if top && token != json.Delim('{') {
		return errors.New("it must be one JSON object, beginning with {")
	}
	if token == nil && t != nil && t.Kind() != reflect.Pointer && !free(t) {
		return fmt.Errorf("%s: null is not a value here; leave the field out instead", field(path))
	}
	if what, ok := fits(token, t); !ok {
		return fmt.Errorf("%s: it must be %s, not %s", field(path), kind(t), what)
	}
	switch token {
	case json.Delim('{'):
		return w.object(path, t, depth)
	case json.Delim('['):
		var elem reflect.Type
		if t != nil && !free(t) && (t.Kind() == reflect.Slice || t.Kind() == reflect.Array) {
			elem = t.Elem()
		}
		for i := 0; w.dec.More(); i++ {
			if err := w.value(fmt.Sprintf("%s[%d]", path, i), elem, depth+1, false); err != nil {
				return err
			}
		}
		if _, err := w.dec.Token(); err != nil {
			return w.broken(path, err)
		}
	}
	return nil
}

// fits reports whether a token can begin a value of a type, and in which words what
// stands there.
func fits(token json.Token, t reflect.Type) (what string, ok bool) {
	for t != nil && t.Kind() == reflect.Pointer && !free(t) {
		t = t.Elem()
	}
	if t == nil || token == nil || free(t) {
		return "", true
	}
	k := t.Kind()
	if k == reflect.Interface || k == reflect.Slice && t.Elem().Kind() == reflect.Uint8 {
		return "", true
	}
	switch v := token.(type) {
	case bool:
		return "true or false", k == reflect.Bool
	case string:
		return "text", k == reflect.String
	case json.Number:
		return clip(v.String()), fitsNumber(v.String(), t)
	}
	if token == json.Delim('[') {
		return "a list", k == reflect.Slice || k == reflect.Array
	}
	return "an object", k == reflect.Struct || k == reflect.Map
}

// fitsNumber reports whether a number as it is written is one of a type.
func fitsNumber(text string, t reflect.Type) bool {
	var err error
	switch k := t.Kind(); k {
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		_, err = strconv.ParseInt(text, 10, t.Bits())
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		_, err = strconv.ParseUint(text, 10, t.Bits())
	case reflect.Float32, reflect.Float64:
		_, err = strconv.ParseFloat(text, t.Bits())
	default:
		return false
	}
	return err == nil
}

func (w walk) object(path string, t reflect.Type, depth int) error {
	names := fieldsOf(t)
	seen := make(map[string]bool)
	join := func(name string) string { return strings.TrimPrefix(path+"."+name, ".") }
	for w.dec.More() {
		token, err := w.dec.Token()
		if err != nil {
			return w.broken(path, err)
		}
		name := token.(string) // inside an object More is followed by a name
		at := join(name)
		if seen[name] {
			return fmt.Errorf("%s: it is given twice", clip(at))
		}
		seen[name] = true
		var inner reflect.Type
		if names != nil {
			if inner = names.types[name]; inner == nil {
				return fmt.Errorf("%s: there is no such field", clip(at))
			}
		}
		if err := w.value(at, inner, depth+1, false); err != nil {
			return err
		}
	}
	if _, err := w.dec.Token(); err != nil {
		return w.broken(path, err)
	}
	if names != nil {
		for _, name := range names.required {
			if !seen[name] {
				return fmt.Errorf("%s: it is missing", join(name))
			}
		}
	}
	return nil
}

// clip keeps a name that came from outside short and on one line.
func clip(name string) string {
	const most = 60
	quoted := []rune(strings.Map(func(r rune) rune {
		if r < ' ' || r == utf8.RuneError {
			return '?'
		}
		return r
	}, name))
	if len(quoted) > most {
		return string(quoted[:most]) + "..."
	}
	return string(quoted)
}

var (
	readsJSON = reflect.TypeFor[json.Unmarshaler]()
	readsText = reflect.TypeFor[encoding.TextUnmarshaler]()
)

// free reports whether a type checks its own JSON.
func free(t reflect.Type) bool {
	p := reflect.PointerTo(t)
	return p.Implements(readsJSON) || p.Implements(readsText)
}

// fields are the names a type has in JSON with their types, and those of them
// that may not be left out, in order.
type fields struct {
	types    map[string]reflect.Type
	required []string
}

var known sync.Map // of reflect.Type to *fields

// fieldsOf returns the fields of a type, or nil if any name may stand.
func fieldsOf(t reflect.Type) *fields {
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	if t == nil || t.Kind() != reflect.Struct || free(t) {
		return nil
	}
	if f, ok := known.Load(t); ok {
		return f.(*fields)
	}
	all := &fields{types: make(map[string]reflect.Type)}
	for i := range t.NumField() {
		f := t.Field(i)
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && name == "":
			inner := fieldsOf(f.Type)
			maps.Copy(all.types, inner.types)
			all.required = append(all.required, inner.required...)
		case name == "-" || !f.IsExported():
		default:
			name = cmp.Or(name, f.Name)
			all.types[name] = f.Type
			if !strings.Contains(options, "omit") {
				all.required = append(all.required, name)
			}
		}
	}
	known.Store(t, all)
	return all
}
