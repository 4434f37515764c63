package window

import (
	"fmt"
	"os"
	"testing"

	"slowneedle/drills"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/ladder"
	"slowneedle/game/window/drive"
)

// everyScreen asks for every screen and every drill at every size.
var everyScreen = os.Getenv("SLOWNEEDLE_EVERY_SCREEN") != ""

// walk is a walk through the screens of a trainer in a window of a size: all that is on
// them in its place, nothing drawn in the outermost pixels, the verdicts right. It leaves a
// picture of each, whose name begins and ends as told.
func (a *app) walk(size, begins, ends string) drive.Walk {
	return drive.Walk{
		Trainer: a.Trainer,
		Look: func(name string, e event) {
			a.T.Helper()
			drive.Check(a.T, name, e, size)
			a.checkEdges(begins + name + "-" + ends)
		},
		Judge: func(e event) { a.T.Helper(); drive.CheckVerdict(a.T, e) },
	}
}

// handheld is a walk on a phone, touched by fingers.
func (a *app) handheld(size, begins, ends string) drive.Walk {
	w := a.walk(size, begins, ends)
	look := w.Look
	w.Look = func(name string, e event) {
		a.T.Helper()
		look(name, e)
		drive.CheckHands(a.T, name, e)
	}
	return w
}

// checkEdges takes a picture and wants its outermost pixels to be bare ground.
func (a *app) checkEdges(name string) {
	a.T.Helper()
	img := a.picture(name, a.root())
	b := img.Bounds()
	want := img.At(0, 0)
	for x := range b.Dx() {
		if img.At(x, 0) != want || img.At(x, b.Dy()-1) != want {
			a.T.Errorf("%s: something is drawn at the upper or lower edge, column %d", name, x)
			return
		}
	}
	for y := range b.Dy() {
		if img.At(0, y) != want || img.At(b.Dx()-1, y) != want {
			a.T.Errorf("%s: something is drawn at the left or right edge, line %d", name, y)
			return
		}
	}
}

// TestScreens goes through the main screens in the smallest and the usual
// window, in both themes, with large text and in German. With
// SLOWNEEDLE_EVERY_SCREEN=1 it goes through every screen and every drill at
// every size. It leaves a screenshot of each.
func TestScreens(t *testing.T) {
	type look struct {
		size, theme string
		text        int
		lang        string
	}
	looks := []look{
		{"960x600", "slate", 150, "en"}, {"1280x800", "paper", 100, "en"},
		{"960x600", "paper", 150, "de"}, {"1280x800", "slate", 100, "de"},
	}
	if everyScreen {
		looks = looks[2:]
		for _, size := range []string{"960x600", "1280x800", "1024x768", "1920x1080", "3840x2160"} {
			for _, theme := range []string{"slate", "paper"} {
				looks = append(looks, look{size, theme, 100, "en"}, look{size, theme, 150, "en"})
			}
		}
	}
	for _, l := range looks {
		name := fmt.Sprintf("%s-%s-%d", l.size, l.theme, l.text)
		if l.lang != "en" {
			name += "-" + l.lang
		}
		t.Run(name, func(t *testing.T) {
			inTurn(t)
			drill := drills.SetTake
			if everyScreen {
				drill = drills.LineUp
			}
			w := start(t, options{size: l.size, settings: fmt.Sprintf(
				`{"drill":%q,"theme":%q,"text_percent":%d,"language":%q,"reduced_motion":true}`, drill, l.theme, l.text, l.lang)}).walk(l.size, "", name)
			w.Short = l.size != "1280x800"
			if everyScreen {
				w.Everywhere(drill)
				return
			}
			w.Tour()
			w.Around()
			w.Drill(drill)
			w.See("h", "help", "help-home")
		})
	}
}

// TestPhones goes through every screen at the sizes of phones: all in the window
// and apart, nothing too small for a finger or an eye. The smallest phone is
// tried always, both ways up, with half of the drills; with
// SLOWNEEDLE_EVERY_SCREEN=1 all drills at all sizes, a tablet's among them.
func TestPhones(t *testing.T) {
	sizes, first := []string{"360x740", "740x360"}, drills.WholeDesk
	if everyScreen {
		sizes, first = append(sizes, "390x844", "844x390", "768x1024"), drills.LineUp
	}
	for _, size := range sizes {
		t.Run(size, func(t *testing.T) {
			inTurn(t)
			a := start(t, options{size: size, settings: fmt.Sprintf(`{"drill":%q,"reduced_motion":true}`, first)})
			a.handheld(size, "phone-", size).Everywhere(first)
		})
	}
}

// TestEveryDrill plays each drill by keyboard to its verdict: in English in the usual
// window, and in German, whose words are longer, in the smallest window with the largest
// text; with SLOWNEEDLE_EVERY_SCREEN=1 in German in the usual window and on a phone too.
func TestEveryDrill(t *testing.T) {
	type look struct {
		size, lang string
		text       int
	}
	looks := []look{{"1280x800", "en", 100}, {"960x600", "de", 150}}
	if everyScreen {
		looks = append(looks, look{"1280x800", "de", 100}, look{"390x844", "de", 100}, look{"844x390", "de", 100})
	}
	settings := `{"caution_seen":true,"drill":%q,"reduced_motion":true,"language":%q,"text_percent":%d}`
	for _, l := range looks {
		name := fmt.Sprintf("%s-%s-%d", l.size, l.lang, l.text)
		t.Run(name, func(t *testing.T) {
			inTurn(t)
			w := start(t, options{size: l.size, settings: fmt.Sprintf(settings, drills.LineUp, l.lang, l.text)}).walk(l.size, "drill-", name)
			w.Short = true // ride has a window of its own
			w.Screen("home")
			w.Drills(drills.LineUp)
		})
	}
	t.Run(drills.Ride, func(t *testing.T) {
		t.Parallel()
		w := start(t, options{size: "640x400", settings: fmt.Sprintf(settings, drills.Ride, "en", 100)}).walk("640x400", "drill-", "640x400-en-100")
		w.Screen("home")
		w.Drill(drills.Ride)
	})
}

// TestPhoneHardest plays the hardest round of every drill in German on a small
// phone: more channels, two faders, needles to choose from, longer words.
func TestPhoneHardest(t *testing.T) {
	if !everyScreen {
		return
	}
	for _, size := range []string{"360x740", "740x360"} {
		for _, d := range drills.Drills() {
			t.Run(d.ID+"-"+size, func(t *testing.T) {
				inTurn(t)
				a := start(t, options{size: size, args: []string{"--code", hardest(t, d.ID)}, settings: `{"caution_seen":true,"language":"de","reduced_motion":true}`})
				w := a.handheld(size, "phone-german-", size)
				w.Look("join-"+d.ID, w.Screen("join"))
				w.Named("Moonrake")
				w.See("Return", "round", "card-"+d.ID)
				w.Play(d.ID)
				if d.ID != drills.Ride { // it runs its length
					w.Finish(d.ID)
				}
			})
		}
	}
}

// hardest is the class code of a round of a drill with the most faders and
// needles of those with a few seeds.
func hardest(t *testing.T, drill string) (code string) {
	t.Helper()
	most := -1
	for seed := range uint32(12) {
		n := sheet.New(seed)
		n.Drill, n.Rounds, n.Level = drill, 1, ladder.Top
		e, err := n.Exercise(0)
		if err != nil {
			t.Fatal(err)
		}
		if has := len(e.Channels) + e.View.Needles; has > most {
			most = has
			if code, err = n.Code(); err != nil {
				t.Fatal(err)
			}
		}
	}
	return code
}
