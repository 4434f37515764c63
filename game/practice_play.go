package game

import (
	"math"
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
)

// play is an assignment being played: where its controls stand, which of them
// is chosen, what has been answered, and a demonstration if one is shown. It is
// what the hands change and the screen shows.
type play struct {
	a        *assignment
	desk     *desk.Desk
	controls []control // on the screen, in their order
	chosen   int       // the control that keys move
	solo     int       // the channel heard alone, -1 for all
	number   float64
	choice   int   // -1: none yet
	demo     *demo // nil: none
}

// control is what a hand moves: one of the exercise's controls, or the number
// that it asks for.
type control struct {
	drills.Control
	index int // in the exercise, and of its channel on the desk
}

// newPlay makes a desk for an assignment.
func newPlay(a *assignment, set settings) (*play, error) {
	d, err := desk.New(a.deskConfig(set))
	if err != nil {
		return nil, err
	}
	p := &play{a: a, desk: d, solo: -1, choice: -1, number: a.Ask.Min}
	if ask := a.Ask; ask.Number {
		p.controls = []control{{Control: drills.Control{Unit: ask.Unit, Min: ask.Min, Max: ask.Max, Step: ask.Step}}}
		return p, nil
	}
	for i, c := range a.Controls {
		if !c.Fixed || a.View.PerChannel {
			p.controls = append(p.controls, control{c, i})
		}
	}
	p.chosen = max(0, slices.IndexFunc(p.controls, func(c control) bool { return !c.Fixed }))
	return p, nil
}

// begin makes heard what is heard at the start.
func (p *play) begin() {
	if p.a.View.OneAtATime {
		p.hear(p.controls[p.chosen].index)
	}
}

// hear chooses which channel is heard alone; -1 is all of them.
func (p *play) hear(channel int) {
	p.solo = channel
	p.desk.SetListen(channel)
}

// value is where a control stands.
func (p *play) value(i int) float64 {
	if p.a.Ask.Number {
		return p.number
	}
	return p.desk.Fader(p.controls[i].index)
}

// set moves a control as far as its range goes, in whole steps. It reports
// whether that moved it: in a demonstration nobody's hand does.
func (p *play) set(i int, v float64) bool {
	if i < 0 || i >= len(p.controls) || p.controls[i].Fixed || p.demo != nil {
		return false
	}
	v = p.controls[i].clamp(v)
	if v == p.value(i) {
		return false
	}
	if p.a.Ask.Number {
		p.number = v
	} else {
		p.desk.SetFader(p.controls[i].index, v)
	}
	return true
}

// clamp brings a setting into the control's range and to a whole step.
func (c control) clamp(v float64) float64 {
	steps := math.Round(1 / c.Step)
	return math.Max(c.Min, math.Min(c.Max, math.Round(v*steps)/steps))
}

// choices is how many controls, or answers, there are to go between.
func (p *play) choices() int {
	if n := len(p.a.Ask.Choices); n > 0 {
		return n
	}
	return len(p.controls)
}

// choose goes to another control or answer; past the last comes the first.
func (p *play) choose(i int) {
	n := p.choices()
	if n == 0 || p.demo != nil {
		return
	}
	i = (i%n + n) % n
	if len(p.a.Ask.Choices) > 0 {
		p.choice = i
		return
	}
	p.chosen = i
	if p.a.View.OneAtATime || p.solo >= 0 {
		p.hear(p.controls[i].index)
	}
}

// toggleSolo hears the chosen channel alone, or all of them.
func (p *play) toggleSolo() {
	if p.solo >= 0 {
		p.hear(-1)
	} else {
		p.hear(p.controls[p.chosen].index)
	}
}

// late reports whether the time allowed is over at a position.
func (p *play) late(at int64) bool {
	return p.a.Seconds > 0 && float64(at) >= p.a.Seconds*audio.Rate
}

// missing is the word key of what must be done before the answer can be locked,
// empty if nothing. Once the time is over it is locked as it stands.
func (p *play) missing(t drills.Take, at int64) string {
	switch {
	case p.late(at):
	case len(p.a.Ask.Choices) > 0 && p.choice < 0:
		return "round.choose_first"
	case len(p.a.free()) > 0 && len(t.Moves) == 0: // the key that was to pass the card, perhaps
		return "round.move_first"
	}
	return ""
}

// take is the answer as it stands: what has been asked of the faders counts,
// even what the sound has not reached yet.
func (p *play) take() drills.Take {
	t := drills.Take{LockAt: p.desk.Position(), Moves: drills.MovesOf(p.desk.Moves())}
	last := map[int]float64{}
	for _, m := range t.Moves {
		t.LockAt = max(t.LockAt, m.At)
		last[m.Control] = m.To
	}
	for _, i := range p.a.free() {
		was, moved := last[i]
		if !moved {
			was = p.a.Controls[i].Start
		}
		if now := p.desk.Fader(i); now != was {
			t.Moves = append(t.Moves, drills.Move{At: t.LockAt, Control: i, To: now})
		}
	}
	if p.a.Ask.Number {
		n := p.number
		t.Number = &n
	} else if len(p.a.Ask.Choices) > 0 {
		c := max(0, p.choice)
		t.Choice = &c
	}
	return t
}

// demo is a take that is right, played in the learner's place.
type demo struct {
	take drills.Take
	next int // of its moves
	over bool
}

// showMe begins a demonstration.
func (p *play) showMe() { p.demo = &demo{take: p.a.ShowMe()} }

// showStep moves the controls as the sound reaches the demonstration's moves; at
// is the position that is heard. It reports whether another control was chosen
// or the demonstration ended.
func (p *play) showStep(at int64) (changed bool) {
	d, pos := p.demo, p.desk.Position()
	for ; d.next < len(d.take.Moves) && d.take.Moves[d.next].At <= pos; d.next++ {
		m := d.take.Moves[d.next]
		p.desk.SetFader(m.Control, m.To)
		i := slices.IndexFunc(p.controls, func(c control) bool { return c.index == m.Control })
		if i >= 0 && i != p.chosen {
			p.chosen, changed = i, true
			if p.a.View.OneAtATime {
				p.hear(m.Control)
			}
		}
	}
	if d.over || at < d.take.LockAt {
		return changed
	}
	d.over = true
	if d.take.Number != nil {
		p.number = *d.take.Number
	}
	if d.take.Choice != nil {
		p.choice = *d.take.Choice
	}
	return true
}
