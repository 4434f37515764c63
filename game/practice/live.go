package practice

import (
	"math"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/listen"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
	"slowneedle/drills"
	"slowneedle/drills/series"
	"slowneedle/game/store"
	"slowneedle/game/words"
)

// liveRounds is how many rounds a series has that is played live.
const liveRounds = 8

// Live is a series that is played into a real desk, and what has come back of it.
type Live struct {
	*series.Live
	back      *Return
	exercises []*drills.Exercise
}

// PlayLive begins a series in the rig that is chosen; what comes back goes to an ear.
func (p *Session) PlayLive(ear *listen.Ear) *Live {
	rig := p.Prefs.ChosenRig()
	if rig == nil {
		digital := drills.DigitalRig()
		rig = &digital
	}
	family := p.Prefs.Family
	if family == source.Own {
		family = ""
	}
	plan := series.Plan{Seed: p.seed, Index: p.index, Count: liveRounds, Family: family, Rig: *rig}
	p.index += liveRounds
	l := &Live{Live: series.NewLive(plan, ear, p.Prefs.MonitorDB)}
	l.back = &Return{Judged: &series.Judged{}, of: liveRounds, Live: true, exercise: func(i int) (*drills.Exercise, error) { return l.exercises[i], nil }}
	return l
}

// Round is the round that comes next or is being played, from 0.
func (l *Live) Round() int { return len(l.back.Judged.Rounds) }

// Rounds is how many rounds there are.
func (l *Live) Rounds() int { return l.back.of }

// Begin plays the next round, or the one that is being played from its beginning.
func (l *Live) Begin() (*drills.Exercise, error) {
	e, err := l.Live.Begin(l.Round())
	if err == nil {
		l.exercises = append(l.exercises[:l.Round()], e)
	}
	return e, err
}

// Locked takes what Lock came to, and lets nothing more go out.
func (l *Live) Locked(r series.JudgedRound) (*Assignment, error) {
	l.Silence()
	j := l.back.Judged
	j.LineUp = l.LineUpTone()
	j.Rounds = append(j.Rounds, r)
	return l.back.Assignment(len(j.Rounds) - 1)
}

// heardSeconds is how much of what came in is judged, and followSeconds for how long
// what follows is listened to.
const heardSeconds, followSeconds = 12, 60

// EarSeconds is how many of the last seconds an ear must keep.
const EarSeconds = max(heardSeconds+followSeconds+2, series.KeepSeconds)

// Heard is what came in at the line input, from a source of the learner's own, judged
// at the lock, and again over the minute that followed.
type Heard struct {
	ear    *listen.Ear
	lock   int64 // frames that had come in
	rig    drills.Rig
	clips  int64 // at the lock
	words  *words.Speech
	judged chan func() string // makes the sentence on the minute, once that is judged; nil: it is not over
	follow string             // that sentence
}

// HearRig is the rig by which a source at the line input is judged.
func (p *Session) HearRig() drills.Rig {
	if rig := p.Prefs.ChosenRig(); rig != nil {
		return *rig
	}
	return drills.DigitalRig()
}

// Hear judges the last 12 seconds of what has come in. clipped is how many samples of
// it have clipped in the input. The work itself is done by judge, which may run beside
// the window.
func (p *Session) Hear(ear *listen.Ear, clipped int64) (judge func() (*Assignment, error)) {
	const least = 3 // seconds
	if ear.Count() < least*audio.Rate {
		return func() (*Assignment, error) {
			return nil, said.Errorf("live.short", "listen for at least %d seconds, then lock", least)
		}
	}
	h := &Heard{ear: ear, lock: ear.Count(), rig: p.HearRig(), clips: ear.Clipped(), words: p.Records.Speech}
	p.played++
	a := &Assignment{Heard: h, number: p.played}
	kind := h.words.Say("live.input")
	return func() (_ *Assignment, err error) {
		a.Exercise, err = h.exercise(kind, max(0, h.lock-heardSeconds*audio.Rate), h.lock, clipped)
		return a, err
	}
}

// exercise is what came in between two frames.
func (h *Heard) exercise(kind string, from, to, clipped int64) (*drills.Exercise, error) {
	return drills.Listened(&source.Sound{Family: source.Own, Kind: kind, Channels: h.ear.Span(from, to), Raw: true}, h.rig, clipped)
}

// HeardTake is the answer: nothing is moved here.
func (a *Assignment) HeardTake() drills.Take {
	return drills.Take{LockAt: int64(a.Channels[0].Sound.Len())}
}

// Follow tells how the minute after the lock goes or, once it is over, went.
func (h *Heard) Follow() string {
	w := h.words
	if h.follow != "" {
		return h.follow
	}
	if left := h.lock + followSeconds*audio.Rate - h.ear.Count(); left > 0 {
		return w.Say("live.follow", int(math.Ceil(float64(left)/audio.Rate)))
	}
	if h.judged == nil {
		h.judged = make(chan func() string, 1)
		kind, clipped := w.Say("live.input"), h.ear.Clipped()-h.clips
		go func() { h.judged <- h.judgeFollow(kind, clipped) }()
	}
	select {
	case sentence := <-h.judged:
		h.follow = sentence()
		return h.follow
	default:
		return w.Say("live.follow", 0)
	}
}

// judgeFollow judges the minute after the lock and returns what makes the sentence on it.
func (h *Heard) judgeFollow(kind string, clipped int64) (sentence func() string) {
	w := h.words
	e, err := h.exercise(kind, h.lock, h.lock+followSeconds*audio.Rate, clipped)
	var v drills.Verdict
	if err == nil {
		v, err = e.Judge(drills.Take{LockAt: int64(e.Channels[0].Sound.Len())})
	}
	if err != nil {
		return func() string { return w.Say("live.followed_none", w.Fault(err)) }
	}
	return func() string {
		headline, _ := v.Sentences(w.VerdictWords())
		return w.Say("live.followed", w.Pointed(headline), w.Signed(e.Channels[0].ReadingVU, 1), w.Signed(v.HeadroomDB, 1))
	}
}

// Save writes what came in, from 12 seconds ahead of the lock on, where documents go,
// because it was asked for, and returns where that is.
func (h *Heard) Save() (string, error) {
	to := min(h.ear.Count(), h.lock+followSeconds*audio.Rate)
	x := h.ear.Span(max(0, h.lock-heardSeconds*audio.Rate), to)
	return store.WriteDocument("slowneedle-take-"+time.Now().Format("2006-01-02-150405")+".wav", wavfile.Bytes(audio.Rate, x))
}
