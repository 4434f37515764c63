//go:build !js

package server

import (
	"context"
	"database/sql"
	"maps"

	"slowneedle/audio/said"
	"slowneedle/drills/class/handin"
)

var errSameAlready = said.Errorf("server.same_already", "these two are one learner already")

// goesBy returns the name that a learner counts under: the one that was given, or
// another spelling that the teacher merged it with.
func (s *Server) goesBy(who string) string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.goesByLocked(who)
}

func (s *Server) goesByLocked(who string) string {
	if other, ok := s.same[handin.Skeleton(who)]; ok {
		return other
	}
	return who
}

// merge makes one learner of the two whose hand-ins have these ids, under the name of
// the second; with an empty second id the first goes by the own name again. It reports
// false if nobody has such an id.
func (s *Server) merge(ctx context.Context, id, into string) (found bool, err error) {
	who, ok := s.board.who(id)
	target, known := s.board.who(into)
	if !ok || into != "" && !known {
		return false, nil
	}
	s.mu.Lock()
	same := maps.Clone(s.same)
	s.mu.Unlock()
	looks := handin.Skeleton(who)
	if into == "" {
		delete(same, looks)
	} else {
		target = s.goesBy(target)
		if s.o.Roster.Key(target) == s.o.Roster.Key(s.goesBy(who)) {
			return true, errSameAlready
		}
		own := handin.Skeleton(s.goesBy(who))
		for k, v := range same {
			if handin.Skeleton(v) == own {
				same[k] = target
			}
		}
		same[looks], same[own] = target, target
	}
	err = s.store.do(ctx, func(tx *sql.Tx) error {
		if _, err := tx.Exec(`DELETE FROM same`); err != nil {
			return err
		}
		for looks, who := range same {
			if _, err := tx.Exec(`INSERT INTO same (looks, who) VALUES (?, ?)`, looks, who); err != nil {
				return err
			}
		}
		return nil
	})
	if err == nil {
		s.mu.Lock()
		s.same = same
		s.mu.Unlock()
	}
	return true, err
}

// sameNames returns the names that were merged, by the skeleton of each spelling.
func (s *store) sameNames() (map[string]string, error) {
	same := make(map[string]string)
	err := s.rows(`SELECT looks, who FROM same`, func(scan func(...any) error) error {
		var looks, who string
		err := scan(&looks, &who)
		same[looks] = who
		return err
	})
	return same, err
}
