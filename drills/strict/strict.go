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
	switch text := bytes.TrimLeft(data, " \t\r\n"); {
	case len(text) == 0:
		return errors.New("it is empty")
	case text[0] != '{':
		return errors.New("it must be one JSON object, beginning with {")
	}
	w := walk{data: data, in: json.NewDecoder(bytes.NewReader(data))}
	w.in.UseNumber()
	if err := w.value(reflect.TypeOf(into).Elem()); err != nil {
		return err
	}
	if _, err := w.in.Token(); err != io.EOF {
		return errors.New("something follows the closing brace")
	}
	err := json.Unmarshal(data, into)
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) { // of a type that reads itself
		return fmt.Errorf("%s: it must be %s, not %s", cmp.Or(wrong.Field, "the file"), kind(wrong.Type), wrong.Value)
	}
	return err
}

// DecodeFormat is Decode for a file whose field "format" must be a certain text. If it is
// another, or missing, that is the error, whatever else is wrong: the file is of another
// kind.
func DecodeFormat(data []byte, into any, format string) error {
	err := Decode(data, into)
	var head struct{ Format string }
	switch {
	case !utf8.Valid(data) || json.Unmarshal(data, &head) != nil || head.Format == format:
		return err
	case head.Format == "":
		return fmt.Errorf("format: it is missing; it must be %q", format)
	}
	return fmt.Errorf("format: it must be %q", format)
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

// walk goes through the text beside the type it is meant for.
type walk struct {
	data []byte
	in   *json.Decoder
	path []step
}

// step is one step of the path to a value: a name, or a place in a list.
type step struct {
	name  string
	place int // if there is no name
}

// at is the path to the value that is read.
func (w *walk) at() string {
	var b strings.Builder
	for i, s := range w.path {
		switch {
		case s.name == "":
			fmt.Fprintf(&b, "[%d]", s.place)
		case i > 0:
			b.WriteString("." + s.name)
		default:
			b.WriteString(s.name)
		}
	}
	return cmp.Or(clip(b.String()), "the file")
}

func (w *walk) wrong(format string, a ...any) error {
	return fmt.Errorf("%s: %w", w.at(), fmt.Errorf(format, a...))
}

// next returns what comes next in the text.
func (w *walk) next() (json.Token, error) {
	token, err := w.in.Token()
	switch {
	case err == nil:
		return token, nil
	case errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF):
		return nil, fmt.Errorf("it is cut short: it ends inside %s", w.at())
	}
	var broken *json.SyntaxError // the decoder of tokens does not always know the place
	if errors.As(json.Unmarshal(w.data, new(json.RawMessage)), &broken) {
		return nil, fmt.Errorf("it is not JSON near byte %d, inside %s", broken.Offset, w.at())
	}
	return nil, fmt.Errorf("it is not JSON inside %s: %w", w.at(), err)
}

// value passes over one value. t is nil where any value may stand.
func (w *walk) value(t reflect.Type) error {
	if len(w.path) > maxDepth {
		return w.wrong("it is nested deeper than %d levels", maxDepth)
	}
	token, err := w.next()
	if err != nil {
		return err
	}
	if token == nil && t != nil && t.Kind() != reflect.Pointer && !free(t) {
		return w.wrong("null is not a value here; leave the field out instead")
	}
	var unfit *json.UnmarshalTypeError
	if least, name := begin(token); t != nil && !free(t) && errors.As(json.Unmarshal([]byte(least), reflect.New(t).Interface()), &unfit) {
		return w.wrong("it must be %s, not %s", kind(t), name)
	}
	switch token {
	case json.Delim('{'):
		return w.object(t)
	case json.Delim('['):
		return w.list(t)
	}
	return nil
}

func (w *walk) list(t reflect.Type) error {
	var elem reflect.Type
	if t != nil && !free(t) && (t.Kind() == reflect.Slice || t.Kind() == reflect.Array) {
		elem = t.Elem()
	}
	for i := 0; w.in.More(); i++ {
		w.path = append(w.path, step{place: i})
		if err := w.value(elem); err != nil {
			return err
		}
		w.path = w.path[:len(w.path)-1]
	}
	_, err := w.next()
	return err
}

// begin returns the least JSON that begins with a token, and what to call it.
func begin(token json.Token) (least, name string) {
	switch token := token.(type) {
	case string:
		return `""`, "text"
	case bool:
		return "true", "true or false"
	case json.Number:
		return token.String(), clip(token.String())
	case json.Delim:
		if token == '{' {
			return "{}", "an object"
		}
		return "[]", "a list"
	}
	return "null", "null"
}

func (w *walk) object(t reflect.Type) error {
	names := fieldsOf(t)
	seen := make(map[string]bool)
	for w.in.More() {
		token, err := w.next()
		if err != nil {
			return err
		}
		name := token.(string)
		w.path = append(w.path, step{name: name})
		if seen[name] {
			return w.wrong("it is given twice")
		}
		seen[name] = true
		var inner reflect.Type
		if names != nil {
			if inner = names.types[name]; inner == nil {
				return w.wrong("there is no such field")
			}
		}
		if err := w.value(inner); err != nil {
			return err
		}
		w.path = w.path[:len(w.path)-1]
	}
	if _, err := w.next(); err != nil || names == nil {
		return err
	}
	for _, name := range names.required {
		if !seen[name] {
			w.path = append(w.path, step{name: name})
			return w.wrong("it is missing")
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
