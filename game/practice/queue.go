package practice

// queue carries what work beside the window's thread leads to back to that thread; the
// two share nothing else. A nil queue has nothing to carry.
type queue chan func()

func newQueue() queue { return make(queue, 16) }

// do has work done beside the window's thread, and what it returns done by an update.
func (q queue) do(work func() (then func())) {
	go func() { q <- work() }()
}

// update does what is ready.
func (q queue) update() {
	for {
		select {
		case then := <-q:
			then()
		default:
			return
		}
	}
}

// wait does what becomes ready until enough is done.
func (q queue) wait(enough func() bool) {
	for !enough() {
		(<-q)()
	}
}
