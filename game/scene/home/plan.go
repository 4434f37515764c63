package home

import (
	"slices"
	"time"

	"slowneedle/audio/source"
	"slowneedle/drills/progress"
	"slowneedle/game/draw"
)

// plan is what comes in the practice that is due, drill by drill with the step of each
// source, or the recordings that rounds are made from; and how the last practice went.
func (s *Scene) plan(c *draw.Canvas, w float64) []draw.Part {
	name, dim := draw.Style{Size: 20, Color: c.Theme.Ink, Bold: true}, draw.Style{Size: 15, Color: c.Theme.Dim}
	value := draw.Style{Size: 15, Color: c.Theme.Ink, Align: draw.Right}
	line := func(left string, st draw.Style, right string, above float64, drop int) draw.Part {
		return draw.Part{High: c.Lead(st), Above: above, Drop: drop, Loose: drop == 0, Draw: func(r draw.Rect) {
			l, room := c.Share(r.W-12, left, st, right, value)
			c.Fit(r.X, r.Y+c.Size(st), l, left, st)
			c.Fit(r.Right(), r.Y+c.Size(st), room, right, value)
			if drop > 0 {
				c.Rule(r.X, r.Right(), r.Bottom(), 1, c.Theme.Faint)
			}
		}}
	}
	if s.Prefs.Family == source.Own {
		parts := []draw.Part{line(s.Say("own.title"), dim, "", 0, 0)}
		for _, rec := range s.Session.Own.List {
			parts = append(parts, line(rec.Name, draw.Style{Size: 17, Color: c.Theme.Ink}, "", 8, 2))
		}
		return append(parts, s.last(c, 4)...)
	}
	r := s.Session.Records
	parts := []draw.Part{c.TextPart(c.Block(s.Say("home.plan"), w, dim), 0, 1)}
	var ids []string
	families, rounds := map[string][]source.Family{}, map[string]int{}
	for _, t := range r.Due().Ahead {
		if rounds[t.Drill]++; rounds[t.Drill] == 1 {
			ids = append(ids, t.Drill)
		}
		if !slices.Contains(families[t.Drill], t.Family) {
			families[t.Drill] = append(families[t.Drill], t.Family)
		}
	}
	for _, id := range ids {
		parts = append(parts, line(s.DrillName(id), name, s.Say("home.plan_rounds", rounds[id]), 12, 0), c.TextPart(c.Block(s.Explain(id), w, dim), 2, 5))
		for _, f := range families[id] {
			step := r.Book.Ladder(progress.Key{Drill: id, Family: f}, time.Now()).Now()
			parts = append(parts, line(s.Say("family."+string(f)), dim, s.Say("home.step", step), 5, 3))
		}
	}
	return append(parts, s.last(c, 4)...)
}
