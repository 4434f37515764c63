package window

import (
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"testing"
	"time"

	"slowneedle/audio"
	"slowneedle/audio/output/nullsink"
	"slowneedle/drills"
	"slowneedle/drills/journal"
	"slowneedle/drills/progress"
	"slowneedle/game/window/drive"
)

// guide is the folder of the guides.
const guide = "../../assets/guide"

// leastTour and mostPicture are how many pictures the tour has at the least, and how
// many bytes one of them may have.
const (
	leastTour   = 12
	mostPicture = 60_000
)

// TestGuidePictures wants every picture of the guided tour there, small and of the tour's size.
// With SLOWNEEDLE_TOUR=1 it makes them first, of a window in which an invented learner
// practises:
//
//	SLOWNEEDLE_TOUR=1 go test ./game/window -run TestGuidePictures
func TestGuidePictures(t *testing.T) {
	if os.Getenv("SLOWNEEDLE_TOUR") != "" {
		makeTour(t)
	}
	text, err := os.ReadFile(filepath.Join(guide, "tour.md"))
	if err != nil {
		t.Fatal(err)
	}
	var shown []string
	for _, m := range regexp.MustCompile(`!\[[^]]+\]\(([^)]+)\)`).FindAllSubmatch(text, -1) {
		path := filepath.Join(guide, string(m[1]))
		shown = append(shown, path)
		info, err := os.Stat(path)
		if err != nil {
			t.Error(err)
			continue
		}
		if size := readPicture(t, path).Bounds().Size(); size != image.Pt(960, 600) || info.Size() > mostPicture {
			t.Errorf("%s: %v, %d bytes; want 960 by 600 and at most %d bytes", path, size, info.Size(), mostPicture)
		}
	}
	there, err := filepath.Glob(filepath.Join(guide, "tour", "*.png"))
	if err != nil || len(there) < leastTour {
		t.Errorf("%d pictures (%v), want at least %d", len(there), err, leastTour)
	}
	for _, path := range there {
		if !slices.Contains(shown, path) {
			t.Errorf("the tour does not show %s", path)
		}
	}
}

// tour is a trainer of which pictures are made.
type tour struct{ *app }

func makeTour(t *testing.T) {
	home := t.TempDir()
	practised(t, filepath.Join(home, "data", "slowneedle"))
	sink := nullsink.Start(t)
	a := start(t, options{size: "960x600", home: home, env: sink.Env, settings: `{"caution_seen":true,"reduced_motion":true,
		"rig_choice":"digital","practice_length":"short","monitor_db":-12,"input":"room.monitor","input_name":"Line 1"}`})
	p := tour{a}
	p.Screen("home")
	p.picture("tour/home")
	for _, d := range drills.Drills() {
		p.To("d", "home")
		if d.ID == drills.SetTake {
			p.practice()
			p.demonstration()
		} else {
			p.drill(d.ID)
		}
	}
	for _, s := range []struct{ key, scene string }{{"p", "progress"}, {"s", "settings"}, {"t", "testform"}} {
		p.To(s.key, s.scene)
		p.picture("tour/" + s.scene)
		p.To("Escape", "home")
	}
	p.To("c", "join")
	drive.Walk{Trainer: a.Trainer, Look: func(string, event) {}}.Coded()
	p.Named("Moonrake")
	p.picture("tour/join")
	p.To("Escape", "home")

	p.To("l", "listen")
	p.Listens("own")
	p.Press("r", func() event { return p.Listens("line-up") })
	p.Listens("steady")
	p.Press("Return", func() event { return p.Listens("playing") })
	p.GoOn(5)
	p.picture("tour/real-desk")
}

// practised writes the history of an invented learner, who practised for some weeks.
func practised(t *testing.T, dir string) {
	t.Helper()
	if err := os.MkdirAll(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	j, err := journal.Open(filepath.Join(dir, "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	var book progress.Book
	rng := rand.New(rand.NewPCG(21, 4))
	const days = 12
	for day := range days {
		when := time.Now().AddDate(0, 0, day-days)
		for i, d := range drills.Drills() {
			for k := range 6 {
				family := (day/2 + k/3) % len(d.Families) // three in a row
				if (i+family)%5 == 4 {
					continue // nobody has done everything
				}
				set := drills.Settings{Family: d.Families[family]}
				when = when.Add(time.Minute)
				level := book.Ladder(progress.Key{Drill: d.ID, Family: set.Family}, when).Now()
				ex, err := drills.NewExercise(d.ID, 1940, 100*day+10*i+k, level, set)
				if err != nil {
					t.Fatal(err)
				}
				take := ex.ShowMe()
				off := rng.NormFloat64() * 2.2 * math.Exp(-float64(day)/10)
				for i, m := range take.Moves {
					take.Moves[i].To = ex.Controls[m.Control].Settle(m.To + off)
				}
				if take.Choice != nil && rng.IntN(4) == 0 {
					*take.Choice = 0
				}
				if take.Number != nil {
					*take.Number = math.Max(ex.Ask.Min, *take.Number+math.Round(off))
				}
				take.LockAt += int64(rng.IntN(4)) * audio.Rate
				v, err := ex.Judge(take)
				if err != nil {
					t.Fatal(err)
				}
				e, err := journal.Of(ex, set, take, v, when)
				if err != nil {
					t.Fatal(err)
				}
				if e, err = j.Add(e); err != nil {
					t.Fatal(err)
				}
				book.Add(e.Mark())
			}
		}
	}
}

// begin starts the sound and returns the controls of the round.
func (p tour) begin() []drills.Control {
	p.T.Helper()
	begun, _ := p.Begin()
	return p.Controls(begun)
}

// set brings every control to its aim, the first that moves off by some dB, to about
// half a decibel.
func (p tour) set(controls []drills.Control, off float64) {
	p.T.Helper()
	for i, c := range controls {
		if c.Fixed {
			continue
		}
		if len(controls) > 1 {
			p.hands("key", strconv.Itoa(i+1))
			p.LetGo()
		}
		aim := c.Settle(c.Aim + off)
		if aim != c.Settle(c.Aim) {
			off = 0
		}
		for at := c.Start; math.Abs(aim-at) > max(0.6, c.Step/2); {
			key := "Up"
			switch {
			case aim-at >= 3:
				key = "Prior"
			case at-aim >= 3:
				key = "Next"
			case aim < at:
				key = "Down"
			}
			at = p.For(key, "fader").Num("db")
		}
	}
}

// practice plays a short practice of one drill, to its summary.
func (p tour) practice() {
	for i, off := range []float64{0, 2, -1, 4, 0, 0, 0, 0} {
		if i == 0 {
			p.To("Return", "round")
			p.picture("tour/card")
		}
		p.set(p.begin(), off)
		if i == 0 {
			p.GoOn(5)
			p.picture("round")
		}
		p.To("Return", "verdict")
		if i == 0 {
			p.picture("verdict")
		}
		if p.GoesOn().On("summary") {
			break
		}
	}
	p.picture("tour/summary")
	p.To("Return", "home")
}

// demonstration plays a round to a class, up to the question.
func (p tour) demonstration() {
	p.To("o", "round")
	p.set(p.begin(), 0)
	p.GoOn(4)
	p.To("Return", "classroom")
	p.picture("tour/classroom")
	p.To("Escape", "home")
}

// drill takes a picture of what shows a drill best: its round, or its verdict.
func (p tour) drill(id string) {
	switch id {
	case drills.LampCount, drills.WholeDesk, drills.OddOne, drills.Alignment, drills.Soundcheck, drills.Chain:
	default:
		return
	}
	p.To("Return", "round")
	controls := p.begin()
	switch id {
	case drills.OddOne:
		p.For("2", "choice")
	case drills.Chain:
		p.set(controls, -9)
	default:
		p.set(controls, 0)
	}
	switch id {
	case drills.Soundcheck:
		p.GoOn(5)
		p.For("Return", "take")
		p.To("Return", "verdict")
	case drills.Chain:
		p.GoOn(2)
		p.To("Return", "verdict")
	default:
		p.GoOn(4)
	}
	p.picture("tour/" + id)
	p.To("Escape", "home")
}

// picture writes what stands on the display to the guides, in 256 colours: those that
// are there most often, and for any other the nearest of them.
func (p tour) picture(name string) {
	p.T.Helper()
	img := p.app.picture("tour-"+filepath.Base(name), p.root())
	count := map[color.Color]int{}
	b := img.Bounds()
	for y := range b.Dy() {
		for x := range b.Dx() {
			count[img.At(x, y)]++
		}
	}
	var palette color.Palette
	for c := range count {
		palette = append(palette, c)
	}
	slices.SortFunc(palette, func(a, b color.Color) int {
		if n := count[b] - count[a]; n != 0 {
			return n
		}
		return slices.Compare([]byte(fmt.Sprint(a)), []byte(fmt.Sprint(b)))
	})
	small := image.NewPaletted(b, palette[:min(256, len(palette))])
	nearest := map[color.Color]uint8{}
	for y := range b.Dy() {
		for x := range b.Dx() {
			c := img.At(x, y)
			i, ok := nearest[c]
			if !ok {
				i = uint8(small.Palette.Index(c))
				nearest[c] = i
			}
			small.SetColorIndex(x, y, i)
		}
	}
	path := filepath.Join(guide, name+".png")
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		p.T.Fatal(err)
	}
	f, err := os.Create(path)
	if err != nil {
		p.T.Fatal(err)
	}
	defer f.Close()
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(f, small); err != nil {
		p.T.Fatal(err)
	}
}
