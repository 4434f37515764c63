package practice

import (
	"slices"

	"slowneedle/audio"
	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/game/store"
)

// Play is an assignment being played: where its controls stand, which of them
// is chosen, what has been answered, and a demonstration if one is shown. It is
// what the hands change and the screen shows.
type Play struct {
	A        *Assignment
	Desk     *desk.Desk
	Controls []control // on the screen, in their order
	Chosen   int       // the control that keys move
	Solo     int       // the channel heard alone, -1 for all
	number   float64
	Choice   int   // -1: none yet
	Demo     *demo // nil: none
}

// control is what a hand moves: one of the exercise's controls, or the number
// that it asks for.
type control struct {
	drills.Control
	Index int // in the exercise, and of its channel on the desk
}

// NewPlay makes a desk for an assignment.
func NewPlay(a *Assignment, set store.Settings) (*Play, error) {
	d, err := desk.New(a.DeskConfig(set))
	if err != nil {
		return nil, err
	}
	p := &Play{A: a, Desk: d, Solo: -1, Choice: -1, number: a.Ask.Min}
	if ask := a.Ask; ask.Number {
		p.Controls = []control{{Control: drills.Control{Unit: ask.Unit, Min: ask.Min, Max: ask.Max, Step: ask.Step}}}
		return p, nil
	}
	for i, c := range a.Controls {
		if !c.Fixed || a.View.PerChannel && !a.View.Procedure {
			p.Controls = append(p.Controls, control{c, i})
		}
	}
	p.Chosen = max(0, slices.IndexFunc(p.Controls, func(c control) bool { return !c.Fixed }))
	return p, nil
}

// Begin makes heard what is heard at the start.
func (p *Play) Begin() {
	switch {
	case p.A.ByEar():
		p.hear(0)
	case p.A.View.OneAtATime:
		p.hear(p.Controls[p.Chosen].Index)
	}
}

// hear chooses which channel is heard alone; -1 is all of them.
func (p *Play) hear(channel int) {
	p.Solo = channel
	p.Desk.SetListen(channel)
}

// Value is where a control stands.
func (p *Play) Value(i int) float64 {
	if p.A.Ask.Number {
		return p.number
	}
	return p.Desk.Fader(p.Controls[i].Index)
}

// Set moves a control as far as its range goes, in whole steps. It reports
// whether that moved it: in a demonstration nobody's hand does.
func (p *Play) Set(i int, v float64) bool {
	if i < 0 || i >= len(p.Controls) || p.Controls[i].Fixed || p.Demo != nil {
		return false
	}
	v = p.Controls[i].Settle(v)
	if v == p.Value(i) {
		return false
	}
	if p.A.Ask.Number {
		p.number = v
	} else {
		p.Desk.SetFader(p.Controls[i].Index, v)
	}
	return true
}

// Choices is how many controls, or answers, there are to go between.
func (p *Play) Choices() int {
	if n := len(p.A.Ask.Choices); n > 0 {
		return n
	}
	return len(p.Controls)
}

// Choose goes to another control or answer; past the last comes the first.
func (p *Play) Choose(i int) {
	n := p.Choices()
	if n == 0 || p.Demo != nil {
		return
	}
	i = (i%n + n) % n
	if len(p.A.Ask.Choices) > 0 {
		p.Choice = i
		if p.A.ByEar() {
			p.hear(i)
		}
		return
	}
	p.Chosen = i
	if p.A.View.OneAtATime || p.Solo >= 0 {
		p.hear(p.Controls[i].Index)
	}
}

// ToggleSolo hears the chosen channel alone, or all of them.
func (p *Play) ToggleSolo() {
	if p.Solo >= 0 {
		p.hear(-1)
	} else {
		p.hear(p.Controls[p.Chosen].Index)
	}
}

// Late reports whether the time allowed is over at a position.
func (p *Play) Late(at int64) bool {
	return p.A.Seconds > 0 && float64(at) >= p.A.Seconds*audio.Rate
}

// Missing is the word key of what must be done before the answer can be locked,
// empty if nothing. Once the time is over it is locked as it stands.
func (p *Play) Missing(t drills.Take, at int64) string {
	switch {
	case p.Late(at):
	case len(p.A.Ask.Choices) > 0 && p.Choice < 0:
		return "round.choose_first"
	case len(p.A.Free()) > 0 && len(t.Moves) == 0: // the key that was to pass the card, perhaps
		return "round.move_first"
	}
	return ""
}

// Take is the answer as it stands: what has been asked of the faders counts,
// even what the sound has not reached yet.
func (p *Play) Take() drills.Take {
	t := drills.Take{LockAt: p.Desk.Position(), Moves: p.Desk.Moves()}
	last := map[int]float64{}
	for _, m := range t.Moves {
		t.LockAt = max(t.LockAt, m.At)
		last[m.Control] = m.To
	}
	for _, i := range p.A.Free() {
		was, moved := last[i]
		if !moved {
			was = p.A.Controls[i].Start
		}
		if now := p.Desk.Fader(i); now != was {
			t.Moves = append(t.Moves, drills.Move{At: t.LockAt, Control: i, To: now})
		}
	}
	if p.A.Ask.Number {
		n := p.number
		t.Number = &n
	} else if len(p.A.Ask.Choices) > 0 {
		c := max(0, p.Choice)
		t.Choice = &c
	}
	return t
}

// demo is a take that is right, played in the learner's place.
type demo struct {
	take drills.Take
	next int // of its moves
	Over bool
}

// ShowMe begins a demonstration.
func (p *Play) ShowMe() { p.Demo = &demo{take: p.A.ShowMe()} }

// ShowStep moves the controls as the sound reaches the demonstration's moves; at
// is the position that is heard. It reports whether another control was chosen
// or the demonstration ended.
func (p *Play) ShowStep(at int64) (changed bool) {
	d, pos := p.Demo, p.Desk.Position()
	for ; d.next < len(d.take.Moves) && d.take.Moves[d.next].At <= pos; d.next++ {
		m := d.take.Moves[d.next]
		p.Desk.SetFader(m.Control, m.To)
		i := slices.IndexFunc(p.Controls, func(c control) bool { return c.Index == m.Control })
		if i >= 0 && i != p.Chosen {
			p.Chosen, changed = i, true
			if p.A.View.OneAtATime {
				p.hear(m.Control)
			}
		}
	}
	if d.Over {
		return changed
	}
	if at < d.take.LockAt {
		if turn := int(max(at, 0)/(3*audio.Rate)) % len(p.A.Channels); p.A.ByEar() && turn != p.Solo { // each for three seconds
			p.hear(turn)
			changed = true
		}
		return changed
	}
	d.Over = true
	if d.take.Number != nil {
		p.number = *d.take.Number
	}
	if d.take.Choice != nil {
		p.Choice = *d.take.Choice
		if p.A.ByEar() {
			p.hear(p.Choice)
		}
	}
	return true
}
