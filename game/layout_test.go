package game

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/listen"
	"slowneedle/audio/source"
	"slowneedle/drills"
	"slowneedle/drills/class/client"
	"slowneedle/drills/class/sheet"
	"slowneedle/drills/plan"
	"slowneedle/drills/progress"
	"slowneedle/drills/testform"
	"slowneedle/game/draw"
	"slowneedle/game/given"
	"slowneedle/game/hand"
	"slowneedle/game/practice"
	"slowneedle/game/scene/class"
	"slowneedle/game/sound"
	"slowneedle/game/store"
)

// pose is a screen in one of its states.
type pose struct {
	name string
	take func(t *testing.T, n *navigation)
}

// poses are the screens in the states that look unlike.
func poses() []pose {
	keys := func(ids ...string) func(*testing.T, *navigation) {
		return func(t *testing.T, n *navigation) {
			for _, id := range ids {
				n.press(t, id)
			}
		}
	}
	all := []pose{
		{"home", keys()},
		{"home with a sentence", func(t *testing.T, n *navigation) { n.screen.Tell(n.screen.Say("journal.in_use")) }},
		{"home with the drills unfolded", func(t *testing.T, n *navigation) { n.pressOn(t, "fold.drill") }},
		{"home with the rigs unfolded", func(t *testing.T, n *navigation) { n.pressOn(t, "fold.rig") }},
		{"home in a practice", func(t *testing.T, n *navigation) { practiceOf(t, n, 5) }},
		{"home after a practice", func(t *testing.T, n *navigation) { practiceOf(t, n, 30) }},
		{"home of a learner", func(t *testing.T, n *navigation) { n.session.Records.Book = practised() }},
		{"settings", keys("settings")},
		{"settings, the rig", keys("settings", "up", "up")},
		{"recordings, none", func(t *testing.T, n *navigation) { n.Recordings() }},
		{"home with own recordings", func(t *testing.T, n *navigation) {
			n.session.Prefs.Change(func(s *store.Settings) { s.Family = source.Own })
		}},
		{"recordings", func(t *testing.T, n *navigation) {
			n.session.Own.List = given.At("/home/learner/music/band on the stairs, take 3.wav", "/home/learner/choir.flac", "/media/stick/a very long name of a recording that was made on a very long evening.wav")
			n.Recordings()
		}},
		{"help of recordings", func(t *testing.T, n *navigation) { n.Recordings(); n.press(t, "help") }},
		{"progress, nothing yet", keys("progress")},
		{"progress", func(t *testing.T, n *navigation) {
			n.session.Records.Book = practised()
			n.press(t, "progress")
			n.press(t, "view")
		}},
		{"progress, the steps", func(t *testing.T, n *navigation) {
			n.session.Records.Book = practised()
			n.press(t, "progress")
		}},
		{"progress, the steps and what is heard", func(t *testing.T, n *navigation) {
			b := practised()
			for i := range 150 {
				kind, level := drills.OddKinds()[i/40], 1+i%14 // the last was answered too seldom
				b.Add(progress.Mark{At: time.Unix(1.8e9+int64(i)*600, 0), Drill: drills.OddOne, Family: source.Voice, Level: level, NoError: true,
					Right: level < 8 || i%3 == 0, Odd: kind, OddDB: drills.OddAmount(kind, level)})
			}
			n.session.Records.Book = b
			n.press(t, "progress")
		}},
		{"progress, the steps of a beginner", func(t *testing.T, n *navigation) {
			practiceOf(t, n, 3)
			n.session.Prefs.Change(func(p *store.Settings) { p.Drill = drills.WholeDesk })
			n.press(t, "progress")
		}},
		{"progress, a real desk", func(t *testing.T, n *navigation) {
			n.session.Records.Book = practised()
			for i := range 40 {
				n.session.Records.Book.Add(progress.Mark{At: time.Now(), Drill: progress.RealDesk, Family: source.Generated()[i%3], ErrorDB: float64(i%7) - 3, Right: i%7 > 1})
			}
			n.press(t, "progress")
			n.press(t, "view")
			n.press(t, "view")
		}},
		{"listening, without an input", func(t *testing.T, n *navigation) { n.Listen() }},
		{"help of listening", func(t *testing.T, n *navigation) { n.Listen(); n.press(t, "help") }},
		{"own source, the verdict", func(t *testing.T, n *navigation) {
			ear := listen.New(practice.EarSeconds, -6, 0.15)
			tone := make([]float32, 12*audio.Rate)
			for i := range tone {
				tone[i] = float32(0.2 * math.Sin(float64(i)/20))
			}
			ear.Take([2][]float32{tone, tone})
			a, err := n.session.Hear(ear, 0)()
			if err != nil {
				t.Fatal(err)
			}
			n.Set(a, sound.History{})
			for end := time.Now().Add(time.Minute); n.scene().Name() != "verdict"; n.update() {
				if time.Now().After(end) {
					t.Fatal("the take is not kept")
				}
			}
		}},
		{"join", keys("class")},
		{"join by finger", func(t *testing.T, n *navigation) { n.screen.Touched = true; n.press(t, "class") }},
		{"join, refused", func(t *testing.T, n *navigation) {
			n.Join("4GR4 HPKH AQ85", "Moonrake")
			n.press(t, "enter")
		}},
		{"join with names of the class", joinWithNames},
		{"join with names by finger", func(t *testing.T, n *navigation) { n.screen.Touched = true; joinWithNames(t, n) }},
		{"home with rounds of a class", func(t *testing.T, n *navigation) { classBegun(t, n); n.Home() }},
		{"home with rounds of a class, its drills unfolded", func(t *testing.T, n *navigation) { classBegun(t, n); n.Home(); n.pressOn(t, "fold.drill") }},
		{"hand-in of an exam", func(t *testing.T, n *navigation) {
			s := sheet.New(4711)
			s.Exam = true
			exam, err := practice.NewSeries(s, "Moonrake", "", "Evening class")
			if err != nil {
				t.Fatal(err)
			}
			exam.State = practice.HandIn
			n.session.Series = exam
			n.handIn()
		}},
		{"sheet", keys("class", "sheet")},
		{"sheet, the second half", keys("class", "sheet", "up", "up")},
		{"tour 1", keys("help", "tour")},
		{"tour 2", keys("help", "tour", "enter")},
		{"tour 3", keys("help", "tour", "enter", "enter")},
		{"cautions", keys("help", "cautions")},
		{"help of home", keys("help")},
		{"help of settings", keys("settings", "help")},
		{"help of a round", func(t *testing.T, n *navigation) {
			n.session.Prefs.Change(func(p *store.Settings) { p.Drill = drills.Alignment })
			n.press(t, "enter")
			n.press(t, "help")
		}},
		{"help of join", keys("class", "help")},
		{"hand-in", handedIn},
		{"the card in a practice", func(t *testing.T, n *navigation) { practiceOf(t, n, 5); n.press(t, "enter") }},
		{"the verdict in a practice", func(t *testing.T, n *navigation) {
			practiceOf(t, n, 5)
			n.press(t, "enter")
			answer(t, n, n.session.Records.Last().Ahead[0].Drill)
		}},
		{"the verdict with a remark", func(t *testing.T, n *navigation) {
			for range 6 {
				for _, f := range source.Generated() {
					n.session.Records.Book.Add(progress.Mark{At: time.Now(), Drill: drills.SetTake, Family: f, ErrorDB: -3})
				}
			}
			n.session.Prefs.Change(func(p *store.Settings) { p.Drill = drills.SetTake })
			n.press(t, "enter")
			answer(t, n, drills.SetTake)
			n.showsRemark(t)
		}},
		{"the estimate", estimated},
		{"home in a practice without verdicts", func(t *testing.T, n *navigation) {
			practiceOf(t, n, 5)
			n.session.Prefs.Change(func(s *store.Settings) { s.Practice.Done[1].Untold = true })
		}},
		{"summary with estimates", func(t *testing.T, n *navigation) {
			practiceOf(t, n, 12)
			n.session.Prefs.Change(func(s *store.Settings) {
				for i := range s.Practice.Done {
					db := float64(i%3) - 2
					s.Practice.Done[i].EstimateDB = &db
				}
			})
			n.Summary()
		}},
		{"help of estimate", func(t *testing.T, n *navigation) { estimated(t, n); n.press(t, "help") }},
		{"summary", func(t *testing.T, n *navigation) { practiceOf(t, n, 12); n.Summary() }},
		{"summary of one round", func(t *testing.T, n *navigation) { practiceOf(t, n, 1); n.EndPractice() }},
		{"test form", keys("test")},
		{"help of testform", keys("test", "help")},
		{"the card of a test form", keys("test", "enter")},
		{"test form, going on", func(t *testing.T, n *navigation) { formsOf(n, 0.2); n.press(t, "test") }},
		{"test form, done", func(t *testing.T, n *navigation) { formsOf(n, 1, 1); n.testForm(true) }},
		{"test form, what changed", func(t *testing.T, n *navigation) { formsOf(n, 1, 1, 1); n.press(t, "test"); n.press(t, "change") }},
		{"home with a test form due", func(t *testing.T, n *navigation) { formsOf(n, 1, 1) }},
		{"hand-in of a test form", func(t *testing.T, n *navigation) { handedInForm(t, n) }},
		{"help of summary", func(t *testing.T, n *navigation) { practiceOf(t, n, 1); n.EndPractice(); n.press(t, "help") }},
	}
	all = append(all, pose{"soundcheck, the take", func(t *testing.T, n *navigation) {
		n.session.Prefs.Change(func(p *store.Settings) { p.Drill = drills.Soundcheck })
		for _, id := range []string{"enter", "enter", "pageup", "enter"} {
			n.press(t, id)
		}
		for end := time.Now().Add(time.Minute); n.scene().Actions()[0].Label != n.screen.Say("round.take_over"); n.update() {
			if time.Now().After(end) {
				t.Fatal("the take does not begin")
			}
		}
	}})
	for _, d := range drills.Drills() {
		for _, classroom := range []bool{false, true} {
			name, begin := d.ID, "enter"
			if classroom {
				if d.ID != drills.SetTake && d.ID != drills.WholeDesk {
					continue
				}
				name, begin = name+" for a class", "demonstration"
			}
			choose := func(t *testing.T, n *navigation) {
				n.session.Prefs.Change(func(p *store.Settings) { p.Drill = d.ID })
				n.press(t, begin)
			}
			all = append(all, pose{name + ", the card", choose},
				pose{name, func(t *testing.T, n *navigation) { choose(t, n); n.press(t, "enter") }})
			all = append(all, pose{name + " with a sentence", func(t *testing.T, n *navigation) {
				choose(t, n)
				n.press(t, "enter")
				n.screen.Tell(n.screen.Say("journal.in_use"))
			}})
			if d.FixedLength {
				continue
			}
			all = append(all, pose{name + ", the verdict", func(t *testing.T, n *navigation) {
				choose(t, n)
				answer(t, n, d.ID)
				if classroom {
					n.press(t, "enter")
				}
			}})
		}
	}
	return all
}

// showsRemark fails if a verdict has no remark in a window of the usual size.
func (n *navigation) showsRemark(t *testing.T) {
	t.Helper()
	for _, item := range draw.Items(draw.Measure(1280, 800, 1, 1), &draw.Slate, n.scene().Draw) {
		if strings.Contains(item.Label, "From your own past") {
			return
		}
	}
	t.Error("the verdict shows no remark")
}

// answer plays a round and locks it.
func answer(t *testing.T, n *navigation, drill string) {
	n.press(t, "enter")
	if drill == drills.TrustIt || drill == drills.OddOne {
		n.press(t, "right")
	} else {
		n.press(t, "pageup")
	}
	n.press(t, "enter")
	for end := time.Now().Add(time.Minute); n.scene().Name() == "round"; n.update() {
		if all := n.scene().Actions(); len(all) > 0 && all[0].Label == n.screen.Say("round.take_over") { // the take that follows need not be heard
			all[0].Do()
		}
		if time.Now().After(end) {
			t.Fatalf("%s: the take is not kept", drill)
		}
	}
}

// handedIn plays a class's only round.
func handedIn(t *testing.T, n *navigation) {
	s := sheet.New(4711)
	s.Rounds, s.Time = 1, sheet.NoLimit
	code, err := s.Code()
	if err != nil {
		t.Fatal(err)
	}
	n.Join(code, "Moonrake")
	n.press(t, "enter")
	answer(t, n, s.Drill)
	n.press(t, "enter")
}

// estimated is the question how far off one is.
func estimated(t *testing.T, n *navigation) {
	n.session.Prefs.Change(func(p *store.Settings) { p.Drill, p.Estimate = drills.SetTake, true })
	for _, id := range []string{"enter", "enter", "pageup", "enter", "up"} {
		n.press(t, id)
	}
}

// joinWithNames is joining a class that has a list of names.
func joinWithNames(t *testing.T, n *navigation) {
	n.Join("4GR4 HPKH AQ85", "Sa")
	form := n.scene().(*class.Join).Form
	form.Class = &client.Class{Title: "Sound engineering, evening class", Roster: true}
	form.Names = []string{"Salt Heron", "Salt Moth", "Sable Marten of the Long Meadow", "Sandpiper"}
}

// classBegun is a class's sheet of which a round is left.
func classBegun(t *testing.T, n *navigation) {
	s := sheet.New(4711)
	s.Rounds, s.Time = 2, sheet.NoLimit
	code, err := s.Code()
	if err != nil {
		t.Fatal(err)
	}
	n.Join(code, "Moonrake")
	n.press(t, "enter")
	answer(t, n, s.Drill)
}

// formsOf are test forms of which so much was played, 30 days after one another, the
// last a month ago if it was played to its end.
func formsOf(n *navigation, shares ...float64) {
	for i, share := range shares {
		s, _ := sheet.NewForm(2, testform.Forms[i])
		code, _ := s.Code()
		at := time.Now().AddDate(0, 0, 30*(i-len(shares)))
		if share < 1 {
			at = time.Now()
		}
		for j := range int(share * testform.Rounds) {
			n.session.Records.Book.Add(progress.Mark{At: at, Drill: drills.SetTake, ErrorDB: float64(j%7-3) * []float64{1, 0.4, 0.5}[i], Form: code})
		}
	}
}

// handedInForm is the end of a test form that a class plays.
func handedInForm(t *testing.T, n *navigation) {
	s, _ := sheet.NewForm(2, testform.A)
	code, _ := s.Code()
	n.Join(code, "Moonrake")
	n.press(t, "enter")
	n.handIn()
}

// pressOn draws the screen that is shown and presses a place on it.
func (n *navigation) pressOn(t *testing.T, name string) {
	t.Helper()
	n.screen.Areas.Clear()
	n.screen.M = draw.Measure(1280, 800, 1, 1)
	for _, item := range draw.Items(n.screen.M, &draw.Slate, n.scene().Draw) {
		if item.Name == name {
			in := &hand.State{}
			in.Pressed, in.X, in.Y = true, item.Place.X+5, item.Place.Y+5
			n.screen.Areas.Point(in)
			n.screen.Areas.Press(in, nil)
			return
		}
	}
	t.Fatalf("there is no %q to press", name)
}

// practiceOf plays rounds of a practice on a book, some of them wrong.
func practiceOf(t *testing.T, n *navigation, rounds int) {
	t.Helper()
	r, at := n.session.Records, time.Now().Add(-time.Hour)
	r.Book = practised()
	p := plan.New(r.Book.Rank(everything(), at), plan.Normal, at)
	for i := range rounds {
		turn, ok := p.Next()
		if !ok {
			break
		}
		m := progress.Mark{At: at, Drill: turn.Drill, Family: turn.Family, Rig: "digital", Level: 5, ErrorDB: 4.5 - float64(i)/2, ToleranceDB: 1.5, Right: i > 4}
		r.Book.Add(m)
		p.Add(m)
	}
	n.session.Prefs.Change(func(s *store.Settings) { s.Practice = p })
}

// everything is all that can be practised.
func everything() (all []progress.Key) {
	for _, d := range drills.Drills() {
		for _, f := range d.Families {
			all = append(all, progress.Key{Drill: d.ID, Family: f})
		}
	}
	return all
}

// practised is the book of a learner who has practised everything.
func practised() *progress.Book {
	b := &progress.Book{}
	for i := range 200 {
		all := source.Generated()
		b.Add(progress.Mark{At: time.Unix(1.7e9+int64(i)*600, 0), Drill: drills.SetTake, Family: all[i%len(all)], Rig: "digital", Level: 3, ErrorDB: float64(i%5) - 1.5, Right: i%3 > 0, Points: 60})
	}
	return b
}

// window is how a screen is looked at.
type window struct {
	w, h  int
	text  float64
	lang  string
	scale float64
}

// windows are sizes at which something once lay over something, and random ones
// from the smallest on in which a screen is drawn.
func windows(rng *rand.Rand, n int) []window {
	all := []window{
		{480, 300, 1, "en", 1}, {520, 320, 1, "en", 1}, {600, 340, 1.5, "de", 1}, {360, 740, 1, "de", 1}, {740, 360, 1, "de", 1},
		{300, 480, 1.5, "de", 1}, {480, 300, 1.5, "de", 1}, {960, 600, 1.5, "de", 1}, {1280, 800, 1, "de", 1}, {768, 1024, 1, "de", 1},
	}
	for len(all) < n {
		short, long := 300+rng.IntN(700), 480+rng.IntN(1440)
		v := window{long, short, []float64{1, 1.25, 1.5}[rng.IntN(3)], []string{"en", "de"}[rng.IntN(2)], 1 + rng.Float64()}
		if rng.IntN(3) == 0 {
			v.w, v.h = short, max(long, 480)
		}
		all = append(all, v)
	}
	return all
}

// smallWindows are random sizes from 300x200 on, of any shape. In many of them there
// is one sentence in place of a screen.
func smallWindows(rng *rand.Rand, n int) []window {
	all := []window{{300, 200, 1, "de", 1}, {300, 200, 1.5, "en", 2}, {200, 300, 1.5, "de", 1}, {300, 479, 1, "de", 1.5}}
	for len(all) < n {
		all = append(all, window{300 + rng.IntN(400), 200 + rng.IntN(400), []float64{1, 1.25, 1.5}[rng.IntN(3)], []string{"en", "de"}[rng.IntN(2)], 1 + rng.Float64()})
	}
	return all
}

// Whatever the size of the window, of the text and the language, everything that
// is written and everything that can be pressed lies in the window, and nothing
// over anything else.
func TestNothingLiesOverAnything(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 7))
	looks := append(windows(rng, 24), smallWindows(rng, 24)...)
	for _, p := range poses() {
		n := newNavigation(t)
		p.take(t, n)
		faults := 0
		for _, v := range looks {
			for _, fault := range n.lookAt(t, v) {
				if faults++; faults < 8 {
					t.Errorf("%s at %dx%d, text %.0f %%, %s, %.2f dots: %s", p.name, v.w, v.h, 100*v.text, v.lang, v.scale, fault)
				}
			}
		}
		if faults > 0 {
			t.Errorf("%s: %d faults", p.name, faults)
		}
		n.sound.Stop()
	}
}

// A sentence that comes or goes in a round leaves every fader, and every other
// control, where a hand holds it, whatever the size of the window.
func TestASentenceMovesNoFader(t *testing.T) {
	looks := windows(rand.New(rand.NewPCG(12, 7)), 24)
	for _, d := range drills.Drills() {
		n := newNavigation(t)
		n.session.Prefs.Change(func(p *store.Settings) { p.Drill = d.ID })
		n.press(t, "enter")
		n.press(t, "enter")
		for _, v := range looks {
			n.screen.Notice = ""
			n.lookAt(t, v)
			before := draw.Items(n.screen.M, &draw.Slate, n.scene().Draw)
			n.screen.Tell(n.screen.Say("journal.in_use"))
			told := false
			var after []draw.Item
			for _, item := range draw.Items(n.screen.M, &draw.Slate, n.scene().Draw) {
				told = told || item.Name == "notice"
				if item.Name != "notice" && item.Role != draw.RoleText {
					after = append(after, item)
				}
			}
			before = slices.DeleteFunc(before, func(i draw.Item) bool { return i.Role == draw.RoleText })
			if !told {
				t.Errorf("%s at %dx%d: the sentence is not shown", d.ID, v.w, v.h)
			}
			if !slices.Equal(before, after) {
				t.Errorf("%s at %dx%d, text %.0f %%, %s: with a sentence the controls stand at\n%v, without at\n%v", d.ID, v.w, v.h, 100*v.text, v.lang, after, before)
			}
		}
		n.sound.Stop()
	}
}

// The arrows of the settings stay under the pointer that presses them, whatever value
// comes to stand between them.
func TestArrowsStay(t *testing.T) {
	for _, lang := range []string{"en", "de"} {
		n := newNavigation(t)
		n.press(t, "settings")
		places := func() map[string]draw.Rect {
			n.lookAt(t, window{w: 1280, h: 800, scale: 1, text: 1, lang: lang})
			all := map[string]draw.Rect{}
			for _, i := range draw.Items(n.screen.M, &draw.Slate, n.scene().Draw) {
				if strings.HasPrefix(i.Name, "set.") && (strings.HasSuffix(i.Name, ".less") || strings.HasSuffix(i.Name, ".more")) {
					all[i.Name] = i.Place
				}
			}
			return all
		}
		first := places()
		if len(first) < 20 {
			t.Fatalf("%d arrows: %v", len(first), first)
		}
		for name := range first {
			if strings.HasPrefix(name, "set.input.") {
				continue // it asks the sound server
			}
			for range 3 {
				n.pressOn(t, name)
				if now := places(); !maps.Equal(now, first) {
					t.Fatalf("%s: after a press of %s the arrows stand at\n%v, before at\n%v", lang, name, now, first)
				}
			}
		}
	}
}

// On a phone the choices of the first screen stay under the finger that goes through the
// drills, however many lines stand above them.
func TestPicksStay(t *testing.T) {
	n := newNavigation(t)
	var first draw.Rect
	for i := range 2 * len(drills.Drills()) {
		n.lookAt(t, window{w: 390, h: 780, scale: 1, text: 1, lang: "en"})
		items := draw.Items(n.screen.M, &draw.Slate, n.scene().Draw)
		at := slices.IndexFunc(items, func(i draw.Item) bool { return i.Name == "drill.more" })
		if at < 0 {
			t.Fatalf("no arrow beside the drill: %v", items)
		}
		if place := items[at].Place; i == 0 {
			first = place
		} else if place != first {
			t.Errorf("with the drill %q the arrow stands at %v, at first at %v", n.session.Prefs.Drill, place, first)
		}
		n.press(t, "drill")
	}
}

// lookAt is what is wrong with the shown screen in a window.
func (n *navigation) lookAt(t *testing.T, v window) (faults []string) {
	t.Helper()
	if err := n.screen.Load(v.lang); err != nil {
		t.Fatal(err)
	}
	text := v.text
	if l, ok := n.scene().(interface{ LargeText() bool }); ok && l.LargeText() {
		text = draw.MaxText
	}
	m := draw.Measure(int(float64(v.w)*v.scale), int(float64(v.h)*v.scale), v.scale, text)
	n.screen.M = m
	n.screen.Areas.Clear()
	items := draw.Items(m, &draw.Slate, func(c *draw.Canvas) { n.screen.DrawScene(c, n.scene().Draw) })
	if len(items) == 0 || len(items) < 2 && !m.TooSmall {
		faults = append(faults, "nothing is drawn")
	}
	under := slices.IndexFunc(items, func(i draw.Item) bool { return i.Name == "notice" })
	if under < 0 || n.scene().Name() == "round" { // where a sentence has a place of its own
		under = len(items)
	}
	point := v.scale / m.Unit
	for i, a := range items {
		if a.Role == draw.RoleSlider {
			continue
		}
		p := a.Place
		if p.X < -point/2 || p.Y < -point/2 || p.Right() > m.W+point/2 || p.Bottom() > m.H+point/2 {
			faults = append(faults, fmt.Sprintf("%s is outside: %.0f of %.0f by %.0f", called(a), p, m.W, m.H))
		}
		if a.Role == draw.RoleText && m.Least > 0 && a.Size < m.Least*0.99 {
			faults = append(faults, fmt.Sprintf("%s is written %.1f points high", called(a), a.Size/point))
		}
		for k, b := range items[:i] {
			if b.Role == draw.RoleSlider || i >= under && k < under && !strings.HasPrefix(b.Name, "key.") { // a sentence lies over the screen, not over its bar
				continue
			}
			q := b.Place
			across, down := math.Min(p.Right(), q.Right())-math.Max(p.X, q.X), math.Min(p.Bottom(), q.Bottom())-math.Max(p.Y, q.Y)
			if across <= point || down <= point || inside(a, b, point) || inside(b, a, point) {
				continue
			}
			faults = append(faults, fmt.Sprintf("%s lies over %s by %.0f by %.0f", called(a), called(b), across/point, down/point))
		}
	}
	return faults
}

// inside reports whether a is a text on the control b.
func inside(a, b draw.Item, point float64) bool {
	in := b.Place.Grow(point)
	return a.Role == draw.RoleText && b.Role != draw.RoleText &&
		in.Has(a.Place.X, a.Place.Y) && in.Has(a.Place.Right(), a.Place.Bottom())
}

func called(i draw.Item) string {
	if i.Role == draw.RoleText {
		return fmt.Sprintf("%q", strings.TrimSpace(i.Label))
	}
	return i.Name
}
