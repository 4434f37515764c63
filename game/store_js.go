package game

import (
	"syscall/js"

	"slowneedle/audio/said"
)

const storeKey = "slowneedle-settings"

func storage() js.Value {
	defer func() { _ = recover() }() // a browser may forbid storage altogether
	return js.Global().Get("localStorage")
}

// loadSettings reads the settings from the browser's storage. Damaged ones are
// set aside under a name that says so.
func loadSettings() (settings, error) {
	store := storage()
	if !store.Truthy() {
		return defaultSettings(), nil
	}
	v := store.Call("getItem", storeKey)
	if v.Type() != js.TypeString {
		return defaultSettings(), nil
	}
	s, err := readSettings([]byte(v.String()))
	if err != nil {
		store.Call("setItem", storeKey+".damaged", v.String())
	}
	return s, err
}

func saveSettings(s settings) (err error) {
	defer func() {
		if recover() != nil {
			err = said.Errorf("settings.browser", "the settings cannot be saved: this browser stores nothing")
		}
	}()
	if store := storage(); store.Truthy() {
		store.Call("setItem", storeKey, string(s.bytes()))
	}
	return nil
}
