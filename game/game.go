// Package game is the trainer's window: the loop that draws and works its
// screens, the way from one to another, and the probe that tests look through.
// Everything else has a room of its own below it.
package game

import (
	"errors"
	"fmt"
	"image"
	"math/rand/v2"
	"os"
	"time"

	"github.com/hajimehoshi/ebiten/v2"

	"slowneedle/assets"
	"slowneedle/game/draw"
	"slowneedle/game/hand"
	"slowneedle/game/page"
	"slowneedle/game/practice"
	"slowneedle/game/scene"
	"slowneedle/game/sound"
	"slowneedle/game/store"
	"slowneedle/game/widget"
	"slowneedle/game/words"
)

// Options is how a trainer is started; the zero value is a normal start.
type Options struct {
	Seed          uint64   // of the session's rounds; 0 draws one
	Files         []string // recordings to make rounds from
	Width, Height int      // of the window, in points; 0 is 1280x800
	Version       string
	Probe         string // file that gets what happens as JSON lines
	Join          bool   // begin with joining a class
	Code          string // its class code, if it is known
	Server        string // address of the class server
}

// Game is the running trainer.
type Game struct {
	nav    navigation
	screen *widget.Screen
	hands  hand.State
	sound  *sound.Player
	prefs  *store.Keeper
	probe  *probe
	frame  frame
	quit   bool
	// mirroredSliders is where the page has the sliders.
	mirroredSliders map[string]page.Slider
}

// frame is what one drawing needs to know of the one before.
type frame struct {
	scale    float64 // pixels to a point
	count    int     // frames drawn
	pace     pace
	fadeEnds time.Time // of the passage from the screen before
	// layoutPending is set while a probe waits to be told of the screen drawn
	// last.
	layoutPending bool
}

// fadeTime is how long a new screen takes to come up out of the ground. With
// reduced motion it is there at once.
const fadeTime = 130 * time.Millisecond

// Run opens the window and returns when it closes.
func Run(opt Options) error {
	g, err := newGame(opt)
	if err != nil {
		return err
	}
	defer g.close()
	defer g.sound.Close()
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
	g.nav.Home() // what is shown is left
	g.flushSettings(true)
	if err != nil && !errors.Is(err, ebiten.Termination) {
		return fmt.Errorf("the window cannot be opened: %w", err)
	}
	return nil
}

func newGame(opt Options) (*Game, error) {
	g := &Game{probe: openProbe(opt.Probe), frame: frame{scale: 1}}
	g.screen = widget.NewScreen(&words.Speech{}, g.probe.note)
	var wrong error
	g.prefs, wrong = store.OpenSettings(g.settingsChanged)
	if err := g.loadWords(); err != nil {
		return nil, err
	}
	if wrong != nil {
		g.screen.Tell(g.screen.Fault(wrong))
	}
	g.sound = sound.OpenPlayer()
	seed := opt.Seed
	if seed == 0 {
		seed = rand.Uint64() >> 12 // exact in JSON numbers
	}
	r := practice.Reports{Tell: g.screen.Tell, Note: g.screen.Note, Changed: g.screen.Redraw}
	session := practice.NewSession(seed, opt.Version, g.prefs, practice.OpenRecords(g.screen.Speech, r))
	g.nav = navigation{screen: g.screen, session: session, sound: g.sound, opt: opt, quit: func() { g.quit = true }, shown: g.shown}
	g.nav.begin()
	if len(opt.Files) > 0 {
		session.OpenFiles(opt.Files...)
	}
	return g, nil
}

// close closes the journal once the last take is on the disk; what went wrong with
// it is printed where the trainer was started.
func (g *Game) close() {
	for _, s := range g.nav.session.Records.Close() {
		fmt.Fprintln(os.Stderr, "slowneedle:", s)
	}
}

// loadWords loads the words of the chosen language, or English.
func (g *Game) loadWords() error {
	err := g.screen.Load(g.prefs.Language)
	if err != nil {
		g.prefs.Language = "en"
		err = g.screen.Load("en")
	}
	return err
}

// settingsChanged shows what has changed in the settings.
func (g *Game) settingsChanged() {
	if g.prefs.Language != g.screen.Say("language.code") {
		if err := g.loadWords(); err != nil {
			g.screen.Tell(g.screen.Fault(err))
		}
	}
	g.screen.Redraw()
}

// flushSettings writes changed settings if the last change is half a second
// ago, or now.
func (g *Game) flushSettings(now bool) {
	if err := g.prefs.FlushSettings(now); err != nil {
		g.screen.Tell(g.screen.Fault(err))
	}
}

// shown begins the passage to another screen.
func (g *Game) shown() {
	g.screen.Enter()
	if !g.prefs.LessMotion {
		g.frame.fadeEnds = time.Now().Add(fadeTime)
	}
}

// Update runs once a tick.
func (g *Game) Update() error {
	s := g.screen
	g.hands.Read(s.M)
	if g.hands.Pressed {
		s.Touched = g.hands.Touch
	}
	g.probe.hands(g.hands.Busy())
	if dropped := ebiten.DroppedFiles(); dropped != nil {
		g.nav.session.Drop(dropped)
	}
	s.Update()
	g.nav.update()
	if g.sound.Look() {
		s.Redraw()
		g.probe.note("sound", map[string]any{"silent": g.sound.Quiet()})
	}
	g.flushSettings(g.quit)
	s.Forget(false)
	if g.hands.Went(ebiten.KeyF11) {
		ebiten.SetFullscreen(!ebiten.IsFullscreen())
	}
	if !s.M.TooSmall && s.M.Unit > 0 && !g.nav.session.Busy() {
		g.work()
	}
	if g.quit {
		return ebiten.Termination
	}
	return nil
}

// work lets the hands work the screen, and the screen its sound.
func (g *Game) work() {
	s, now := g.screen, g.nav.scene()
	f, _ := now.(hand.Form)
	changed := s.Areas.Point(&g.hands)
	if f != nil && s.Areas.Write(&g.hands, f) {
		changed = true
	}
	told := s.Told()
	done := s.Areas.Press(&g.hands, f) || s.Areas.Run(&g.hands, now.Actions(), f)
	if done || changed {
		s.Redraw()
	}
	if done {
		s.Done(told)
	}
	if g.nav.scene() == now {
		now.Update(&g.hands)
	}
}

// LayoutF gives the screen every pixel the window has.
func (g *Game) LayoutF(w, h float64) (float64, float64) {
	if s := ebiten.Monitor().DeviceScaleFactor(); s > 0 {
		g.frame.scale = s
	}
	return max(1, w*g.frame.scale), max(1, h*g.frame.scale)
}

// Layout is LayoutF in whole points; the window library asks for LayoutF.
func (g *Game) Layout(w, h int) (int, int) {
	fw, fh := g.LayoutF(float64(w), float64(h))
	return int(fw), int(fh)
}

// textScale is the factor on text: what the settings say, and the largest while
// a class looks on.
func (g *Game) textScale() float64 {
	if l, ok := g.nav.scene().(scene.LargeText); ok && l.LargeText() {
		return draw.MaxText
	}
	return g.prefs.TextPercent / 100
}

// theme is the palette that the settings ask for.
func (g *Game) theme() *draw.Theme { return draw.ThemeNamed(g.prefs.Theme, g.prefs.RedArc) }

// Draw draws a frame: the static layer if it has changed, what moves every time.
func (g *Game) Draw(window *ebiten.Image) {
	s, f, now := g.screen, &g.frame, g.nav.scene()
	size := window.Bounds().Size()
	if m := draw.Measure(size.X, size.Y, f.scale, g.textScale()); m != s.M {
		s.M = m
		s.Redraw()
	}
	veil := 0.0
	if left := time.Until(f.fadeEnds); left > 0 && !s.M.TooSmall {
		veil = float64(left) / float64(fadeTime)
	}
	if f.layoutPending && s.Picture.Drawn() && veil == 0 { // what was drawn last is on the window by now
		f.layoutPending = false
		g.probe.layout(now.Name(), s, f.scale)
	}
	drawn := f.pace.wait()
	th := g.theme()
	if !s.Picture.Drawn() {
		f.layoutPending = true
		s.DrawStatic(th, now.Draw)
		if page.Browser {
			g.mirror(now)
		}
	}
	if page.Browser {
		g.sliders(now)
	}
	moving, _ := now.(scene.Dynamic)
	if s.M.TooSmall {
		moving = nil
	}
	s.Picture.Dynamic(window, s.M, th, veil, func() {
		if moving != nil {
			moving.Restart()
		}
	}, func(c *draw.Canvas) {
		if moving != nil {
			moving.DrawDynamic(c)
		}
	})
	f.count++
	g.probe.pace(f.count, now.Name(), time.Since(drawn))
}

// DrawFinalScreen puts what Draw made on the window.
func (g *Game) DrawFinalScreen(window ebiten.FinalScreen, picture *ebiten.Image, geoM ebiten.GeoM) {
	var add func(*draw.Canvas, func(draw.Rect))
	if moving, ok := g.nav.scene().(scene.Dynamic); ok {
		add = moving.DynamicRects
	}
	g.screen.Picture.Present(window, picture, geoM, g.theme().Ground, add)
}
