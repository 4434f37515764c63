package journal

import (
	"bytes"
	"errors"
	"syscall/js"
	"testing"
)

// Run with GOOS=js GOARCH=wasm go test -exec "$(go env GOROOT)/lib/wasm/go_js_wasm_exec".

// localStorage as the HTML standard has it (Web storage), with room for 60,000
// characters, for JavaScript hosts that have none.
const storage = `
	globalThis.shelf = new Map();
	Object.defineProperty(globalThis, "localStorage", { configurable: true, value: {
		get length() { return shelf.size },
		key(i) { return [...shelf.keys()][i] },
		getItem(k) { return shelf.has(k) ? shelf.get(k) : null },
		removeItem(k) { shelf.delete(k) },
		setItem(k, v) {
			let used = k.length + v.length
			for (const [a, b] of shelf) if (a !== k) used += a.length + b.length
			if (used > 60000) throw new DOMException("no room", "QuotaExceededError")
			shelf.set(k, v)
		},
	}})`

func TestInTheBrowser(t *testing.T) {
	js.Global().Call("eval", storage)
	j, err := Open("")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for ; err == nil; n++ {
		_, err = j.Add(entry(n))
	}
	if !errors.Is(err, ErrFull) || n < 10 {
		t.Fatalf("after %d takes: %v", n, err)
	}
	t.Log(err)
	if j, err = Open(""); err != nil {
		t.Fatal(err)
	}
	marks, err := j.Marks()
	if err != nil || len(marks) != n-1 || len(j.Asides()) > 0 {
		t.Fatalf("%d marks of %d takes, %v, %v", len(marks), n-1, err, j.Asides())
	}
	var lines bytes.Buffer
	if err := j.ExportJSON(&lines); err != nil {
		t.Fatal(err)
	}
	if err := j.ForgetAll(); err != nil {
		t.Fatal(err)
	}
	if got, err := j.Import(&lines); err != nil || got.Added != n-1 {
		t.Errorf("Import: %+v, %v", got, err)
	}
}
