// Package game is the trainer's window: its screens, what is drawn on them and
// the hands that move them. It is the only package that opens a window.
package game

import (
	"errors"
	"fmt"
	"image"
	"math/rand/v2"
	"sort"
	"strings"
	"time"

	"github.com/hajimehoshi/ebiten/v2"
	"github.com/hajimehoshi/ebiten/v2/inpututil"

	"slowneedle/assets"
	"slowneedle/audio/output"
	"slowneedle/audio/source"
	"slowneedle/game/draw"
	"slowneedle/game/words"
)

// Options is how a trainer is started; the zero value is a normal start.
type Options struct {
	Seed          uint64 // of the session's rounds; 0 draws one
	File          string // a recording to make rounds from
	Width, Height int    // of the window, in points; 0 is 1280x800
	Version       string
	Probe         string // file that gets what happens as JSON lines
	Code          string // class code to begin with
	Server        string // address of the class server
}

// scene is one screen.
type scene interface {
	name() string
	// actions are what keys do here, in the order of the bar.
	actions(g *Game) []action
	// update runs once a tick after the actions.
	update(g *Game)
	// draw draws what stands still; it runs again only when g.dirty is set.
	draw(g *Game, c *draw.Canvas)
}

// living is a scene with parts that move; live draws them every frame over
// what stands still, having put back what it drew the frame before.
type living interface{ live(g *Game, c *draw.Canvas) }

// leaver is a scene that must be told when it goes.
type leaver interface{ leave(g *Game) }

// typist is a scene with fields to type into: field is the place of the one that
// is being typed into, typeInto makes it another one if the place is a field,
// and write puts a character there.
type typist interface {
	field() string
	typeInto(place string) bool
	write(r rune)
}

// Game is the running trainer.
type Game struct {
	*words.Speech
	classroom
	opt   Options
	set   settings
	th    *draw.Theme
	out   *output.Output
	seed  uint64
	index int // of the next exercise

	opening    <-chan records // while the journal is being opened
	rec        records
	keeping    *keeping // a take on its way to the disk; nil: none
	played     int      // exercises started in this session
	lastDrill  string
	lastFamily source.Family

	scene scene
	m     draw.Metrics
	scale float64
	board *ebiten.Image // what stands still on this screen
	final final
	dirty bool
	hots  []hot
	hover string
	focus string
	typed []rune // in this tick
	in    pointer
	pad   pad
	still draw.Canvas
	moved draw.Canvas

	notice     string // one sentence, until noticeEnds
	noticeEnds time.Time
	probe      *probe
	quit       bool
	silent     bool // no sound, when last looked
	frames     int
	drawn      time.Time // when the frame before was drawn
	fadeEnds   time.Time // of the passage from the screen before
	whole      bool      // the picture must be put together anew
	unsaved    time.Time // when the settings changed, if they are not written yet
	fresh      bool      // a probe waits for the screen drawn last
	own        *recording
	drops      chan drop
}

// Run opens the window and returns when it closes.
func Run(opt Options) error {
	g, err := newGame(opt)
	if err != nil {
		return err
	}
	defer g.out.Close()
	defer g.closeRecords()
	w, h := opt.Width, opt.Height
	if w <= 0 || h <= 0 {
		w, h = draw.GridW, draw.GridH
	}
	ebiten.SetWindowSize(w, h)
	ebiten.SetWindowSizeLimits(300, 200, -1, -1)
	ebiten.SetWindowResizingMode(ebiten.WindowResizingModeEnabled)
	ebiten.SetWindowTitle("slowneedle")
	ebiten.SetScreenClearedEveryFrame(false)
	if icon, err := assets.Icon(); err == nil {
		ebiten.SetWindowIcon([]image.Image{icon})
	}
	err = ebiten.RunGame(g)
	g.saveSoon(true)
	if err != nil && !errors.Is(err, ebiten.Termination) {
		return fmt.Errorf("the window cannot be opened: %w", err)
	}
	return nil
}

func newGame(opt Options) (*Game, error) {
	g := &Game{Speech: &words.Speech{}, opt: opt, seed: opt.Seed, scale: 1, dirty: true, probe: openProbe(opt.Probe), drops: make(chan drop, 4)}
	if g.seed == 0 {
		g.seed = rand.Uint64() >> 12 // exact in JSON numbers
	}
	set, wrong := loadSettings()
	g.set = set
	if err := g.applyWords(); err != nil {
		return nil, err
	}
	if wrong != nil {
		g.tell(g.Fault(wrong))
	}
	g.th = draw.ThemeNamed(g.set.Theme)
	g.out = output.Open()
	g.opening = openRecords()
	g.scene = &homeScene{}
	g.openSeries()
	switch {
	case !g.set.CautionSeen:
		g.scene = &cautionScene{}
	case opt.Code != "":
		g.first()
	}
	if opt.File != "" {
		g.openFile(opt.File)
	}
	return g, nil
}

// applyWords loads the words of the chosen language, or English.
func (g *Game) applyWords() error {
	w, err := assets.Load(g.set.Language)
	if err != nil {
		g.set.Language = "en"
		if w, err = assets.Load("en"); err != nil {
			return err
		}
	}
	g.Words = w
	return nil
}

// keep shows what has changed in the settings and remembers them soon: a run
// of changes is written once.
func (g *Game) keep() {
	g.th = draw.ThemeNamed(g.set.Theme)
	g.m = draw.Metrics{}
	g.dirty = true
	g.unsaved = time.Now()
}

// saveSoon writes changed settings half a second after the last change, or now.
func (g *Game) saveSoon(now bool) {
	if g.unsaved.IsZero() || !now && time.Since(g.unsaved) < time.Second/2 {
		return
	}
	g.unsaved = time.Time{}
	if err := saveSettings(g.set); err != nil {
		g.tell(g.Fault(err))
	}
}

// show goes to a screen.
func (g *Game) show(s scene) {
	if l, ok := g.scene.(leaver); ok {
		l.leave(g)
	}
	g.enter(s)
}

// enter goes to a screen without telling the one before, which stays as it is.
func (g *Game) enter(s scene) {
	g.scene, g.dirty, g.focus, g.hover = s, true, "", ""
	if !g.set.LessMotion {
		g.fadeEnds = time.Now().Add(fadeTime)
	}
	if time.Until(g.noticeEnds) < noticeTime-2*time.Second {
		g.notice = "" // it has been seen
	}
}

const noticeTime = 12 * time.Second

// tell shows one sentence for a while.
func (g *Game) tell(sentence string) { g.tellFor(noticeTime, sentence) }

// tellFor shows one sentence for so long.
func (g *Game) tellFor(d time.Duration, sentence string) {
	g.notice, g.noticeEnds, g.dirty = sentence, time.Now().Add(d), true
	g.probe.note("notice", map[string]any{"text": sentence})
}

// Update runs once a tick.
func (g *Game) Update() error {
	g.in.read(g.m)
	g.pad.read()
	g.probe.hands(g.in.down || g.pad.busy())
	g.takeDrops()
	g.takeRecords(false)
	g.takeKept()
	if silent, _ := g.out.Silent(); silent != g.silent {
		g.silent, g.dirty = silent, true
		g.probe.note("sound", map[string]any{"silent": silent})
	}
	g.takeClass()
	g.saveSoon(g.quit)
	if g.notice != "" && time.Now().After(g.noticeEnds) {
		g.notice, g.dirty = "", true
	}
	if inpututil.IsKeyJustPressed(ebiten.KeyF11) {
		ebiten.SetFullscreen(!ebiten.IsFullscreen())
	}
	if !g.m.TooSmall && g.m.Unit > 0 && g.keeping == nil {
		before := g.scene
		g.takeTyped()
		if done := false; !g.pressHots() {
			for _, a := range g.scene.actions(g) {
				if done = a.held() || g.pad.starts(a); done {
					g.dirty = g.dirty || !a.moves
					a.do(g)
					break
				}
			}
			if way := g.pad.moves(); !done && way != 0 {
				g.moveFocus(way < 0)
			}
		}
		if g.scene == before {
			g.scene.update(g)
		}
	}
	if g.quit {
		g.show(&homeScene{})
		g.saveSoon(true)
		return ebiten.Termination
	}
	return nil
}

// LayoutF gives the screen every pixel the window has.
func (g *Game) LayoutF(w, h float64) (float64, float64) {
	if s := ebiten.Monitor().DeviceScaleFactor(); s > 0 {
		g.scale = s
	}
	return max(1, w*g.scale), max(1, h*g.scale)
}

// Layout is LayoutF in whole points; the window library asks for LayoutF.
func (g *Game) Layout(w, h int) (int, int) {
	fw, fh := g.LayoutF(float64(w), float64(h))
	return int(fw), int(fh)
}

// Draw paints the screen: what stands still when it has changed, what moves
// every time.
func (g *Game) Draw(screen *ebiten.Image) {
	size := screen.Bounds().Size()
	if m := draw.Measure(size.X, size.Y, g.scale, g.textScale()); m != g.m {
		g.m, g.dirty = m, true
	}
	fading := g.fading()
	if g.fresh && !g.dirty && fading == 0 { // what was drawn last is on the window by now
		g.fresh = false
		g.noteLayout()
	}
	g.drawn = calm(g.drawn)
	if g.dirty {
		g.fresh = g.probe != nil
		g.drawStill()
		g.whole = true
	}
	if g.whole || fading > 0 {
		screen.DrawImage(g.board, nil)
		if r, ok := g.scene.(interface{ redraw() }); ok {
			r.redraw()
		}
		g.whole = fading > 0 // once more when it has passed
	}
	if l, ok := g.scene.(living); ok && !g.m.TooSmall {
		g.moved.Img, g.moved.M, g.moved.Theme = screen, g.m, g.th
		l.live(g, &g.moved)
		g.moved.Ink.Flush(screen)
	}
	if fading > 0 {
		g.moved.Ink.Box(screen, 0, 0, float64(size.X), float64(size.Y), veil(g.th.Ground, fading))
		g.moved.Ink.Flush(screen)
	}
	g.frames++
	g.probe.pace(g.frames, g.scene.name(), time.Since(g.drawn))
}

// calm waits where no display holds the frames back to its own rate, so that
// no more than about 60 are drawn a second, and returns the time.
func calm(before time.Time) time.Time {
	const frame = time.Second / 60
	if since := time.Since(before); since < frame*3/4 {
		time.Sleep(frame - since)
	}
	return time.Now()
}

func (g *Game) drawStill() {
	if g.board == nil || g.board.Bounds().Dx() != g.m.PxW || g.board.Bounds().Dy() != g.m.PxH {
		if g.board != nil {
			g.board.Deallocate()
		}
		g.board = ebiten.NewImage(g.m.PxW, g.m.PxH)
	}
	g.dirty = false
	g.hots = g.hots[:0]
	c := &g.still
	c.Img, c.M, c.Theme = g.board, g.m, g.th
	c.Written = g.probe.writing()
	g.board.Fill(g.th.Ground)
	g.final.board.Reset(g.m.PxW, g.m.PxH)
	c.Ink.Marks = &g.final.board
	if g.m.TooSmall {
		st := draw.Style{Size: 15, Color: g.th.Ink, Align: draw.Middle}
		c.M.Unit, c.M.Text = g.scale, 1
		c.M.W, c.M.H = float64(g.m.PxW)/g.scale, float64(g.m.PxH)/g.scale
		y := c.M.H / 2
		for _, l := range c.Wrap(g.Say("window.small"), c.M.W-24, st) {
			c.Text(c.M.W/2, y, l, st)
			y += c.Lead(st)
		}
		c.Ink.Flush(g.board)
		return
	}
	g.scene.draw(g, c)
	sort.SliceStable(g.hots, func(i, j int) bool { // the focus goes to the bar last
		return !strings.HasPrefix(g.hots[i].id, "key.") && strings.HasPrefix(g.hots[j].id, "key.")
	})
	for _, h := range g.hots {
		if h.id == g.focus {
			c.Frame(h.r.Grow(3), 8, 3, g.th.Amber)
		}
	}
	c.Ink.Flush(g.board)
}

// restore puts back what stands still in a rectangle of the screen.
func (g *Game) restore(c *draw.Canvas, r draw.Rect) {
	p := c.Pixels(r)
	if p.Empty() || g.board == nil {
		return
	}
	c.Ink.Flush(c.Img)
	var op ebiten.DrawImageOptions
	op.Blend = ebiten.BlendCopy
	op.GeoM.Translate(float64(p.Min.X), float64(p.Min.Y))
	c.Img.DrawImage(g.board.SubImage(p).(*ebiten.Image), &op)
}

// noteLayout tells a probe which screen stands and where its hot places are.
func (g *Game) noteLayout() {
	if g.probe == nil {
		return
	}
	places := map[string][4]float64{}
	add := func(id string, r draw.Rect) {
		k := g.m.Unit / g.scale
		places[id] = [4]float64{r.X * k, r.Y * k, r.W * k, r.H * k}
	}
	for _, h := range g.hots {
		add(h.id, h.r)
	}
	if p, ok := g.scene.(interface{ places(func(string, draw.Rect)) }); ok {
		p.places(add)
	}
	g.probe.note("screen", map[string]any{"scene": g.scene.name(), "places": places, "texts": g.probe.texts(g.m.Unit / g.scale), "small": g.m.TooSmall, "focus": g.focus})
}
