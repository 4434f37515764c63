package source

import "iter"

// Maker makes a sound in slices, for programs that must not be held up: a page
// in a browser, a window that is drawn meanwhile.
//
//	m, err := source.NewMaker(request)
//	for m.Step() { // a slice each time something was drawn
//	}
//	sound := m.Sound()
//
// A slice takes at most 8 ms on a desktop processor, most of them far less: call
// Step until the time for this frame is used up. A take of 60 s needs up to 50 MB
// of memory while it is made, 12 MB of it a channel of the sound itself; a loop a
// quarter of that. The sound is the same as from Generate.
type Maker struct {
	next  func() (struct{}, bool)
	stop  func()
	sound *Sound
}

// NewMaker returns a maker that has not begun. The errors are those of Generate.
// Call Stop on one that is not stepped to its end.
func NewMaker(r Request) (*Maker, error) {
	if err := r.check(); err != nil {
		return nil, err
	}
	m := new(Maker)
	type stopped struct{}
	m.next, m.stop = iter.Pull(func(yield func(struct{}) bool) {
		defer func() {
			if e := recover(); e != nil && e != (stopped{}) {
				panic(e)
			}
		}()
		m.sound = r.generate(func() {
			if !yield(struct{}{}) {
				panic(stopped{}) // unwinds the work that nobody waits for
			}
		})
	})
	return m, nil
}

// Step makes the next slice and returns whether there is more to do.
func (m *Maker) Step() bool {
	_, more := m.next()
	return more
}

// Sound makes what is left and returns the sound; nil after Stop.
func (m *Maker) Sound() *Sound {
	for m.Step() {
	}
	return m.sound
}

// Stop gives up a sound that is not wanted any more.
func (m *Maker) Stop() { m.stop() }
