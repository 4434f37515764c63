package series

import (
	"math"
	"sync"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/audio/listen"
	"slowneedle/audio/returns"
	"slowneedle/audio/said"
	"slowneedle/audio/source"
	"slowneedle/drills"
)

// Live plays a series into a real desk and measures what comes back while it does.
//
// First the line-up tone goes out until it comes back steadily; from then on the
// level at which the series goes out must stay. Ahead of each round a short sweep
// goes out, by which it is known how long the way through output, desk and input
// takes; then the pause in which the noise is measured, and the round, over and over
// until it is locked.
//
// Time is counted in frames that went out and in frames that came in: as long as
// neither stream has a gap, one lies a fixed number of frames behind the other.
//
// Pull belongs to the sound device; the other methods to one goroutine.
type Live struct {
	plan Plan
	ear  *listen.Ear
	line *returns.Line // nil: the tone does not come back steadily
	cue  []float32

	round    *drills.Exercise // that is being played; nil: the tone is
	cueAt    int64            // where the cue of the round went out
	heardAt  int64            // frames that had come in by then
	behind   int64            // by how many frames what comes in lies behind what went out, once known
	known    bool
	looked   int64 // frames that had come in when the tone was looked at last
	latency  float64
	troubled bool // the last cue did not come back

	mu      sync.Mutex
	out     int64 // frames that went out
	now     segment
	next    segment // begins where now ends
	old     segment // fades out
	oldLeft int
	gain    float64 // of the level at which all goes out, as it is
	want    float64 // as it will be
}

// segment is what goes out from a frame on: once, or over and over.
type segment struct {
	sides [][]float32
	gain  float64
	from  int64
	once  bool
}

// How a live series goes out (our own).
const (
	cueQuiet   = 0.25 // seconds before the sweep
	cueSeconds = 0.4
	cuePause   = 1.5             // seconds after it
	cueBelow   = 6.0             // dB below the tone
	cueAlike   = 0.5             // of the waveform that must come back
	fadeFrames = audio.Rate / 50 // out of what is left
	lineUpFor  = 3.0             // seconds over which the tone must hold
	liveWindow = 12.0            // seconds that are judged
	leastLive  = 3.0             // seconds
	rampFrames = audio.Rate / 10 // of the level, from nothing to all
	liveFade   = audio.Rate / 2  // into tone and rounds
	lookEvery  = audio.Rate / 4  // frames
)

// KeepSeconds is how many of the last seconds the ear of a live series must keep.
const KeepSeconds = liveWindow + 4 + 2

// NewLive begins a live series with the line-up tone. What comes back goes to an ear
// that keeps KeepSeconds or more. It goes out at a level in dB below full scale, as a monitor
// control has it. Each round goes on until it is locked, so that its sound is a loop and
// the plan's RoundSeconds do not count.
func NewLive(p Plan, ear *listen.Ear, sendDB float64) *Live {
	p.RoundSeconds = 0
	l := &Live{plan: p, ear: ear, cue: cue(p.Rig.ReferenceDBFS)}
	l.SetSend(sendDB)
	l.LineUp()
	return l
}

// cue is silence, a sweep from 200 Hz to 4 kHz, and silence.
func cue(reference float64) []float32 {
	x := make([]float32, int((cueQuiet+cueSeconds+cuePause)*audio.Rate))
	const n = cueSeconds * audio.Rate
	phase := 0.0
	for i := range int(n) {
		t := float64(i) / n
		phase += 2 * math.Pi * 200 * math.Pow(20, t) / audio.Rate
		x[int(cueQuiet*audio.Rate)+i] = float32(audio.Gain(reference-cueBelow) * math.Sin(phase) * math.Sqrt(math.Sin(math.Pi*t)))
	}
	return x
}

// SetSend sets the level at which all goes out, in dB, within the travel of a
// monitor control.
func (l *Live) SetSend(db float64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.want = audio.Gain(min(max(db, desk.MonitorMin), desk.MonitorMax))
}

// LineUp plays the tone, to be brought to 0 VU on the desk.
func (l *Live) LineUp() {
	l.round, l.line, l.looked = nil, nil, l.ear.Count()
	l.play(segment{sides: source.LineUp(l.plan.Rig.ReferenceDBFS).Channels, gain: 1}, segment{})
}

// play lets go of what goes out and begins with something else.
func (l *Live) play(now, next segment) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.old, l.oldLeft = l.now, fadeFrames
	now.from = l.out
	l.now, l.next = now, next
}

// Silence lets nothing go out.
func (l *Live) Silence() { l.play(segment{}, segment{}) }

// Position is how many frames went out.
func (l *Live) Position() int64 {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.out
}

// Pull fills out with what goes out, interleaved.
func (l *Live) Pull(out []float32) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i := 0; i+1 < len(out); i += 2 {
		if n := len(l.now.sides); n > 0 && l.now.once && l.out-l.now.from >= int64(len(l.now.sides[0])) {
			l.now = l.next
			l.now.from = l.out
		}
		switch step := 1.0 / rampFrames; {
		case l.gain < l.want:
			l.gain = min(l.want, l.gain+step)
		default:
			l.gain = max(l.want, l.gain-step)
		}
		fade := float64(l.oldLeft) / fadeFrames
		for ch := range 2 {
			v := l.now.at(ch, l.out)
			if l.oldLeft > 0 {
				v += fade * l.old.at(ch, l.out)
			}
			out[i+ch] = float32(min(max(v*l.gain, -desk.Ceiling), desk.Ceiling))
		}
		l.oldLeft = max(0, l.oldLeft-1)
		l.out++
	}
}

// at is a sample of a segment, faded in if it goes on for ever.
func (s segment) at(ch int, frame int64) float64 {
	if len(s.sides) == 0 {
		return 0
	}
	x := s.sides[min(ch, len(s.sides)-1)]
	n := frame - s.from
	if s.once {
		if n >= int64(len(x)) {
			return 0
		}
		return s.gain * float64(x[n])
	}
	return s.gain * min(1, float64(n)/liveFade) * float64(x[n%int64(len(x))])
}

// Update looks at what has come back since.
func (l *Live) Update() {
	count := l.ear.Count()
	switch {
	case l.round == nil && count-l.looked >= lookEvery:
		if l.looked = count; count >= lineUpFor*audio.Rate {
			l.line, _ = returns.LineUp(l.ear.Span(count-lineUpFor*audio.Rate, count), toneHertz, l.plan.Rig.ReferenceDBFS)
		}
	case l.round != nil && !l.known && count >= l.heardAt+int64((cueQuiet+cueSeconds+cuePause+0.7)*audio.Rate):
		l.findCue(count)
	}
}

// findCue looks for the cue in what came back, and measures the noise behind it.
func (l *Live) findCue(count int64) {
	sweep := l.cue[int(cueQuiet*audio.Rate):int((cueQuiet+cueSeconds)*audio.Rate)]
	at, alike := l.line.Find(sweep, l.ear.Span(l.heardAt, count))
	if alike < cueAlike {
		l.troubled = true
		l.LineUp()
		return
	}
	arrived := l.heardAt + int64(at)
	l.behind, l.known, l.troubled = arrived-l.cueAt-int64(cueQuiet*audio.Rate), true, false
	l.latency = float64(at)/audio.Rate - cueQuiet
	const margin = 0.2 // seconds kept from what sounds
	from := arrived + int64((cueSeconds+margin)*audio.Rate)
	l.line.Quiet(l.ear.Span(from, from+int64((cuePause-2*margin)*audio.Rate)))
}

// Steady reports whether the tone comes back steadily.
func (l *Live) Steady() bool { return l.line != nil }

// Lost reports whether the last sweep did not come back, so that the desk must be
// lined up again.
func (l *Live) Lost() bool { return l.troubled }

// Reference is the level in dBFS that 0 VU stands for in what comes back: that of the
// tone or, until it is steady, at which it was sent.
func (l *Live) Reference() float64 {
	if l.line == nil {
		return l.plan.Rig.ReferenceDBFS
	}
	return l.line.Tone.LevelDBFS
}

// Latency is how long the way through output, desk and input takes, in seconds; 0
// while it is not known. It is taken out of what is judged.
func (l *Live) Latency() float64 { return l.latency }

// Playing reports whether a round, or the sweep ahead of it, goes out.
func (l *Live) Playing() bool { return l.round != nil }

// Known reports whether the round is being played and its way is known.
func (l *Live) Known() bool { return l.round != nil && l.known }

// Begin plays round i, from 0, once the tone has come back steadily. It returns the
// exercise.
func (l *Live) Begin(i int) (*drills.Exercise, error) {
	e, err := l.plan.round(i)
	if err != nil {
		return nil, err
	}
	l.round, l.known = e, false
	s := e.Channels[0]
	l.ear.SetLamp(e.Rig.LampDBFS - e.Rig.ReferenceDBFS + l.Reference())
	l.heardAt = l.ear.Count()
	l.play(segment{sides: [][]float32{l.cue}, gain: 1, once: true},
		segment{sides: s.Sound.Channels, gain: audio.Gain(s.StartGainDB)})
	l.mu.Lock()
	l.cueAt = l.now.from
	l.mu.Unlock()
	return e, nil
}

// Lock judges the round over its last 12 seconds, as far as they have come back. The
// error tells in one sentence why it cannot be judged yet.
func (l *Live) Lock() (JudgedRound, error) {
	soon := said.Errorf("live.soon", "listen for a little longer: at least %d seconds of the round must have come back", int(leastLive))
	if !l.Known() {
		return JudgedRound{}, soon
	}
	l.mu.Lock()
	now := l.now
	l.mu.Unlock()
	to := l.ear.Count() - l.behind - int64(2*returns.Reach*audio.Rate)
	if now.once || len(now.sides) == 0 || to-now.from-liveFade < leastLive*audio.Rate {
		return JudgedRound{}, soon
	}
	l.behind += l.slipped(now, to)
	// Where a stream had a gap within the window, less of the waveform is what went out
	// than in a shorter one that is whole.
	const clearly = 0.03
	got := returns.Round{ChangeDB: math.NaN()}
	for seconds := liveWindow; seconds >= leastLive; seconds /= 2 {
		from := max(now.from+liveFade, to-int64(seconds*audio.Rate))
		reach := int64(returns.Reach * audio.Rate)
		part := l.line.Round(now.stretch(from, to), l.ear.Span(from+l.behind-reach, to+l.behind+2*reach))
		if math.IsNaN(got.ChangeDB) || !math.IsNaN(part.ChangeDB) && part.Confidence > got.Confidence+clearly {
			got = part
		}
	}
	if math.IsNaN(got.ChangeDB) {
		return JudgedRound{}, said.Errorf("live.moving", "its level has not held for two seconds yet; leave it alone for a moment, then lock")
	}
	r, err := judge(l.round, got, l.line.Tone.LevelDBFS)
	r.Number, r.Kind = l.round.Index-l.plan.Index+1, l.round.Channels[0].Sound.Kind
	return r, err
}

// slipped is by how many frames what comes back lies farther behind, just before a
// frame that went out, than the sweep told.
func (l *Live) slipped(now segment, to int64) int64 {
	const (
		look = 2 * audio.Rate
		most = audio.Rate / 2
	)
	sent := now.stretch(to-look, to)
	back := l.ear.Span(to-look+l.behind-most, to+l.behind+most)
	return int64(l.line.Shift(sent[min(l.line.Side, len(sent)-1)], back, most) - most)
}

// stretch is what goes out between two frames.
func (s segment) stretch(from, to int64) [][]float32 {
	sides := make([][]float32, len(s.sides))
	for ch := range sides {
		for at := from; at < to; at++ {
			sides[ch] = append(sides[ch], float32(s.at(ch, at)))
		}
	}
	return sides
}

// LineUpTone is the tone as it came back.
func (l *Live) LineUpTone() JudgedLineUp {
	if l.line == nil {
		return JudgedLineUp{}
	}
	return lineUpOf(l.line.Tone)
}
