// Package page is what only the browser edition has: the page around the
// trainer. It owns nothing.
package page

import (
	"encoding/json"
	"fmt"
	"strings"
	"syscall/js"
)

// Browser reports whether the trainer runs in a browser: its reader closes the
// page, and is asked before a file is written.
const Browser = true

// storage is the browser's storage for this page; it may forbid it altogether, by an
// exception that only a call brings here as a panic.
func storage() js.Value {
	defer func() { _ = recover() }()
	return js.Global().Get("Reflect").Call("get", js.Global(), "localStorage")
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
	bytes, kind := js.Global().Get("Uint8Array").New(len(data)), "application/json"
	if strings.HasSuffix(name, ".wav") {
		kind = "audio/wav"
	}
	js.CopyBytesToJS(bytes, data)
	blob := js.Global().Get("Blob").New([]any{bytes}, map[string]any{"type": kind})
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

// Draw draws letters of a size in pixels with the browser's own fonts.
func Draw(text string, size float64, bold bool) (l Letter, ok bool) {
	v := host().Call("letter", text, size, bold)
	alpha := v.Get("alpha")
	l = Letter{make([]byte, alpha.Length()), v.Get("width").Int(), v.Get("x").Int(), v.Get("y").Int(), v.Get("advance").Float()}
	js.CopyBytesToGo(l.Alpha, alpha)
	return l, true
}

// Set makes the mirrored slider of a name stand where the screen's stands.
func Set(name string, s Slider) {
	host().Call("set", name, s.Least, s.Most, s.Step, s.Value, s.Words)
}
