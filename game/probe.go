package game

import (
	"encoding/json"
	"io"
	"os"
	"time"

	"slowneedle/game/draw"
	"slowneedle/game/widget"
)

// probe writes what happens on the screen as JSON lines, for tests that drive
// the window from outside. A nil probe writes nothing.
type probe struct {
	f      io.Writer
	start  time.Time
	paced  time.Time
	frames int
	spent  time.Duration
	held   bool
}

// openProbe appends to a file, or writes to the standard output for "-", which
// a browser has in its console; an empty name or a file that cannot be opened
// gives no probe.
func openProbe(path string) *probe {
	switch path {
	case "":
		return nil
	case "-":
		return &probe{f: os.Stdout, start: time.Now()}
	}
	f, err := os.OpenFile(path, os.O_CREATE|os.O_WRONLY|os.O_APPEND, 0o644)
	if err != nil {
		return nil
	}
	return &probe{f: f, start: time.Now()}
}

// pace notes once a second how many frames have been drawn,
// and how long the program took over each, in microseconds.
func (p *probe) pace(frames int, scene string, took time.Duration) {
	if p == nil {
		return
	}
	p.spent += took
	if time.Since(p.paced) < time.Second {
		return
	}
	each := float64(p.spent.Microseconds()) / float64(max(1, frames-p.frames))
	p.paced, p.frames, p.spent = time.Now(), frames, 0
	p.note("pace", map[string]any{"frames": frames, "scene": scene, "each_us": each})
}

// hands notes when the last key and button have been released.
func (p *probe) hands(held bool) {
	if p == nil {
		return
	}
	if p.held && !held {
		p.note("idle", nil)
	}
	p.held = held
}

// layout tells of the screen that stands: where its controls are, what is
// written on it where and how large, in points, and which control has the focus.
func (p *probe) layout(scene string, s *widget.Screen, scale float64) {
	if p == nil {
		return
	}
	k := s.M.Unit / scale
	places, texts := map[string][4]float64{}, [][]any{}
	for _, it := range s.Picture.Items {
		at := it.Place
		if it.Role == draw.RoleText {
			texts = append(texts, []any{it.Label, at.X * k, at.Y * k, at.W * k, at.H * k, it.Size * k})
		} else {
			places[it.Name] = [4]float64{at.X * k, at.Y * k, at.W * k, at.H * k}
		}
	}
	p.note("screen", map[string]any{"scene": scene, "places": places, "texts": texts, "small": s.M.TooSmall, "focus": s.Areas.Focus})
}

// note writes one event with its fields.
func (p *probe) note(event string, fields map[string]any) {
	if p == nil {
		return
	}
	if fields == nil {
		fields = map[string]any{}
	}
	fields["event"] = event
	fields["ms"] = time.Since(p.start).Milliseconds()
	line, err := json.Marshal(fields)
	if err != nil {
		line, _ = json.Marshal(map[string]any{"event": event, "error": err.Error()})
	}
	_, _ = p.f.Write(append(line, '\n'))
}
