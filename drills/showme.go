package drills

import (
	"slowneedle/audio"
	"slowneedle/audio/desk"
)

// ShowMe returns a take that a careful hand would make: up from the bottom in
// threes, listening three seconds once the needle is well up, on in single
// decibels, and the last step to the aim, never over it. Its verdict is full
// marks.
func (r *Round) ShowMe() Take {
	return Take{Moves: approach(0, r.AimDB, audio.Rate), LockAt: approachEnd(r.AimDB, audio.Rate)}
}

// approach returns the moves of one fader that come to rest at an aim, the
// first at the given time.
func approach(channel int, aim float64, at int64) []desk.Move {
	var moves []desk.Move
	to := func(db float64, seconds float64) {
		moves = append(moves, desk.Move{At: at, Channel: channel, FaderDB: step(db)})
		at += int64(seconds * audio.Rate)
	}
	db := desk.FaderMin
	for db+3 < aim-4 {
		db += 3
		to(db, 0.5)
	}
	at += 3 * audio.Rate
	for db+1 < aim {
		db++
		to(db, 1)
	}
	to(aim, 0)
	return moves
}

// approachEnd returns when the needle has been watched for three seconds after
// approach's last move.
func approachEnd(aim float64, at int64) int64 {
	moves := approach(0, aim, at)
	return moves[len(moves)-1].At + 3*audio.Rate
}
