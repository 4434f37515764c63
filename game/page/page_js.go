// Package page is what only the browser edition has: the page around the
// trainer. It owns nothing.
package page

import (
<<<<<<< HEAD
	"errors"
=======
	"encoding/json"
>>>>>>> main
	"fmt"
	"io"
	"syscall/js"
	"time"
)

// Browser reports whether the trainer runs in a browser: its reader closes the
// page, and is asked before a file is written.
const Browser = true

// storage is the browser's storage for this page; it may forbid it altogether.
func storage() js.Value {
	defer func() { _ = recover() }()
	return js.Global().Get("localStorage")
}

// Load reads what was stored under a key; nil is nothing.
func Load(key string) []byte {
	if s := storage(); s.Truthy() {
		if v := s.Call("getItem", key); v.Type() == js.TypeString {
			return []byte(v.String())
		}
	}
	return nil
}

// Store stores data under a key. The errors are ErrNoStorage and ErrFull.
func Store(key string, data []byte) (err error) {
	defer func() {
		if recover() != nil {
			err = ErrFull
		}
	}()
	s := storage()
	if !s.Truthy() {
		return ErrNoStorage
	}
	s.Call("setItem", key, string(data))
	return nil
}

// What can be wrong with the browser's storage.
var (
	ErrNoStorage = fmt.Errorf("page: the browser stores nothing for this page")
	ErrFull      = fmt.Errorf("page: the browser has no room for it")
)

// Download gives a file to the browser as a download.
func Download(name string, data []byte) {
	blob := js.Global().Get("Blob").New([]any{string(data)}, map[string]any{"type": "application/json"})
	url := js.Global().Get("URL").Call("createObjectURL", blob)
	a := js.Global().Get("document").Call("createElement", "a")
	a.Set("href", url)
	a.Set("download", name)
	a.Call("click")
	var later js.Func
	later = js.FuncOf(func(js.Value, []js.Value) any { // once the browser has taken it
		js.Global().Get("URL").Call("revokeObjectURL", url)
		later.Release()
		return nil
	})
	js.Global().Call("setTimeout", later, 60_000)
}

<<<<<<< HEAD
// File is one that the reader of the page has chosen. It stays where it is; what is
// asked for is read.
type File struct {
	Name string
	blob js.Value
}

// Open returns its content, from the beginning. Reading waits for the browser, which a
// callback must not do.
func (f File) Open() io.ReadSeeker {
	size := int64(f.blob.Get("size").Float())
	return io.NewSectionReader(blob{f.blob}, 0, size)
}

type blob struct{ js.Value }

func (b blob) ReadAt(p []byte, at int64) (int, error) {
	data, err := await(b.Call("slice", float64(at), float64(at)+float64(len(p))).Call("arrayBuffer"))
	if err != nil {
		return 0, err
	}
	n := js.CopyBytesToGo(p, js.Global().Get("Uint8Array").New(data))
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

// await waits for a promise.
func await(promise js.Value) (js.Value, error) {
	got, failed := make(chan js.Value, 1), make(chan error, 1)
	done := js.FuncOf(func(_ js.Value, a []js.Value) any { got <- a[0]; return nil })
	wrong := js.FuncOf(func(_ js.Value, a []js.Value) any { failed <- errors.New(a[0].Get("message").String()); return nil })
	defer done.Release()
	defer wrong.Release()
	promise.Call("then", done, wrong)
	select {
	case v := <-got:
		return v, nil
	case err := <-failed:
		return js.Value{}, err
	}
}

// Choose lets the reader of the page choose files of the kinds in accept, as the page's
// language has them. It must follow a press of a key or a button at once.
func Choose(accept string, got func([]File)) {
	in := js.Global().Get("document").Call("createElement", "input")
	in.Set("type", "file")
	in.Set("multiple", true)
	in.Set("accept", accept)
	var changed js.Func
	changed = js.FuncOf(func(js.Value, []js.Value) any {
		list := in.Get("files")
		var all []File
		for i := range list.Length() {
			all = append(all, File{list.Index(i).Get("name").String(), list.Index(i)})
		}
		changed.Release()
		got(all)
		return nil
	})
	in.Call("addEventListener", "change", changed)
	in.Call("click")
}

// Pauser returns what work in slices is to call between them: a browser has one thread, which
// must go back to the page now and then.
func Pauser() func() {
	began := time.Now()
	return func() {
		if time.Since(began) > 6*time.Millisecond {
			time.Sleep(time.Millisecond) // the browser's turn
			began = time.Now()
		}
	}
=======
// host is the page's own side of the trainer.
func host() js.Value { return js.Global().Get("slowneedle") }

// Events is what was done on the page since the last call.
func Events() (all []Event) {
	if v := host().Call("take"); v.Type() == js.TypeString {
		_ = json.Unmarshal([]byte(v.String()), &all)
	}
	return all
}

// Show makes the page mirror what is on the screen.
func Show(m Mirror) {
	if text, err := json.Marshal(m); err == nil {
		host().Call("show", string(text))
	}
}

// Set makes the mirrored slider of a name stand where the screen's stands.
func Set(name string, s Slider) {
	host().Call("set", name, s.Least, s.Most, s.Step, s.Value, s.Words)
>>>>>>> main
}
