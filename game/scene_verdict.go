package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/desk"
	"slowneedle/drills"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// verdictScene says how a take went, and lets it be heard against the aim.
type verdictScene struct {
	job     *job
	take    drills.Take
	parts   []drills.Part
	verdict drills.Verdict
	past    history
	loops   chan loops // the two loops to compare, once rendered
	compare *desk.Compare
	wanted  int // what is heard: hearNothing, hearAim, hearTake
}

const (
	hearAim = iota
	hearTake
	hearNothing
)

// loops are the two recordings to compare, and what the medium did to the take.
type loops struct {
	aim, take [2][]float32
	err       error
}

func newVerdictScene(g *Game, s *playScene, t drills.Take, v drills.Verdict) *verdictScene {
	vs := &verdictScene{job: s.job, take: t, verdict: v, parts: s.job.parts(t), past: s.past, loops: make(chan loops, 1), wanted: hearNothing}
	if vs.comparable() {
		go func(set settings) { vs.loops <- renderLoops(s.job, t, set) }(g.set)
	}
	return vs
}

// comparable says whether the take can be heard beside the right setting.
func (s *verdictScene) comparable() bool {
	return s.job.hasScale() || len(s.parts) > 1
}

// renderLoops makes the two loops to compare. Where one sound was recorded, the
// take is brought to the loudness of the aim's, so that only the damage differs:
// hiss, grit, clipping.
func renderLoops(j *job, t drills.Take, set settings) (l loops) {
	render := func(fader func(i int, st drills.Strip) float64) ([2][]float32, error) {
		cfg := j.desk(set)
		for i, st := range j.strips() {
			if !st.Fixed {
				cfg.Channels[i].FaderDB = desk.FaderStep(fader(i, st))
			}
		}
		return desk.RenderLoop(cfg)
	}
	if l.aim, l.err = render(func(_ int, st drills.Strip) float64 { return st.AimDB }); l.err == nil {
		l.take, l.err = render(func(i int, _ drills.Strip) float64 { return j.ex.Setting(t, i) })
	}
	if l.err == nil && j.ex.Drill.Records {
		l.take = desk.Amplify(l.take, desk.Match(l.take, l.aim))
	}
	return l
}

func (*verdictScene) name() string { return "verdict" }

func (s *verdictScene) actions(g *Game) []action {
	next, label := s.job.after(g)
	acts := []action{{id: "enter", keys: enterKeys, cap: "cap.enter", label: label, do: next}}
	if s.comparable() {
		acts = append(acts,
			action{id: "aim", keys: []ebiten.Key{ebiten.KeyA}, cap: "cap.a", label: g.Say("verdict.hear_aim"), do: func(g *Game) { s.want(g, hearAim) }},
			action{id: "take", keys: []ebiten.Key{ebiten.KeyT}, cap: "cap.t", label: g.Say("verdict.hear_take"), do: func(g *Game) { s.want(g, hearTake) }},
			action{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: g.Say("verdict.quiet"), do: func(g *Game) { s.want(g, hearNothing) }})
	}
	if s.job.series != nil || s.job.room {
		return append(acts, helpAction(g), leaveAction(g))
	}
	return append(acts,
		action{id: "need", keys: []ebiten.Key{ebiten.KeyN}, cap: "cap.n", label: g.Say("verdict.need"), do: startNeeded},
		action{id: "progress", keys: []ebiten.Key{ebiten.KeyP}, cap: "cap.p", label: g.Say("home.progress"), do: func(g *Game) { g.show(&progressScene{}) }},
		helpAction(g), leaveAction(g))
}

// want asks for one of the two loops, or for quiet.
func (s *verdictScene) want(g *Game, what int) {
	s.wanted = what
	g.dirty = true
	if what == hearNothing {
		g.out.Stop()
		s.compare = nil
		return
	}
	s.play(g)
}

// play starts or switches the comparison, as soon as it has been rendered.
func (s *verdictScene) play(g *Game) {
	if s.wanted == hearNothing {
		return
	}
	if s.compare != nil {
		s.compare.Switch(s.wanted)
		return
	}
	select {
	case l := <-s.loops:
		s.loops <- l // kept for the next time
		if l.err != nil {
			s.wanted = hearNothing
			g.tell(g.Say("round.failed", g.Fault(l.err)))
			return
		}
		s.compare = desk.NewCompare(l.aim, l.take, g.set.MonitorDB)
		s.compare.Switch(s.wanted)
		g.out.Pause(false)
		g.out.Start(s.compare)
		g.probe.note("compare", map[string]any{"heard": s.wanted})
	default:
	}
}

func (s *verdictScene) update(g *Game) {
	if s.compare == nil {
		s.play(g)
	}
}

func (s *verdictScene) leave(g *Game) { g.out.Stop() }

func (s *verdictScene) draw(g *Game, c *draw.Canvas) {
	v, rig, th := s.verdict, s.job.rig(), c.Theme
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.DrillName(s.job.drill()), s.job.where(g.Speech, true),
		g.Say("verdict.points", v.Points), g.RigTitle(rig)+" · "+g.RigLine(rig))

	headline, reason := v.Sentences(g.VerdictWords())
	headline, reason = g.Pointed(headline), g.Pointed(reason)
	numbers := 190 + 60*c.M.Text
	w := c.M.W - 2*draw.Margin
	column := c.M.Text > 1.3 && !c.M.Portrait // large text: the figures take the whole height at the side
	if c.M.Landscape && bar-top < 1.45*c.M.Least*float64(len(s.figures(g, c))) {
		numbers = 2*numbers - 60 // two columns of them
	}
	if column {
		numbers += 30
		w -= numbers + 44
	}
	big := 44.0 / math.Sqrt(c.M.Text)
	y := top + 8 + big*c.M.Text*0.9
	c.Fit(draw.Margin, y, w, headline, draw.Style{Size: big, Color: tone(c, v.InWindow, true), Bold: true})
	st := draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink}
	y = c.Para(draw.Margin, y+10+26*c.M.Text, w, reason, st)
	if sol := g.Put(s.job.ex.Solution); !s.job.hasScale() {
		y = c.Para(draw.Margin, y+2, w, sol, draw.Style{Size: 16 / math.Sqrt(c.M.Text), Color: th.Dim})
	}

	left := draw.R(draw.Margin, y-4, c.M.W-2*draw.Margin-numbers-44, bar-y-16)
	side := draw.R(c.M.W-draw.Margin-numbers, left.Y+8, numbers, left.H-8)
	switch {
	case column:
		side.Y, side.H = top-4, bar-top-8
	case c.M.Portrait: // they go to the foot
		all := s.figures(g, c)
		h := math.Min(left.H*0.5, 26*c.M.Text*float64(len(all)))
		if s.halves(g, c, all, w) {
			h = math.Min(left.H*0.5, 28*c.M.Text*math.Ceil(float64(len(all))/2))
		}
		side = draw.R(draw.Margin, bar-h-12, w, h)
		left.W, left.H = w, left.H-h-12
	}
	s.drawNumbers(g, c, side)
	switch {
	case s.job.hasScale():
		scale := draw.R(left.X, left.Y, left.W, 66+34*c.M.Text)
		free := s.job.strips()[s.job.free()[0]]
		s.drawScale(g, c, scale, scaleOf(v.FaderDB, free.WindowDB), v.FaderDB, free.WindowDB, g.Say("verdict.you", g.Signed(v.FaderDB, 1)))
		left = draw.R(left.X, scale.Bottom()+6, left.W, left.Bottom()-scale.Bottom()-6)
	case s.job.ask().Number:
		scale := draw.R(left.X, left.Y, left.W, 66+34*c.M.Text)
		tol := s.job.ex.ToleranceDB
		window := [2]float64{v.UnderReadDB - tol, v.UnderReadDB + tol}
		s.drawScale(g, c, scale, scaleOf(v.CalledDB, window), v.CalledDB, window, g.Say("verdict.called", g.Number(v.CalledDB, 1)))
		left = draw.R(left.X, scale.Bottom()+6, left.W, left.Bottom()-scale.Bottom()-6)
	case len(s.parts) > 1:
		left = s.drawParts(g, c, left)
	}
	if left.H > 120 && (!c.M.Phone || left.H > 96*c.M.Text || c.M.Landscape && left.H > 76*c.M.Text) {
		drawStrip(c, left, &s.past, s.take.Moves, rig, g.Speech)
	}
	if s.wanted != hearNothing {
		s.drawHearing(g, c, left)
	}
}

// drawParts shows fader by fader where it stopped and where it belongs, and
// returns the place that is left.
func (s *verdictScene) drawParts(g *Game, c *draw.Canvas, r draw.Rect) draw.Rect {
	th := c.Theme
	share := 0.8
	if c.M.Landscape { // there is no strip under them
		share = 1
	}
	row := math.Min(44*c.M.Text, r.H*share/float64(len(s.parts)))
	name := draw.Style{Size: math.Max(math.Min(17, row*0.42/c.M.Text), c.M.Least/c.M.Text), Color: th.Ink, Bold: true}
	labelW := 70 + 40*c.M.Text
	errW := 120 + 60*c.M.Text
	for i, p := range s.parts {
		y := r.Y + row*(float64(i)+0.5)
		strip := s.job.strips()[s.job.free()[i]]
		x := func(db float64) float64 {
			return r.X + labelW + (r.W-labelW-errW)*(db-desk.FaderMin)/(desk.FaderMax-desk.FaderMin)
		}
		label := p.Label
		if own, ok := g.Words[words.SideKey(label)]; ok {
			label = own
		}
		c.Text(r.X, y+6*c.M.Text, label, name)
		c.Line(x(desk.FaderMin), y, x(desk.FaderMax), y, 5, th.Faint)
		c.Fill(draw.R(x(strip.WindowDB[0]), y-8, math.Max(6, x(strip.WindowDB[1])-x(strip.WindowDB[0])), 16), 4, th.Teal)
		tone := tone(c, p.InWindow, true)
		at := x(p.FaderDB)
		c.Wedge(at-8, y-20, at+8, y-20, at, y-7, tone)
		st := name
		st.Color, st.Align = tone, draw.Right
		word := g.Say("verdict.right")
		if !p.InWindow {
			word = g.Say("unit.db", g.Signed(p.ErrorDB, 1))
		}
		c.Text(r.Right(), y+6*c.M.Text, word, st)
	}
	used := row * float64(len(s.parts))
	return draw.R(r.X, r.Y+used+8, r.W, r.H-used-8)
}

// drawHearing says which of the two is playing.
func (s *verdictScene) drawHearing(g *Game, c *draw.Canvas, strip draw.Rect) {
	text := g.Say("verdict.hearing_aim")
	if s.wanted == hearTake {
		text = g.Say("verdict.hearing_take")
	}
	st := draw.Style{Size: 15, Color: c.Theme.Ground, Bold: true}
	w := c.Width(text, st) + 52
	h := 32 * c.M.Text
	r := draw.R(strip.X+strip.W/2-w/2, strip.Bottom()-h-12-18*c.M.Text, w, h)
	c.Fill(r, h/2, c.Theme.Ink)
	c.Wedge(r.X+16, r.Y+h/2-7, r.X+28, r.Y+h/2, r.X+16, r.Y+h/2+7, c.Theme.Ground)
	c.Text(r.X+38, r.Y+h/2+5*c.M.Text, text, st)
}

// scaleOf is the stretch of a scale that shows the window and where the fader
// stopped, in whole steps of 3 dB and at least 18 dB long.
func scaleOf(at float64, window [2]float64) [2]float64 {
	lo := 3 * math.Floor((math.Min(at, window[0])-2)/3)
	hi := 3 * math.Ceil((math.Max(at, window[1])+2)/3)
	for hi-lo < 18 {
		hi += 3
		if hi-lo < 18 {
			lo -= 3
		}
	}
	return [2]float64{lo, hi}
}

// drawScale lays the fader on its side: the right window, and where it stopped.
func (s *verdictScene) drawScale(g *Game, c *draw.Canvas, r draw.Rect, span [2]float64, at float64, window [2]float64, label string) {
	th, lo, hi := c.Theme, span[0], span[1]
	x := func(db float64) float64 { return r.X + 6 + (r.W-12)*(db-lo)/(hi-lo) }
	y := r.Y + 28 + 18*c.M.Text
	c.Line(x(lo), y, x(hi), y, 8, th.Faint)
	a, b := x(window[0]), x(window[1])
	c.Fill(draw.R(a, y-12, math.Max(8, b-a), 24), 5, th.Teal)
	every := 3.0
	for (hi-lo)/every*30*c.M.Text > r.W {
		every += 3
	}
	for d := lo; d <= hi; d += every {
		c.Line(x(d), y+16, x(d), y+24, 1.5, th.Dim)
		c.Text(x(d), y+28+13*c.M.Text, g.ShortSigned(d), draw.Style{Size: 14, Color: th.Dim, Align: draw.Middle})
	}
	you := x(at)
	col := tone(c, s.verdict.InWindow, true)
	c.Wedge(you-11, y-34, you+11, y-34, you, y-15, col)
	st := draw.Style{Size: 15, Color: col, Bold: true}
	w := c.Width(label, st)
	lx := you + 17
	if lx+w > r.Right() {
		lx = you - 17 - w
	}
	c.Text(lx, y-21, label, st)
	mid := (a + b) / 2
	word := draw.Style{Size: 15, Color: th.Teal, Align: draw.Middle}
	rw := c.Width(g.Say("verdict.right"), word)
	if mid+rw/2 < math.Min(you-14, lx-6) || mid-rw/2 > math.Max(you+14, lx+w+6) {
		c.Text(mid, y-21, g.Say("verdict.right"), word)
	}
}
