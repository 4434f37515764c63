package handin

import (
	"fmt"
	"sync"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
)

// RoundCache makes the rounds of sheets when they are first asked for, and
// judges takes on them. The zero value is ready; it is safe for use by several
// goroutines. It keeps rounds while their sounds fit in cacheBytes.
type RoundCache struct {
	// Content opens the recordings of sheets that come without; nil: there are none at hand.
	Content sheet.Content

	mu     sync.Mutex
	rounds map[roundKey]*cachedRound
	bytes  int // of the rounds that are made
	limit  int // in place of cacheBytes, for tests
}

// cacheBytes is what the sounds of the rounds that are kept may take: a whole
// desk has up to 19 MB, so that ten rounds of it stay.
const cacheBytes = 256 << 20

// roundKey is a round of a sheet, which its hash stands for, and in an exam the
// seed that was drawn.
type roundKey struct {
	sheet string
	round int
	seed  uint64
}

// cachedRound is made when it is first asked for. It is judged by one goroutine
// at a time.
type cachedRound struct {
	once     sync.Once
	mu       sync.Mutex
	exercise *drills.Exercise
	err      error
	bytes    int // once it is made; guarded by the cache's lock
}

// series is the rounds of one sheet.
type series struct {
	cache *RoundCache
	sheet sheet.Sheet
	hash  string
	err   error // of a sheet that cannot be
}

func (c *RoundCache) series(s sheet.Sheet) *series {
	hash, err := s.Hash()
	if s.Content == nil {
		s.Content = c.Content
	}
	return &series{c, s, hash, err}
}

// round returns round i of a sheet, from 0, or why there is none.
func (v *series) round(i int) *cachedRound {
	switch {
	case v.err != nil:
		return &cachedRound{err: v.err}
	case i < 0 || i >= v.sheet.Rounds:
		return &cachedRound{err: fmt.Errorf("the sheet has no round %d", i+1)}
	}
	c, key := v.cache, roundKey{sheet: v.hash, round: i}
	if v.sheet.Drawn(i) {
		key.seed = v.sheet.Seeds[i]
	}
	c.mu.Lock()
	if c.rounds == nil {
		c.rounds = make(map[roundKey]*cachedRound)
	}
	r, ok := c.rounds[key]
	if !ok {
		r = new(cachedRound)
		c.rounds[key] = r
	}
	c.mu.Unlock()
	r.once.Do(func() {
		if r.exercise, r.err = v.sheet.Exercise(i); r.err == nil {
			c.makeRoom(r, r.exercise.Bytes())
		}
	})
	return r
}

// makeRoom counts a round that was made, and lets go of others until all fit.
// Which ones is left to chance: whoever checks hand-in after hand-in asks for the
// rounds in turn, and the one used longest ago is the next to be asked for.
func (c *RoundCache) makeRoom(made *cachedRound, bytes int) {
	c.mu.Lock()
	defer c.mu.Unlock()
	limit := c.limit
	if limit == 0 {
		limit = cacheBytes
	}
	made.bytes = bytes
	c.bytes += bytes
	for key, r := range c.rounds {
		if c.bytes <= limit {
			return
		}
		if r != made && r.bytes > 0 {
			c.bytes -= r.bytes
			delete(c.rounds, key)
		}
	}
}

// Exercise returns round i of a sheet, from 0. It is shared: not to be changed.
func (c *RoundCache) Exercise(s sheet.Sheet, i int) (*drills.Exercise, error) {
	r := c.series(s).round(i)
	return r.exercise, r.err
}

// Judge gives the verdict on a take of round i of a sheet, from 0.
func (c *RoundCache) Judge(s sheet.Sheet, i int, t drills.Take) (drills.Verdict, error) {
	return c.series(s).round(i).judge(t)
}

func (r *cachedRound) judge(t drills.Take) (drills.Verdict, error) {
	if r.err != nil {
		return drills.Verdict{}, r.err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.exercise.Judge(t)
}
