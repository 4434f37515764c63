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
	To      guide
	Session *practice.Session
	at      int // the chosen row
}

// guide is where the screen leads to.
type guide interface {
	scene.Guide
	Start()
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
		move := func(by int) func() { return func() { s.at = (s.at + by + n) % n } }
		acts = append(acts,
			hand.Action{ID: "up", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowUp}, Cap: "cap.up", Repeat: true, Do: move(-1)},
			hand.Action{ID: "down", KeysOnly: true, Keys: []ebiten.Key{ebiten.KeyArrowDown}, Cap: "cap.down", Label: s.Say("settings.choose"), Repeat: true, Do: move(1)},
			hand.Action{ID: "remove", Keys: []ebiten.Key{ebiten.KeyBackspace, ebiten.KeyDelete}, Cap: "cap.backspace", Label: s.Say("own.remove"), Do: func() { s.Session.Forget(s.at) }},
			hand.Action{ID: "empty", Keys: []ebiten.Key{ebiten.KeyX}, Cap: "cap.x", Label: s.Say("own.empty"), Do: s.Session.ForgetRecordings})
	}
	return append(acts, s.HelpAction(s.To), s.LeaveAction(s.To))
}

// practise begins a round on the recordings.
func (s *Scene) practise() {
	s.Session.Prefs.Change(func(p *store.Settings) { p.Family = source.Own })
	s.To.Start()
}

func (s *Scene) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	top := s.DrawHead(c, s.Say("own.title"), s.Say("own.sub"), "", "")
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-6)
	how := s.Say("home.drop")
	if page.Browser {
		how = s.Say("own.choose")
	}
	text := c.Block(how, place.W, draw.Style{Size: 17, Color: c.Theme.Dim})
	list := s.Session.Own.List
	if len(list) == 0 {
		c.Print(place.X, place.Y+text.Lead, text.Cut(place.H))
		return
	}
	h := math.Max(40*c.M.Text, c.M.Finger)
	if left := place.H - text.Height() - 16; left >= 3*h {
		foot, rest := place.CutBottom(text.Height() + 18)
		if s.Notice == "" { // it may stand there
			c.Print(foot.X, foot.Y+text.Lead, text)
		}
		place = rest
	}
	fit := max(1, int(place.H/h))
	first := max(0, min(s.at-fit/2, len(list)-fit)) // so that the chosen one is in sight
	for i, rec := range list[first:min(len(list), first+fit)] {
		s.drawRow(c, first+i, rec, draw.R(place.X, place.Y+h*float64(i), place.W, h))
	}
}

// drawRow is a recording: its name, and the folder that it is in.
func (s *Scene) drawRow(c *draw.Canvas, i int, rec *given.File, r draw.Rect) {
	name := draw.Style{Size: 18, Color: c.Theme.Ink, Bold: i == s.at}
	where := draw.Style{Size: 15, Color: c.Theme.Dim, Align: draw.Right}
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
	y := r.Y + r.H/2 + c.Size(name)*0.35
	used := math.Min(c.Width(rec.Name, name), r.W*0.62)
	c.Fit(r.X+14, y, used, rec.Name, name)
	if left := r.W - used - 60; left > 80*c.M.Text {
		c.Fit(r.Right()-14, y, left, folder, where)
	}
	s.Hit(c, "recording."+strconv.Itoa(i), rec.Name, r, func() { s.at = i })
}
