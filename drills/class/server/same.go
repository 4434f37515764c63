//go:build !js

package server

import (
	"context"
	"maps"

	"slowneedle/drills/class/handin"
)

// goesBy returns the name that each learner counts under at present: the one that was
// given, or another spelling that the teacher merged it with.
func (s *Server) goesBy() func(who string) string {
	c, _ := s.class.get("")
	return func(who string) string {
		if other, ok := c.Same[handin.Skeleton(who)]; ok {
			return other
		}
		return who
	}
}

// learner tells learners apart, by the name that they count under.
func (s *Server) learner(who string) string { return s.o.Roster.Key(s.goesBy()(who)) }

// merge makes one learner of the two whose hand-ins have these ids, under the name of
// the second; with an empty second id the first goes by the own name again. The error
// is that nobody has such an id, or that they are one already.
func (s *Server) merge(ctx context.Context, id, into string) error {
	who, ok := s.board.who(id)
	target, known := s.board.who(into)
	if !ok || into != "" && !known {
		return errNoSuch
	}
	goesBy := s.goesBy()
	target = goesBy(target)
	if into != "" && s.learner(target) == s.learner(who) {
		return errSameAlready
	}
	return s.class.change(ctx, "", func(c *class) error {
		looks, own := handin.Skeleton(who), handin.Skeleton(goesBy(who))
		c.Same = maps.Clone(c.Same)
		if into == "" {
			delete(c.Same, looks)
			return nil
		}
		if c.Same == nil {
			c.Same = make(map[string]string)
		}
		for k, v := range c.Same {
			if handin.Skeleton(v) == own {
				c.Same[k] = target
			}
		}
		c.Same[looks], c.Same[own] = target, target
		return nil
	})
}
