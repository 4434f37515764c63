//go:build !js

package server

import (
	"context"
	"encoding/json"
	"reflect"
	"sync"
)

// shelf is what the store keeps of one kind beside hand-ins, by name. Memory has it as it
// is on the disk.
type shelf[T any] struct {
	store *store
	kind  string

	mu    sync.Mutex
	slots map[string]*slot[T]
}

// slot is where one of a shelf stands.
type slot[T any] struct {
	changing sync.Mutex // held while it is changed
	value    *T         // nil: there is none yet; guarded by the shelf's lock
}

// The kinds of what is kept.
const (
	keptSheets   = "sheet"   // courseSheet, by its class code
	keptSittings = "sitting" // by the id of its hand-in
	keptClass    = "class"   // class, without a name
)

// openShelf reads what the store has of a kind.
func openShelf[T any](s *store, kind string) (*shelf[T], error) {
	h := &shelf[T]{store: s, kind: kind, slots: make(map[string]*slot[T])}
	return h, s.rows(func(scan func(...any) error) error {
		var name string
		var text []byte
		if err := scan(&name, &text); err != nil {
			return err
		}
		h.slots[name] = &slot[T]{value: new(T)}
		return json.Unmarshal(text, h.slots[name].value)
	}, `SELECT name, value FROM kept WHERE kind = ?`, kind)
}

// get returns one as it is now; ok is false if there is none.
func (h *shelf[T]) get(name string) (v T, ok bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if one := h.slots[name]; one != nil && one.value != nil {
		return *one.value, true
	}
	return v, false
}

// all returns all by name as they are now.
func (h *shelf[T]) all() map[string]T {
	h.mu.Lock()
	defer h.mu.Unlock()
	all := make(map[string]T)
	for name, one := range h.slots {
		if one.value != nil {
			all[name] = *one.value
		}
	}
	return all
}

// change has do change a copy of one, or make it of its zero value, and puts that in its
// place once it is on the disk, whether or not whoever asked for it is still there; what
// stays as it was is not stored again. The error is do's or the store's, and nothing has
// changed then.
func (h *shelf[T]) change(ctx context.Context, name string, do func(*T) error) error {
	h.mu.Lock()
	one := h.slots[name]
	if one == nil {
		one = new(slot[T])
		h.slots[name] = one
	}
	h.mu.Unlock()
	one.changing.Lock()
	defer one.changing.Unlock()
	before, _ := h.get(name)
	next := before
	if err := do(&next); err != nil || reflect.DeepEqual(next, before) {
		return err
	}
	if err := h.store.set(context.WithoutCancel(ctx), h.kind, name, next); err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	one.value = &next
	return nil
}
