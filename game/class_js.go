package game

import (
	"syscall/js"

	"slowneedle/audio/said"
)

// handInFiles says whether a hand-in is written to a file by itself; a browser
// asks its reader first.
const handInFiles = false

const seriesKey = "slowneedle-class"

// loadSeries reads the series that was kept; none is no error.
func loadSeries() ([]byte, error) {
	store := storage()
	if !store.Truthy() {
		return nil, nil
	}
	v := store.Call("getItem", seriesKey)
	if v.Type() != js.TypeString {
		return nil, nil
	}
	return []byte(v.String()), nil
}

// storeSeries keeps the series in the browser's storage.
func storeSeries(data []byte) (err error) {
	defer func() {
		if recover() != nil {
			err = said.Errorf("class.browser_full", "this browser has no space left for it; leave the page open until it is received")
		}
	}()
	store := storage()
	if !store.Truthy() {
		return said.Errorf("class.browser_keeps_nothing", "this browser stores nothing for this page; leave it open until it is received")
	}
	store.Call("setItem", seriesKey, string(data))
	return nil
}

// writeDocument gives a file to the browser as a download and returns its name.
func writeDocument(name string, data []byte) (string, error) {
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
	return name, nil
}
