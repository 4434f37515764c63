// Package recordings is the screen of the learner's own recordings.
package recordings

import (
	"math"
	"path/filepath"
	"strconv"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/source"
	"slowneedle/game/draw"
	"slowneedle/game/given"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Scene lists the recordings that rounds can be made from, and empties the list.
type Scene struct {
	scene.Base
	scene.Nothing
	Session *practice.Session
	at      int  // the chosen row
	paged   bool // there is no room for all rows
	next    int  // the first row of the next page
}

func (s *Scene) Name() string { return "recordings" }

func (s *Scene) Actions() []hand.Action {
	var acts []hand.Action
	n := len(s.Session.Own.List)
	s.at = max(0, min(s.at, n-1))
	if n > 0 {
		acts = append(acts, hand.Action{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: s.Say("own.practise"), Do: s.practise})
	}
	if page.Browser {
		acts = append(acts, hand.Action{ID: "add", Keys: []ebiten.Key{ebiten.KeyA}, Cap: "cap.a", Label: s.Say("own.add"), Do: s.Session.Choose})
	}
	if n > 0 {
		if s.paged {
			acts = append(acts, s.MoreAction(func() { s.at = s.next % n }))
		}
		acts = append(acts, s.MoveActions(n, s.at, func(i int) { s.at = i })...)
		acts = append(acts,
			hand.Action{ID: "remove", Keys: []ebiten.Key{ebiten.KeyBackspace, ebiten.KeyDelete}, Cap: "cap.backspace", Label: s.Say("own.remove"), Do: func() { s.Session.Forget(s.at) }},
			hand.Action{ID: "empty", Keys: []ebiten.Key{ebiten.KeyX}, Cap: "cap.x", Label: s.Say("own.empty"), Do: s.Session.ForgetRecordings})
	}
	return append(acts, s.HelpAction(), s.LeaveAction())
}

// practise begins a round on the recordings.
func (s *Scene) practise() {
	s.Session.Prefs.Change(func(p *store.Settings) { p.Family = source.Own })
	s.To.Start()
}

func (s *Scene) Draw(c *draw.Canvas) {
	top := s.DrawHead(c, s.Say("own.title"), s.Say("own.sub"), "", "")
	how := s.Say("home.drop")
	if page.Browser {
		how = s.Say("own.choose")
	}
	text := c.Block(how, c.M.W-2*draw.Margin, draw.Style{Size: 17, Color: c.Theme.Dim})
	h, list := math.Max(40*c.M.Text, c.M.Finger*1.2), s.Session.Own.List
	layout := func(bar float64) (foot, rows draw.Rect, fit int) {
		rows = draw.R(draw.Margin, top, text.W, bar-top-6)
		if len(list) > 0 && rows.H-text.Height()-18 >= 3*h {
			foot, rows = rows.CutBottom(text.Height() + 18)
		}
		return foot, rows, max(1, int(rows.H/h))
	}
	s.paged = false
	_, _, fit := layout(s.BarTop(c, s.Actions()))
	s.paged = fit < len(list)
	foot, rows, fit := layout(s.DrawBar(c, s.Actions()))
	if len(list) == 0 {
		s.DrawEmpty(c, top, rows.Bottom(), how)
		return
	}
	if foot.H > 0 && s.Notice == "" { // it may stand there
		c.Print(foot.X, foot.Y+text.Lead, text)
	}
	first, next := widget.PageOf(len(list), fit, s.at)
	s.next = next
	for i, rec := range list[first:next] {
		s.drawRow(c, first+i, rec, draw.R(rows.X, rows.Y+h*float64(i), rows.W, h))
	}
}

// drawRow is a recording: its name, and the folder that it is in, beside it or, where
// there is little width, under it.
func (s *Scene) drawRow(c *draw.Canvas, i int, rec *given.File, r draw.Rect) {
	name := draw.Style{Size: 18, Color: c.Theme.Ink, Bold: i == s.at}
	where := draw.Style{Size: 14, Color: c.Theme.Dim}
	if i == s.at {
		widget.MarkRow(c, r)
	}
	c.Rule(r.X, r.Right(), r.Bottom(), 1, c.Theme.Faint)
	folder := s.Say("own.this_visit")
	switch {
	case !rec.Found():
		folder, where.Color = s.Say("own.not_found"), c.Theme.Brick
	case rec.Path != "":
		folder = filepath.Dir(rec.Path)
	}
	in, y := r.Inset(14, 0), r.Y+r.H/2+c.Size(name)*0.35
	if c.M.Portrait {
		name.Size = 16
		y = r.Y + r.H*0.42
		c.Text(in.X, r.Y+r.H*0.82, c.Clip(in.W, folder, where), where)
	} else {
		in.W *= 0.62
		where.Align = draw.Right
		c.Text(r.Right()-14, y, c.Clip(r.W*0.38-60, folder, where), where)
	}
	c.Text(in.X, y, c.Clip(in.W, rec.Name, name), name)
	s.Hit(c, "recording."+strconv.Itoa(i), rec.Name, r, func() { s.at = i })
}
