package game

import (
	"image/color"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/desk"
	"slowneedle/drills"
)

// verdictScene says how a take went, and lets it be heard against the aim.
type verdictScene struct {
	round   *drills.Round
	number  int
	take    drills.Take
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

type loops struct {
	aim, take [2][]float32
	err       error
}

func newVerdictScene(g *Game, s *roundScene, t drills.Take, v drills.Verdict) *verdictScene {
	vs := &verdictScene{round: s.round, number: s.number, take: t, verdict: v, past: s.past, loops: make(chan loops, 1), wanted: hearNothing}
	r, monitor := s.round, g.set.MonitorDB
	go func() {
		render := func(fader float64) ([2][]float32, error) {
			cfg := r.Desk(monitor)
			cfg.Channels[0].FaderDB = fader
			return desk.RenderLoop(cfg)
		}
		var l loops
		if l.aim, l.err = render(clampFader(v.AimDB)); l.err == nil {
			l.take, l.err = render(v.FaderDB)
		}
		vs.loops <- l
	}()
	return vs
}

func (*verdictScene) name() string { return "verdict" }

func (s *verdictScene) actions(g *Game) []action {
	return []action{
		{id: "enter", keys: enterKeys, cap: "cap.enter", label: g.say("verdict.next"), do: startRound},
		{id: "aim", keys: []ebiten.Key{ebiten.KeyA}, cap: "cap.a", label: g.say("verdict.hear_aim"), do: func(g *Game) { s.want(g, hearAim) }},
		{id: "take", keys: []ebiten.Key{ebiten.KeyT}, cap: "cap.t", label: g.say("verdict.hear_take"), do: func(g *Game) { s.want(g, hearTake) }},
		{id: "space", keys: []ebiten.Key{ebiten.KeySpace}, cap: "cap.space", label: g.say("verdict.quiet"), do: func(g *Game) { s.want(g, hearNothing) }},
		helpAction(g),
		leaveAction(g),
	}
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
			g.tell(g.say("round.failed", l.err.Error()))
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

func (s *verdictScene) draw(g *Game, c *canvas) {
	v, r, th := s.verdict, s.round, c.th
	bar := g.drawBar(c, s.actions(g))
	kind := g.say("family." + string(r.Family))
	if r.Kind != "" {
		kind += ": " + r.Kind
	}
	top := g.drawHead(c, g.say("drill.take"), g.say("round.where", s.number, kind),
		g.say("verdict.points", v.Points), g.rigTitle(r.Rig)+" · "+g.rigLine(r.Rig))

	headline, reason := v.Sentences(g.verdictWords())
	w := c.m.w - 2*margin
	big := 44.0 / math.Sqrt(c.m.text)
	y := top + 8 + big*c.m.text*0.9
	c.fit(margin, y, w, headline, style{size: big, c: c.tone(v.InWindow, true), bold: true})
	st := style{size: 20 / math.Sqrt(c.m.text), c: th.ink}
	y = c.para(margin, y+10+26*c.m.text, w, reason, st)

	numbers := 190 + 60*c.m.text
	leftW := w - numbers - 44
	scale := rect{margin, y - 4, leftW, 66 + 34*c.m.text}
	s.drawScale(g, c, scale)
	s.drawNumbers(g, c, rect{c.m.w - margin - numbers, scale.y + 8, numbers, bar - scale.y - 24})
	strip := rect{margin, scale.bottom() + 6, leftW, bar - scale.bottom() - 24}
	c.drawStrip(strip, &s.past, s.take.Moves, r.Rig, g.speech)
	if s.wanted != hearNothing {
		s.drawHearing(g, c, strip)
	}
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

// scaleRange is the stretch of the fader that shows the window and where the
// fader stopped, in whole steps of 3 dB and at least 18 dB long.
func scaleRange(v drills.Verdict, window [2]float64) (lo, hi float64) {
	lo = 3 * math.Floor((math.Min(v.FaderDB, window[0])-2)/3)
	hi = 3 * math.Ceil((math.Max(v.FaderDB, window[1])+2)/3)
	for hi-lo < 18 {
		hi += 3
		if hi-lo < 18 {
			lo -= 3
		}
	}
	if lo < desk.FaderMin {
		lo = desk.FaderMin
	}
	if hi > desk.FaderMax {
		hi = desk.FaderMax
	}
	for hi-lo < 18 && lo > desk.FaderMin {
		lo -= 3
	}
	for hi-lo < 18 {
		hi += 3
	}
	return lo, hi
}

// drawScale lays the fader on its side: the right window, and where it stopped.
func (s *verdictScene) drawScale(g *Game, c *canvas, r rect) {
	v, th := s.verdict, c.th
	lo, hi := scaleRange(v, s.round.WindowDB)
	x := func(db float64) float64 { return r.x + 6 + (r.w-12)*(db-lo)/(hi-lo) }
	y := r.y + 28 + 18*c.m.text
	c.line(x(lo), y, x(hi), y, 8, th.faint)
	a, b := x(s.round.WindowDB[0]), x(s.round.WindowDB[1])
	c.fill(rect{a, y - 12, math.Max(8, b-a), 24}, 5, th.teal)
	for d := lo; d <= hi; d += 3 {
		c.line(x(d), y+16, x(d), y+24, 1.5, th.dim)
		c.text(x(d), y+28+13*c.m.text, g.shortSigned(d), style{size: 14, c: th.dim, align: middle})
	}
	you := x(v.FaderDB)
	col := c.tone(v.InWindow, true)
	c.wedge(you-11, y-34, you+11, y-34, you, y-15, col)
	st := style{size: 15, c: col, bold: true}
	label := g.say("verdict.you", g.signed(v.FaderDB, 1))
	w := c.width(label, st)
	at := you + 17
	if at+w > r.right() {
		at = you - 17 - w
	}
	c.text(at, y-21, label, st)
	mid := (a + b) / 2
	word := style{size: 15, c: th.teal, align: middle}
	rw := c.width(g.say("verdict.right"), word)
	if mid+rw/2 < math.Min(you-14, at-6) || mid-rw/2 > math.Max(you+14, at+w+6) {
		c.text(mid, y-21, g.say("verdict.right"), word)
	}
}

// drawNumbers lists the verdict's figures.
func (s *verdictScene) drawNumbers(g *Game, c *canvas, r rect) {
	v, th := s.verdict, c.th
	type row struct {
		key, value string
		c          color.NRGBA
	}
	db := func(t string) string { return g.say("unit.db", t) }
	over := th.ink
	if v.HeadroomDB < 0 {
		over = th.brick
	}
	lamp := th.ink
	if v.Zone == drills.ZoneLit || v.Zone == drills.ZoneBusy {
		lamp = th.amber
	}
	rows := []row{
		{"error", db(g.signed(v.ErrorDB, 1)), c.tone(v.InWindow, true)},
		{"aim", db(g.signed(v.AimDB, 1)), th.ink},
		{"under_read", db(g.number(v.UnderReadDB, 1)), th.ink},
		{"needle", g.say("unit.vu", g.signed(v.ReadingVU, 1)), th.ink},
		{"headroom", db(g.signed(v.HeadroomDB, 1)), over},
		{"lamp", g.say("unit.a_second", g.number(v.FlicksPerS, 1)), lamp},
	}
	if !s.round.Rig.Soft() || v.Clipped > 0 {
		clip := row{"clipped", g.say("verdict.samples", v.Clipped), th.ink}
		if v.Clipped > 0 {
			clip.c = th.brick
		}
		rows = append(rows, clip)
	}
	rows = append(rows, row{"time", g.seconds(v.Seconds), th.ink}, row{"moves", g.number(float64(v.MoveCount), 0), th.ink})
	step := math.Min(r.h/float64(len(rows)), 56)
	size := math.Min(20/math.Sqrt(c.m.text), step*0.5/c.m.text)
	for i, row := range rows {
		y := r.y + step*(float64(i)+0.62)
		key := style{size: size * 0.8, c: th.dim}
		name := g.say("figure." + row.key)
		c.text(r.x, y, name, key)
		c.fit(r.right(), y, r.w-c.width(name, key)-12, row.value, style{size: size, c: row.c, bold: true, align: right})
		c.rule(r.x, r.right(), r.y+step*float64(i+1)-step*0.08, 1, th.faint)
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
