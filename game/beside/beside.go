// Package beside is work that is done beside the window's thread, and what it leads to on
// that thread. The two share nothing else. It needs no display.
package beside

// Queue carries what work beside the window's thread leads to back to that thread. A nil
// queue has nothing to carry.
type Queue chan func()

// New is an empty queue.
func New() Queue { return make(Queue, 16) }

// Do has work done beside the window's thread, and what it returns done by an update.
func (q Queue) Do(work func() (then func())) {
	go func() { q <- work() }()
}

// Update does what is ready.
func (q Queue) Update() {
	for {
		select {
		case then := <-q:
			then()
		default:
			return
		}
	}
}

// Wait does what becomes ready until enough is done.
func (q Queue) Wait(enough func() bool) {
	for !enough() {
		(<-q)()
	}
}
