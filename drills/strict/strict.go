// Package strict reads JSON that people and programs hand over, and says in one
// sentence what is wrong with which field.
//
// It refuses what encoding/json lets pass: unknown names, names in other case,
// names given twice or left out (but for those tagged omitempty or omitzero),
// anything after the closing brace, and nesting deeper than a file of ours has.
package strict

import (
	"cmp"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
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
	w := walk{data: data}
	w.space()
	if w.pos == len(data) {
		return errors.New("it is empty")
	}
	if data[w.pos] != '{' {
		return errors.New("it must be one JSON object, beginning with {")
	}
	if err := w.value(reflect.TypeOf(into).Elem()); err != nil {
		return err
	}
	if w.space(); w.pos < len(data) {
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
	var broken *json.SyntaxError
	if errors.As(err, &broken) {
		return fmt.Errorf("it is not JSON near byte %d", broken.Offset)
	}
	var wrong *json.UnmarshalTypeError
	if errors.As(err, &wrong) {
		return fmt.Errorf("%s: it must be %s, not %s", cmp.Or(wrong.Field, "the file"), kind(wrong.Type), wrong.Value)
	}
	return err
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

// walk goes through the text beside the type it is meant for. What it lets pass
// json.Unmarshal still looks at: it need not know which escapes and numbers there
// are.
type walk struct {
	data []byte
	pos  int
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

func (w *walk) broken() error {
	if w.pos >= len(w.data) {
		return fmt.Errorf("it is cut short: it ends inside %s", w.at())
	}
	return fmt.Errorf("it is not JSON near byte %d, inside %s", w.pos, w.at())
}

func (w *walk) space() {
	for w.pos < len(w.data) && strings.IndexByte(" \t\r\n", w.data[w.pos]) >= 0 {
		w.pos++
	}
}

// next passes over space and returns the byte that follows, 0 at the end.
func (w *walk) next() byte {
	if w.space(); w.pos < len(w.data) {
		return w.data[w.pos]
	}
	return 0
}

// value passes over one value. t is nil where any value may stand.
func (w *walk) value(t reflect.Type) error {
	if len(w.path) > maxDepth {
		return w.wrong("it is nested deeper than %d levels", maxDepth)
	}
	first := w.next()
	begin := w.pos
	switch first {
	case '{', '[':
	case '"':
		if err := w.text(); err != nil {
			return err
		}
	default:
		for w.pos < len(w.data) && strings.IndexByte("+-.0123456789abcdefghijklmnopqrstuvwxyzE", w.data[w.pos]) >= 0 {
			w.pos++
		}
		if w.pos == begin || w.pos == len(w.data) {
			return w.broken()
		}
	}
	word := w.data[begin:w.pos]
	if string(word) == "null" && t != nil && t.Kind() != reflect.Pointer && !free(t) {
		return w.wrong("null is not a value here; leave the field out instead")
	}
	if what, ok := fits(first, word, t); !ok {
		return w.wrong("it must be %s, not %s", kind(t), what)
	}
	switch first {
	case '{':
		return w.object(t)
	case '[':
		return w.list(t)
	}
	return nil
}

// text passes over a string.
func (w *walk) text() error {
	for w.pos++; w.pos < len(w.data); w.pos++ {
		switch w.data[w.pos] {
		case '"':
			w.pos++
			return nil
		case '\\':
			w.pos++
		}
	}
	return w.broken()
}

func (w *walk) list(t reflect.Type) error {
	var elem reflect.Type
	if t != nil && !free(t) && (t.Kind() == reflect.Slice || t.Kind() == reflect.Array) {
		elem = t.Elem()
	}
	return w.items(']', func(i int) error {
		w.path = append(w.path, step{place: i})
		if err := w.value(elem); err != nil {
			return err
		}
		w.path = w.path[:len(w.path)-1]
		return nil
	})
}

// items passes over what stands between two brackets, with commas between.
func (w *walk) items(end byte, each func(i int) error) error {
	w.pos++
	for i := 0; ; i++ {
		c := w.next()
		switch {
		case c == end:
			w.pos++
			return nil
		case i > 0 && c != ',':
			return w.broken()
		case i > 0:
			w.pos++
			w.space()
		}
		if err := each(i); err != nil {
			return err
		}
	}
}

// fits reports whether a value that begins with a byte is one of a type, and in
// which words what stands there. word is the whole of it, unless it is an object
// or a list.
func fits(first byte, word []byte, t reflect.Type) (what string, ok bool) {
	for t != nil && t.Kind() == reflect.Pointer && !free(t) {
		t = t.Elem()
	}
	if t == nil || string(word) == "null" || free(t) {
		return "", true
	}
	k := t.Kind()
	if k == reflect.Interface || k == reflect.Slice && t.Elem().Kind() == reflect.Uint8 {
		return "", true
	}
	switch first {
	case '{':
		return "an object", k == reflect.Struct || k == reflect.Map
	case '[':
		return "a list", k == reflect.Slice || k == reflect.Array
	case '"':
		return "text", k == reflect.String
	case 't', 'f':
		return "true or false", k == reflect.Bool
	}
	return clip(string(word)), fitsNumber(string(word), t)
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

func (w *walk) object(t reflect.Type) error {
	names := fieldsOf(t)
	seen := make(map[string]bool)
	err := w.items('}', func(int) error {
		begin := w.pos
		if w.pos >= len(w.data) || w.data[w.pos] != '"' {
			return w.broken()
		}
		if err := w.text(); err != nil {
			return err
		}
		name := string(w.data[begin+1 : w.pos-1])
		if strings.Contains(name, `\`) && json.Unmarshal(w.data[begin:w.pos], &name) != nil {
			return w.broken()
		}
		if w.next() != ':' {
			return w.broken()
		}
		w.pos++
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
		return nil
	})
	if err != nil || names == nil {
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
