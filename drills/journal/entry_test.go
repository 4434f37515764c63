package journal

import (
	"encoding/json"
	"math/rand/v2"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills"
)

// entry makes an invented take.
func entry(i int) Entry {
	rng := rand.New(rand.NewPCG(uint64(i), 1))
	e := Entry{
		When:     time.Date(2026, 3, 1, 19, 0, i, 123e6, time.UTC),
		Drill:    []string{"set-the-take", "lamp-count", "match-by-ear"}[i%3],
		Family:   source.Generated()[i%5],
		Kind:     "drum groove, sparse",
		Level:    1 + i%9,
		Rig:      []string{"digital", "tape", "digital:reference=-20"}[i/3%3],
		Seed:     rng.Uint64(),
		Index:    i,
		Settings: json.RawMessage(`{"difficulty":{"irregular":0.5}}`),
		Verdict: drills.Verdict{FaderDB: 3.5, AimDB: 2, ErrorDB: float64(rng.IntN(80)-40) / 10, InWindow: rng.IntN(2) == 0,
			Points: rng.IntN(101), Headline: "1.5 dB too hot.", Seconds: 12.5},
		Version:     "test",
		ToleranceDB: 1.5 + float64(i%4)/8,
	}
	at := int64(0)
	for range 20 + rng.IntN(200) {
		at += 64 * int64(1+rng.IntN(20))
		e.Take.Moves = append(e.Take.Moves, drills.Move{At: at, To: float64(rng.IntN(480)-360) / 10})
	}
	e.Take.LockAt = at + 48000
	return e
}
