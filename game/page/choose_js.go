package page

import (
	"errors"
	"io"
	"syscall/js"
	"time"
)

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

// Pauser returns what work in slices is to call between them, and before the first: a
// browser has one thread, which must go back to the page now and then.
func Pauser() func() {
	var began time.Time // of the slice; the first begins when the page has had its turn
	return func() {
		if time.Since(began) > 6*time.Millisecond {
			time.Sleep(time.Millisecond) // the browser's turn
			began = time.Now()
		}
	}
}
