package game

import (
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/desk"
	"slowneedle/drills"
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
	wanted  int                // what is heard: hearNothing, hearAim, hearTake
	damages chan drills.Damage // once computed
	damage  *drills.Damage
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
	vs := &verdictScene{job: s.job, take: t, verdict: v, parts: s.job.parts(t), past: s.past, loops: make(chan loops, 1), damages: make(chan drills.Damage, 1), wanted: hearNothing}
	if vs.comparable() {
		go func(set settings) { vs.loops <- renderLoops(s.job, t, set) }(g.set)
	}
	go func() {
		if d, ok, err := s.job.ex.Damage(t); ok && err == nil {
			vs.damages <- d
		}
	}()
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
			action{id: "aim", keys: []ebiten.Key{ebiten.KeyA}, cap: "cap.a", label: g.say("verdict.hear_aim"), do: func(g *Game) { s.want(g, hearAim) }},
			action{id: "take", keys: []ebiten.Key{ebiten.KeyT}, cap: "cap.t", label: g.say("verdict.hear_take"), do: func(g *Game) { s.want(g, hearTake) }},
			action{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: g.say("verdict.quiet"), do: func(g *Game) { s.want(g, hearNothing) }})
	}
	if s.job.series != nil || s.job.room {
		return append(acts, helpAction(g), leaveAction(g))
	}
	return append(acts,
		action{id: "need", keys: []ebiten.Key{ebiten.KeyN}, cap: "cap.n", label: g.say("verdict.need"), do: startNeeded},
		action{id: "progress", keys: []ebiten.Key{ebiten.KeyP}, cap: "cap.p", label: g.say("home.progress"), do: func(g *Game) { g.show(&progressScene{}) }},
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
			g.tell(g.say("round.failed", g.fault(l.err)))
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
	select {
	case d := <-s.damages:
		s.damage, g.dirty = &d, true
	default:
	}
	if s.compare == nil {
		s.play(g)
	}
}

func (s *verdictScene) leave(g *Game) { g.out.Stop() }

func (s *verdictScene) draw(g *Game, c *canvas) {
	v, rig, th := s.verdict, s.job.rig(), c.th
	bar := g.drawBar(c, s.actions(g))
	top := g.drawHead(c, g.drillName(s.job.drill()), g.where(s.job, true),
		g.say("verdict.points", v.Points), g.rigTitle(rig)+" · "+g.rigLine(rig))

	headline, reason := v.Sentences(g.verdictWords())
	headline, reason = g.pointed(headline), g.pointed(reason)
	numbers := 190 + 60*c.m.text
	w := c.m.w - 2*margin
	column := c.m.text > 1.3 && !c.m.upright // large text: the figures take the whole height at the side
	if c.m.lying && bar-top < 1.45*c.m.least*float64(len(s.figures(g, c))) {
		numbers = 2*numbers - 60 // two columns of them
	}
	if column {
		numbers += 30
		w -= numbers + 44
	}
	big := 44.0 / math.Sqrt(c.m.text)
	y := top + 8 + big*c.m.text*0.9
	c.fit(margin, y, w, headline, style{size: big, c: c.tone(v.InWindow, true), bold: true})
	st := style{size: 20 / math.Sqrt(c.m.text), c: th.ink}
	y = c.para(margin, y+10+26*c.m.text, w, reason, st)
	if sol := g.put(s.job.ex.Solution); !s.job.hasScale() {
		y = c.para(margin, y+2, w, sol, style{size: 16 / math.Sqrt(c.m.text), c: th.dim})
	}

	left := rect{margin, y - 4, c.m.w - 2*margin - numbers - 44, bar - y - 16}
	side := rect{c.m.w - margin - numbers, left.y + 8, numbers, left.h - 8}
	switch {
	case column:
		side.y, side.h = top-4, bar-top-8
	case c.m.upright: // they go to the foot
		all := s.figures(g, c)
		h := math.Min(left.h*0.5, 26*c.m.text*float64(len(all)))
		if s.halves(g, c, all, w) {
			h = math.Min(left.h*0.5, 28*c.m.text*math.Ceil(float64(len(all))/2))
		}
		side = rect{margin, bar - h - 12, w, h}
		left.w, left.h = w, left.h-h-12
	}
	s.drawNumbers(g, c, side)
	switch {
	case s.job.hasScale():
		scale := rect{left.x, left.y, left.w, 66 + 34*c.m.text}
		free := s.job.strips()[s.job.free()[0]]
		s.drawScale(g, c, scale, scaleOf(v.FaderDB, free.WindowDB), v.FaderDB, free.WindowDB, g.say("verdict.you", g.signed(v.FaderDB, 1)))
		left = rect{left.x, scale.bottom() + 6, left.w, left.bottom() - scale.bottom() - 6}
	case s.job.ask().Number:
		scale := rect{left.x, left.y, left.w, 66 + 34*c.m.text}
		tol := s.job.ex.ToleranceDB
		window := [2]float64{v.UnderReadDB - tol, v.UnderReadDB + tol}
		s.drawScale(g, c, scale, scaleOf(v.CalledDB, window), v.CalledDB, window, g.say("verdict.called", g.number(v.CalledDB, 1)))
		left = rect{left.x, scale.bottom() + 6, left.w, left.bottom() - scale.bottom() - 6}
	case len(s.parts) > 1:
		left = s.drawParts(g, c, left)
	}
	if left.h > 120 && (!c.m.phone || left.h > 96*c.m.text || c.m.lying && left.h > 76*c.m.text) {
		c.drawStrip(left, &s.past, s.take.Moves, rig, g.speech)
	}
	if s.wanted != hearNothing {
		s.drawHearing(g, c, left)
	}
}

// drawParts shows fader by fader where it stopped and where it belongs, and
// returns the place that is left.
func (s *verdictScene) drawParts(g *Game, c *canvas, r rect) rect {
	th := c.th
	share := 0.8
	if c.m.lying { // there is no strip under them
		share = 1
	}
	row := math.Min(44*c.m.text, r.h*share/float64(len(s.parts)))
	name := style{size: math.Max(math.Min(17, row*0.42/c.m.text), c.m.least/c.m.text), c: th.ink, bold: true}
	labelW := 70 + 40*c.m.text
	errW := 120 + 60*c.m.text
	for i, p := range s.parts {
		y := r.y + row*(float64(i)+0.5)
		strip := s.job.strips()[s.job.free()[i]]
		x := func(db float64) float64 {
			return r.x + labelW + (r.w-labelW-errW)*(db-desk.FaderMin)/(desk.FaderMax-desk.FaderMin)
		}
		label := p.Label
		if own, ok := g.words[sideKey(label)]; ok {
			label = own
		}
		c.text(r.x, y+6*c.m.text, label, name)
		c.line(x(desk.FaderMin), y, x(desk.FaderMax), y, 5, th.faint)
		c.fill(rect{x(strip.WindowDB[0]), y - 8, math.Max(6, x(strip.WindowDB[1])-x(strip.WindowDB[0])), 16}, 4, th.teal)
		tone := c.tone(p.InWindow, true)
		at := x(p.FaderDB)
		c.wedge(at-8, y-20, at+8, y-20, at, y-7, tone)
		st := name
		st.c, st.align = tone, right
		word := g.say("verdict.right")
		if !p.InWindow {
			word = g.say("unit.db", g.signed(p.ErrorDB, 1))
		}
		c.text(r.right(), y+6*c.m.text, word, st)
	}
	used := row * float64(len(s.parts))
	return rect{r.x, r.y + used + 8, r.w, r.h - used - 8}
}

// drawHearing says which of the two is playing.
func (s *verdictScene) drawHearing(g *Game, c *canvas, strip rect) {
	text := g.say("verdict.hearing_aim")
	if s.wanted == hearTake {
		text = g.say("verdict.hearing_take")
	}
	st := style{size: 15, c: c.th.ground, bold: true}
	w := c.width(text, st) + 52
	h := 32 * c.m.text
	r := rect{strip.x + strip.w/2 - w/2, strip.bottom() - h - 12 - 18*c.m.text, w, h}
	c.fill(r, h/2, c.th.ink)
	c.wedge(r.x+16, r.y+h/2-7, r.x+28, r.y+h/2, r.x+16, r.y+h/2+7, c.th.ground)
	c.text(r.x+38, r.y+h/2+5*c.m.text, text, st)
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
func (s *verdictScene) drawScale(g *Game, c *canvas, r rect, span [2]float64, at float64, window [2]float64, label string) {
	th, lo, hi := c.th, span[0], span[1]
	x := func(db float64) float64 { return r.x + 6 + (r.w-12)*(db-lo)/(hi-lo) }
	y := r.y + 28 + 18*c.m.text
	c.line(x(lo), y, x(hi), y, 8, th.faint)
	a, b := x(window[0]), x(window[1])
	c.fill(rect{a, y - 12, math.Max(8, b-a), 24}, 5, th.teal)
	every := 3.0
	for (hi-lo)/every*30*c.m.text > r.w {
		every += 3
	}
	for d := lo; d <= hi; d += every {
		c.line(x(d), y+16, x(d), y+24, 1.5, th.dim)
		c.text(x(d), y+28+13*c.m.text, g.shortSigned(d), style{size: 14, c: th.dim, align: middle})
	}
	you := x(at)
	col := c.tone(s.verdict.InWindow, true)
	c.wedge(you-11, y-34, you+11, y-34, you, y-15, col)
	st := style{size: 15, c: col, bold: true}
	w := c.width(label, st)
	lx := you + 17
	if lx+w > r.right() {
		lx = you - 17 - w
	}
	c.text(lx, y-21, label, st)
	mid := (a + b) / 2
	word := style{size: 15, c: th.teal, align: middle}
	rw := c.width(g.say("verdict.right"), word)
	if mid+rw/2 < math.Min(you-14, lx-6) || mid-rw/2 > math.Max(you+14, lx+w+6) {
		c.text(mid, y-21, g.say("verdict.right"), word)
	}
}

// verdictWords are the sentences of verdicts in the interface's language.
// English ones are the drills' own.
func (g *Game) verdictWords() drills.Words {
	w := drills.Words{}
	for k, english := range drills.English {
		w[k] = english
		if own, ok := g.words[verdictKey(k)]; ok {
			w[k] = own
		}
	}
	return w
}

// verdictKey is where a language's file keeps a verdict's sentence.
func verdictKey(k string) string { return "verdict.word." + k }
