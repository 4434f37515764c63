package input

import (
	"fmt"
	"math"
	"syscall/js"

	"slowneedle/audio"
	"slowneedle/audio/said"
)

// Devices lists the one that the browser gives: its reader chooses there.
func Devices() ([]Device, error) { return []Device{{ID: "browser", Name: "browser"}}, nil }

// open asks for the input. A browser asks its reader when that is needed.
func (in *Input) open(string) {
	devices := js.Global().Get("navigator").Get("mediaDevices")
	if !devices.Truthy() {
		in.fail(said.Errorf("input.https", "a browser lets a page listen only at an address that begins with https, or on this machine itself; open the trainer there"))
		return
	}
	off := map[string]any{"echoCancellation": false, "noiseSuppression": false, "autoGainControl": false, "channelCount": 2, "sampleRate": audio.Rate}
	in.then(devices.Call("getUserMedia", map[string]any{"audio": off}), in.wire, func(err js.Value) {
		switch err.Get("name").String() {
		case "NotAllowedError":
			in.fail(said.Errorf("input.refused", "the browser may not listen: it was refused; allow the microphone for this page beside its address, then begin again"))
		case "NotFoundError":
			in.fail(said.Errorf("input.not_found", "the browser finds no input; plug one in and begin again"))
		default:
			in.failed(err.Get("message").String())
		}
	})
}

// then calls one of two functions when a promise is settled.
func (in *Input) then(promise js.Value, kept, broken func(js.Value)) {
	var f [2]js.Func
	settle := func(do func(js.Value)) js.Func {
		return js.FuncOf(func(_ js.Value, args []js.Value) any {
			f[0].Release()
			f[1].Release()
			do(args[0])
			return nil
		})
	}
	f[0], f[1] = settle(kept), settle(broken)
	promise.Call("then", f[0], f[1])
}

// wire leads a stream to the page's worklet, which hands it over here. The worklet
// has an output so that the browser runs it, and leaves that silent.
func (in *Input) wire(stream js.Value) {
	track := stream.Call("getAudioTracks").Index(0)
	in.opened(func() { track.Call("stop") })
	defer in.recovered()
	context := js.Global().Get("AudioContext").New(map[string]any{"sampleRate": audio.Rate})
	var bytes []byte
	var block [2][]float32
	message := js.FuncOf(func(_ js.Value, args []js.Value) any {
		for ch := range block {
			side := args[0].Get("data").Index(ch)
			n := side.Length()
			if len(bytes) < 4*n {
				bytes = make([]byte, 4*n)
			}
			js.CopyBytesToGo(bytes, js.Global().Get("Uint8Array").New(side.Get("buffer")))
			block[ch] = block[ch][:0]
			for i := range n {
				b := bytes[4*i:]
				block[ch] = append(block[ch], math.Float32frombits(uint32(b[0])|uint32(b[1])<<8|uint32(b[2])<<16|uint32(b[3])<<24))
			}
		}
		in.came(block)
		return nil
	})
	ended := js.FuncOf(func(js.Value, []js.Value) any {
		in.fail(errGone)
		return nil
	})
	track.Set("onended", ended)
	var node js.Value
	in.opened(func() {
		if node.Truthy() {
			node.Get("port").Set("onmessage", nil)
		}
		track.Set("onended", nil)
		track.Call("stop")
		context.Call("close")
		message.Release()
		ended.Release()
	})
	in.then(context.Get("audioWorklet").Call("addModule", "listen.js"), func(js.Value) {
		defer in.recovered()
		if in.done() {
			return
		}
		node = js.Global().Get("AudioWorkletNode").New(context, "listen")
		node.Get("port").Set("onmessage", message)
		context.Call("createMediaStreamSource", stream).Call("connect", node)
		node.Call("connect", context.Get("destination"))
	}, func(err js.Value) { in.failed(err.Get("message").String()) })
}

// recovered is deferred where a browser may refuse what it is asked, as where it does
// not change the sample rate.
func (in *Input) recovered() {
	if r := recover(); r != nil {
		in.failed(fmt.Sprint(r))
	}
}

// failed takes the browser's own reason why nothing comes in, and lets the device go.
func (in *Input) failed(reason string) {
	in.fail(said.Errorf("input.browser", "the browser does not open the input: %s", reason))
	in.Close()
}
