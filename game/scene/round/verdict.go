package round

import (
	"image/color"
	"math"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/audio/desk"
	"slowneedle/audio/said"
	"slowneedle/drills"
	"slowneedle/drills/ladder"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/store"
	"slowneedle/game/widget"
)

// Verdict tells how a take went, and lets it be heard against the aim.
type Verdict struct {
	scene.Base
	widget.Moving
	to    guide
	prefs *store.Keeper
	sound player
	*Result
	solution said.Sentence
	parts    []drills.Part // fader by fader, where there are several
	wanted   heard
	loops    chan loops // the two loops to compare, once rendered
	compare  *desk.Desk
	long     int64           // of the loops, in frames
	head     widget.Playhead // of the strip as drawn; empty if it is not
}

// heard is what sounds on the screen of a verdict.
type heard int

const (
	hearAim heard = iota
	hearTake
	hearNothing
)

// loops are the two recordings to compare.
type loops struct {
	aim, take [2][]float32
	err       error
}

// NewVerdict makes the screen of a result, and begins to render what can be heard
// on it.
func NewVerdict(b scene.Base, to guide, prefs *store.Keeper, sound player, r *Result) *Verdict {
	solution := r.A.Solution
	if r.Programme {
		_, solution = r.A.InMarks()
		r.Verdict = r.Verdict.InMarks()
	}
	s := &Verdict{
		Base: b, to: to, prefs: prefs, sound: sound, Result: r, solution: solution,
		wanted: hearNothing, loops: make(chan loops, 1),
	}
	if parts := r.A.Parts(r.Take); len(parts) > 1 {
		s.parts = parts
	}
	if r.A.Return != nil {
		s.Remark = r.A.Return.About(b.Speech)
	}
	if s.comparable() {
		go func(set store.Settings) { s.loops <- renderLoops(r.A, r.Take, set) }(prefs.Settings)
	}
	return s
}

// comparable reports whether the take can be heard beside the right setting.
func (s *Verdict) comparable() bool {
	return s.cameHeadline() == "" && s.A.Heard == nil && !s.A.View.Procedure && (s.A.HasScale() || len(s.parts) > 1 || len(s.A.Stages) > 0 || s.odd())
}

// odd reports whether one of several sounds was to be found: what is compared is that
// one with the others.
func (s *Verdict) odd() bool { return s.A.ByEar() }

// renderLoops makes the two loops to compare. Where one sound was recorded, the
// take is brought to the loudness of the aim's, so that only the damage differs:
// hiss, grit, clipping.
func renderLoops(a *practice.Assignment, t drills.Take, set store.Settings) (l loops) {
	pause := page.Pauser()
	if pause != nil { // the verdict is drawn first
		pause()
	}
	if a.ByEar() {
		return renderOdd(a, set, pause)
	}
	loudest := a.Loudest()
	render := func(setting func(i int) float64) ([2][]float32, error) {
		cfg := a.DeskConfig(set)
		cfg.Pause = pause
		if a.After != nil {
			cfg.Channels[0].Sound = loudest
		}
		for i := range cfg.Channels { // heard at a safe level the noise of a chain would not be
			if s := cfg.Channels[i].Stage; s != nil {
				s.NoiseDBFS += drills.HissRaisedDB
			}
		}
		for _, i := range a.Free() {
			cfg.Channels[i].FaderDB = a.Controls[i].Settle(setting(i))
		}
		return desk.RenderLoop(cfg)
	}
	if l.aim, l.err = render(func(i int) float64 { return a.Controls[i].Aim }); l.err == nil {
		l.take, l.err = render(func(i int) float64 { return a.Setting(t, i) })
	}
	if l.err == nil && (a.Drill.Records || len(a.Stages) > 0) {
		l.take = desk.Amplify(l.take, desk.Match(l.take, l.aim))
	}
	return l
}

// renderOdd makes the loops of one of the sounds that are alike, and of the odd one.
func renderOdd(a *practice.Assignment, set store.Settings, pause func()) (l loops) {
	right := *a.ShowMe().Choice
	render := func(i int) ([2][]float32, error) {
		cfg := a.DeskConfig(set)
		cfg.Channels, cfg.Pause = cfg.Channels[i:i+1], pause
		return desk.RenderLoop(cfg)
	}
	if l.aim, l.err = render((right + 1) % len(a.Channels)); l.err == nil {
		l.take, l.err = render(right)
	}
	return l
}

// LargeText reports whether a class looks on.
func (s *Verdict) LargeText() bool { return s.A.Classroom }

func (s *Verdict) Name() string { return "verdict" }

func (s *Verdict) Actions() []hand.Action {
	label := s.Say("verdict.next")
	switch {
	case s.A.Heard != nil:
		label = s.Say("live.again")
	case s.A.Return != nil && s.A.Number() == s.A.Return.Rounds():
		label = s.Say("home.progress")
	case s.A.Classroom:
		label = s.Say("class.next_demo")
	case s.A.Series != nil && s.A.Series.Over():
		label = s.Say("class.to_hand_in")
	case s.A.Practised() && len(s.prefs.Practice.Ahead) == 0:
		label = s.Say("verdict.summary")
	}
	acts := []hand.Action{{ID: "enter", Keys: hand.EnterKeys, Cap: "cap.enter", Label: label, Do: func() { s.to.Next(s.A) }}}
	if s.comparable() {
		aim, take := s.Say("verdict.hear_aim"), s.Say("verdict.hear_take")
		if s.odd() {
			aim, take = s.Say("verdict.hear_clean"), s.Say("verdict.hear_odd")
		}
		acts = append(acts,
			hand.Action{ID: "aim", Keys: []ebiten.Key{ebiten.KeyA}, Cap: "cap.a", Label: aim, Do: func() { s.want(hearAim) }},
			hand.Action{ID: "take", Keys: []ebiten.Key{ebiten.KeyT}, Cap: "cap.t", Label: take, Do: func() { s.want(hearTake) }},
			hand.Action{ID: "space", Keys: []ebiten.Key{ebiten.KeySpace}, Cap: "cap.space", Label: s.Say("verdict.quiet"), Do: func() { s.want(hearNothing) }})
	}
	if s.A.Heard != nil {
		acts = append(acts, hand.Action{ID: "save", Keys: []ebiten.Key{ebiten.KeyS}, Cap: "cap.s", Label: s.Say("live.save"), Do: s.saveTake})
		return append(acts, s.HelpAction(), s.LeaveAction())
	}
	if s.A.Series != nil || s.A.Classroom || s.A.Return != nil {
		return append(acts, s.HelpAction(), s.LeaveAction())
	}
	if p := s.prefs.Practice; s.A.Practised() && len(p.Ahead) > 0 && len(p.Done) > 0 {
		acts = append(acts, hand.Action{ID: "end", Keys: []ebiten.Key{ebiten.KeyE}, Cap: "cap.e", Label: s.Say("verdict.end"), Do: s.To.EndPractice})
	}
	return append(acts,
		hand.Action{ID: "need", Keys: []ebiten.Key{ebiten.KeyN}, Cap: "cap.n", Label: s.Say("verdict.need"), Do: s.To.Needed},
		hand.Action{ID: "progress", Keys: []ebiten.Key{ebiten.KeyP}, Cap: "cap.p", Label: s.Say("home.progress"), Do: s.To.Progress},
		s.HelpAction(), s.LeaveAction())
}

// want asks for one of the two loops, or for quiet.
func (s *Verdict) want(what heard) {
	s.wanted = what
	s.Redraw()
	if what == hearNothing {
		s.sound.Stop()
		s.compare = nil
		return
	}
	s.play()
}

// play starts or switches the comparison, as soon as it has been rendered.
func (s *Verdict) play() {
	if s.wanted == hearNothing {
		return
	}
	if s.compare != nil {
		s.compare.SetListen(int(s.wanted))
		return
	}
	select {
	case l := <-s.loops:
		s.loops <- l // kept for the next time
		if l.err != nil {
			s.wanted = hearNothing
			s.Tell(s.Say("round.failed", s.Fault(l.err)))
			return
		}
		s.compare, s.long = desk.NewCompare(l.aim, l.take, s.prefs.MonitorDB), int64(min(len(l.aim[0]), len(l.take[0])))
		s.compare.SetListen(int(s.wanted))
		s.sound.Play(s.compare)
		s.Note("compare", map[string]any{"heard": s.wanted})
	default:
	}
}

func (s *Verdict) Update(*hand.State) {
	if s.compare == nil {
		s.play()
	}
	if s.A.Heard != nil {
		if text := s.A.Heard.Follow(); text != s.Remark {
			s.Remark = text
			s.Note("follow", map[string]any{"text": text})
			s.Redraw()
		}
	}
}

// Suspend pauses the sound, Resume continues it.
func (s *Verdict) Suspend() { s.sound.Pause(true) }
func (s *Verdict) Resume()  { s.sound.Pause(false) }

func (s *Verdict) Leave() { s.sound.Stop() }

func (s *Verdict) Draw(c *draw.Canvas) {
	bar := s.DrawBar(c, s.Actions())
	line := ""
	if !s.A.ByEar() {
		line = s.RigTitle(s.A.Rig) + " · " + s.RigLine(s.A.Rig)
	}
	top := s.DrawHead(c, s.title(), s.A.Where(s.Speech, true), s.Say("verdict.points", s.Verdict.Points), line)
	if s.A.Practised() {
		widget.DrawMarks(c, s.prefs.Practice, false)
	}
	place := draw.R(draw.Margin, top, c.M.W-2*draw.Margin, bar-top-8)
	figures := s.figures(c)
	numbers := math.Max(190+60*c.M.Text, math.Min(widest(c, figures), place.W*0.4)) // width of their column
	if c.M.Landscape && place.H < 1.45*c.M.Least*float64(len(figures)) {
		numbers = 2*numbers - 60 // two columns of them
	}
	column := c.M.Text > 1.3 && !c.M.Portrait // large text: they take the whole height at the side
	if column {
		var side draw.Rect
		side, place = place.CutRight(numbers + 30)
		_, place = place.CutRight(44)
		s.drawFigures(c, draw.R(side.X, side.Y-4, side.W, side.H), figures)
	}
	y := s.drawSentences(c, place)
	left := draw.R(place.X, y-4, place.W, place.Bottom()-y-4)
	switch {
	case c.M.Portrait: // the figures go to the foot
		h := math.Min(left.H*0.5, 26*c.M.Text*float64(len(figures)))
		if widest(c, figures) <= (left.W-figureGap)/2 {
			h = math.Min(left.H*0.5, 28*c.M.Text*math.Ceil(float64(len(figures))/2))
		}
		var foot draw.Rect
		foot, left = left.CutBottom(h + 4)
		_, left = left.CutBottom(12)
		s.drawFigures(c, foot, figures)
	case !column:
		var side draw.Rect
		side, left = left.CutRight(numbers)
		_, left = left.CutRight(44)
		s.drawFigures(c, draw.R(side.X, side.Y+8, side.W, side.H-8), figures)
	}
	s.head = widget.Playhead{}
	s.drawAnswer(c, left)
}

// drawSentences writes the verdict, its reason, what would have been right, and what the
// learner's own past has to tell, and returns the y below.
func (s *Verdict) drawSentences(c *draw.Canvas, place draw.Rect) (y float64) {
	th := c.Theme
	headline, reason := s.cameHeadline(), ""
	if headline == "" {
		headline, reason = s.Verdict.Sentences(s.VerdictWords())
	}
	big := 44.0 / math.Sqrt(c.M.Text)
	y = place.Y + 8 + big*c.M.Text*0.9
	c.Fit(place.X, y, place.W, s.Pointed(headline), draw.Style{Size: big, Color: th.Verdict(s.Verdict.InWindow), Bold: true, Said: draw.Live})
	y += 10 + 26*c.M.Text
	why := c.Shrink(s.Pointed(reason), place.W, draw.Style{Size: 20 / math.Sqrt(c.M.Text), Color: th.Ink, Said: draw.Live}, 11, func(b draw.Block) bool {
		return y+b.Height() < place.Bottom()-place.H*0.3
	})
	y = c.Print(place.X, y, why.Cut(place.Bottom()-y+why.Lead/2))
	solution := c.Block(s.Put(s.solution), place.W, draw.Style{Size: 16 / math.Sqrt(c.M.Text), Color: th.Dim})
	if s.cameHeadline() == "" && !s.A.HasScale() && y+solution.Height() < place.Bottom()-place.H*0.2 {
		y = c.Print(place.X, y+2, solution)
	}
	return s.drawRemark(c, place, y)
}

// drawAnswer shows the answer beside what is right, and below it what was played.
func (s *Verdict) drawAnswer(c *draw.Canvas, left draw.Rect) {
	if taken, best := s.A.Levels(s.Take); taken != nil { // the diagram tells what is playing
		widget.DrawLevels(c, left, s.names(), taken, best, s.playing(), s.Speech)
		return
	}
	scales, room, most := s.scales(c), left, 64*c.M.Text
	if s.A.View.Procedure {
		room = s.drawSteps(c, left, len(scales))
	}
	switch {
	case s.odd(): // what is playing is told below
		_, room = left.CutBottom(30 * c.M.Text)
	case len(scales) > 1 && len(s.A.Stages) == 0 && !c.M.Landscape: // the strip needs as much
		most = 44 * c.M.Text
		_, room = left.CutBottom(math.Max(left.H*0.2, math.Min(150, left.H-scaleHigh(c.M.Text)*float64(len(scales)))))
	}
	rest := drawScales(c, room, scales, most)
	if s.odd() {
		axis, w := draw.Style{Size: 14, Color: c.Theme.Dim}, left.W
		if rest.H < c.Lead(axis) && s.wanted != hearNothing { // beside what is playing
			w *= 0.5
		}
		c.Fit(left.X, rest.Y+c.Size(axis), w, s.Say("verdict.odd_axis", ladder.Bottom, ladder.Top), axis)
	}
	left.H -= rest.Y - left.Y
	left.Y = rest.Y
	switch {
	case len(s.A.Stages) > 0:
	case left.H > 120 && (!c.M.Phone || left.H > 88*c.M.Text || c.M.Landscape && left.H > 76*c.M.Text):
		s.drawPast(c, left)
	default:
		widget.DrawPlaying(c, left.Right(), left.Bottom()-4, s.playing())
	}
}

// drawPast shows what was played: the meters, or the soundcheck and the take that
// followed.
func (s *Verdict) drawPast(c *draw.Canvas, r draw.Rect) {
	if s.odd() { // there was no meter
		widget.DrawPlaying(c, r.Right(), r.Bottom()-4, s.playing())
		return
	}
	if s.A.After == nil {
		s.head = s.strip().Draw(c, r, s.Speech)
		return
	}
	ch, v := s.A.Channels[0], s.Verdict
	widget.DrawCourse(c, r, ch.Sound, s.A.After, ch.StartGainDB+v.FaderDB, ch.StartGainDB+v.AimDB, s.A.Rig, s.Speech)
	widget.DrawPlaying(c, r.X+r.W*0.62, r.Bottom()-5, s.playing())
}

// strip is what the meters showed: of a round that runs its length all of it.
func (s *Verdict) strip() widget.Strip {
	v := widget.Strip{Past: &s.past, Moves: s.Take.Moves, Names: s.names(), Compared: s.compared(), Rig: s.A.Rig, Playing: s.playing()}
	if s.A.Drill.FixedLength {
		v.Seconds = s.A.Seconds
		asked := s.A.TargetVU() + s.A.Rig.ReferenceDBFS
		v.Band = [2]float64{asked - s.A.Rig.ToleranceDB, asked + s.A.Rig.ToleranceDB}
	}
	return v
}

// playing tells which of the two loops is heard, if one is.
func (s *Verdict) playing() string {
	if s.wanted == hearNothing {
		return ""
	}
	keys := [2]string{hearAim: "verdict.hearing_aim", hearTake: "verdict.hearing_take"}
	if s.odd() {
		keys = [2]string{hearAim: "verdict.hearing_clean", hearTake: "verdict.hearing_odd"}
	}
	text := s.Say(keys[s.wanted])
	if len(s.A.Stages) > 0 {
		text += " · " + s.Say("verdict.noise_raised", drills.HissRaisedDB)
	}
	return text
}

// loopAt is the last moment shown of the round in which what is heard now was heard, in
// frames; there may be none.
func (s *Verdict) loopAt() (at int64, ok bool) {
	if s.compare == nil || s.head.To <= s.head.From {
		return 0, false
	}
	phase := s.sound.Heard() % s.long
	at = s.head.To - 1 - ((s.head.To-1-phase)%s.long+s.long)%s.long
	return at, at >= s.head.From
}

// DrawDynamic marks on the strip where what is heard stands.
func (s *Verdict) DrawDynamic(c *draw.Canvas) {
	at, ok := s.loopAt()
	if !ok {
		at = -1
	}
	s.Paint(c, "playhead", 0, at, func() []draw.Rect {
		if !ok {
			return nil
		}
		line := draw.R(s.head.X(at)-2, s.head.Plot.Y, 4, s.head.Plot.H)
		c.Fill(line.Inset(1, 0), 0, c.Theme.Ink)
		return []draw.Rect{line.Grow(1)}
	})
}

// drawRemark writes what the learner's own past has to tell, where there is room for it
// under the verdict at y: dim, and with a bar at its side. It returns the y below it.
func (s *Verdict) drawRemark(c *draw.Canvas, place draw.Rect, y float64) float64 {
	if s.Remark == "" {
		return y
	}
	text := c.Block(s.Remark, place.W-20, draw.Style{Size: 16 / math.Sqrt(c.M.Text), Color: c.Theme.Dim})
	h := text.Height()
	if y+14+h > place.Bottom()-place.H*0.25 {
		return y
	}
	first := y + 8 // its baseline
	c.Fill(draw.R(place.X, first-c.Size(text.Style), 4, h), 2, c.Theme.Dim)
	return c.Print(place.X+14, first, text) + 6
}

// names are those of the controls that were moved, as their marks show them.
func (s *Verdict) names() []string {
	var all []string
	for _, c := range s.A.Controls {
		all = append(all, s.Part(c.Label))
	}
	return all
}

// compared are the channels that the strip shows one against the other: the first, and
// the one that the verdict is about.
func (s *Verdict) compared() []int {
	if !s.A.View.OneAtATime || s.odd() {
		return nil
	}
	for i, ch := range s.A.Channels {
		if ch.Label == s.Verdict.Part {
			return []int{0, i}
		}
	}
	return nil
}

// figure is one line of the verdict's numbers.
type figure struct {
	name, value string
	c           color.NRGBA
}

// figures are the numbers of a verdict as its drill lists them.
func (s *Verdict) figures(c *draw.Canvas) []figure {
	tones := map[drills.Tone]color.NRGBA{
		drills.ToneNone: c.Theme.Ink, drills.ToneGood: c.Theme.Teal, drills.ToneWarn: c.Theme.Warn, drills.ToneBad: c.Theme.Brick,
	}
	var all []figure
	list := s.A.Figures(s.Verdict)
	if s.A.Came != nil {
		list = s.A.Came.Figures(s.A.Exercise)
	}
	for _, f := range list {
		all = append(all, figure{s.Put(f.Name), s.Figure(f), tones[f.Tone]})
	}
	return all
}

// figureGap is the gap between two columns of figures, halfSize their size there.
const figureGap, halfSize = 28.0, 14.0

// widest is the width of a column in which figures in the smallest size are whole.
func widest(c *draw.Canvas, rows []figure) (w float64) {
	for _, row := range rows {
		w = math.Max(w, c.Width(row.name, draw.Style{Size: halfSize})+c.Width(row.value, draw.Style{Size: halfSize, Bold: true})+12)
	}
	return w
}

// drawFigures lists the verdict's figures in one column or, where they do not
// have room in one, in two. Of those that have no room at all the last go: they
// matter least.
func (s *Verdict) drawFigures(c *draw.Canvas, r draw.Rect, rows []figure) {
	small := draw.Style{Size: halfSize}
	columns, size := 1, 20/math.Sqrt(c.M.Text)
	if (c.M.Portrait || c.Size(small)*1.4*float64(len(rows)) > r.H) && widest(c, rows) <= (r.W-figureGap)/2 {
		columns, size = 2, halfSize*1.1
	}
	most := int(r.H / (c.Size(small) * 1.25))
	lines := min(most, (len(rows)+columns-1)/columns)
	if lines == 0 {
		return
	}
	step := math.Min(r.H/float64(lines), math.Max(56, 40*c.M.Text))
	size = math.Max(math.Min(size, step*0.5/c.M.Text), c.M.Least/c.M.Text)
	value := draw.Style{Size: size, Bold: true, Align: draw.Right}
	name := draw.Style{Size: math.Max(size*0.8, math.Min(size, c.M.Least/c.M.Text)), Color: c.Theme.Dim}
	for i, row := range rows[:min(len(rows), lines*columns)] {
		at := r.Columns(columns, figureGap)[i/lines]
		y := r.Y + step*float64(i%lines)
		base := y + step/2 + c.Size(value)*0.36
		value.Color = row.c
		left, right := c.Share(at.W-10, row.name, name, row.value, value)
		c.Fit(at.Right(), base, right, row.value, value)
		c.Fit(at.X, base, left, row.name, name)
		c.Rule(at.X, at.Right(), y+step*0.97, 1, c.Theme.Faint)
	}
}
