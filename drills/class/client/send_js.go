package client

import (
	"context"
	"errors"
	"syscall/js"
)

// exchange sends one request through the browser's fetch. The error says why there
// is no answer.
func exchange(ctx context.Context, method, address, token string, body []byte, _ int64) (answer, error) {
	stop := js.Global().Get("AbortController").New()
	options := map[string]any{"method": method, "signal": stop.Get("signal"), "cache": "no-store", "redirect": "error"}
	if body != nil {
		options["body"] = string(body)
		options["headers"] = map[string]any{"Content-Type": "application/json", TokenHeader: token}
	}
	resp, err := wait(ctx, stop, js.Global().Call("fetch", address, options))
	if err != nil {
		return answer{}, err
	}
	a := answer{status: resp.Get("status").Int()}
	if after := resp.Get("headers").Call("get", "Retry-After"); after.Type() == js.TypeString {
		a.after = retryAfter(after.String())
	}
	data, err := wait(ctx, stop, resp.Call("arrayBuffer"))
	if err != nil {
		return answer{}, err
	}
	bytes := js.Global().Get("Uint8Array").New(data)
	a.body = make([]byte, bytes.Length())
	js.CopyBytesToGo(a.body, bytes)
	return a, nil
}

// wait waits for a promise, or aborts it when the context ends.
func wait(ctx context.Context, stop, promise js.Value) (js.Value, error) {
	type outcome struct {
		v   js.Value
		err error
	}
	done := make(chan outcome, 1)
	kept := js.FuncOf(func(_ js.Value, v []js.Value) any {
		done <- outcome{v: v[0]}
		return nil
	})
	defer kept.Release()
	broken := js.FuncOf(func(_ js.Value, v []js.Value) any {
		done <- outcome{err: errors.New(v[0].Get("message").String())}
		return nil
	})
	defer broken.Release()
	promise.Call("then", kept, broken)
	select {
	case o := <-done:
		return o.v, o.err
	case <-ctx.Done():
		stop.Call("abort")
		<-done // the functions are called no more after it
		return js.Value{}, ctx.Err()
	}
}
