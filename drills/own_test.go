package drills

import (
	"bytes"
	"fmt"
	"os/exec"
	"path/filepath"
	"slices"
	"sync/atomic"
	"testing"

	"slowneedle/audio/source"
	"slowneedle/audio/wavfile"
)

// ownRecordings are three files that sox makes: gated noise, plucked strings, and as FLAC
// a sweep with pauses.
func ownRecordings(t *testing.T) []source.Recording {
	t.Helper()
	dir := t.TempDir()
	var all []source.Recording
	for name, args := range map[string][]string{
		"noise.wav":   {"synth", "40", "pinknoise", "tremolo", "3", "80"},
		"strings.wav": {"synth", "0.5", "pluck", "A3", "repeat", "60"},
		"sweep.flac":  {"synth", "2", "triangle", "400-2000", "pad", "0", "1", "repeat", "10"},
	} {
		path := filepath.Join(dir, name)
		if out, err := exec.Command("sox", append([]string{"-R", "-D", "-n", "-r", "44100", "-b", "16", path}, args...)...).CombinedOutput(); err != nil {
			t.Fatalf("sox %v: %v: %s", args, err, out)
		}
		all = append(all, source.Recording{Name: name, Open: func() (*wavfile.Reader, error) { return wavfile.Open(path) }})
	}
	slices.SortFunc(all, func(a, b source.Recording) int { return bytes.Compare([]byte(a.Name), []byte(b.Name)) })
	return all
}

// Every drill but the line-up is played on recordings of the learner's own: the take shown
// is right, several recordings take turns, and made in slices it is the same exercise.
func TestOwnInEveryDrill(t *testing.T) {
	all := ownRecordings(t)
	for _, d := range Drills() {
		if !d.OnRecordings() {
			continue
		}
		for i, level := range []int{0, 1, 15} {
			name := fmt.Sprintf("%s, step %d", d.ID, level)
			e, err := NewExercise(d.ID, 5, i, level, Settings{Passages: source.Passages(all, nil)})
			if err != nil {
				t.Errorf("%s: %v", name, err)
				continue
			}
			kinds := map[string]int{}
			for _, s := range e.Channels {
				kinds[s.Sound.Kind]++
				if s.Sound.Family != source.Own {
					t.Errorf("%s: a channel is of family %s", name, s.Sound.Family)
				}
			}
			sounds := sources(e)
			if len(kinds) != min(len(all), sounds) {
				t.Errorf("%s: %d channels of %v", name, len(e.Channels), kinds)
			}
			if e.Family != source.Own || e.Channels[0].Sound.Kind != all[i].Name {
				t.Errorf("%s: family %s, on %s; want it on %s", name, e.Family, e.Channels[0].Sound.Kind, all[i].Name)
			}
			if v := judged(t, e, e.ShowMe()); !v.InWindow {
				t.Errorf("%s: the take shown is not right: %+v", name, v)
			}
			pauses := 0
			pause := func() { pauses++ }
			sliced, err := NewExercise(d.ID, 5, i, level, Settings{Passages: source.Passages(all, pause), Pause: pause})
			if err != nil {
				t.Fatal(err)
			}
			sameExercise(t, name, e, sliced)
			if pauses < 20*sounds {
				t.Errorf("%s: only %d pauses for %d sounds", name, pauses, sounds)
			}
		}
	}
}

// An exercise of a generated sound that is made in slices is the one made in one go, and there
// are as many slices as its sounds are long: none is left to be made in one.
func TestExerciseInSlices(t *testing.T) {
	for _, d := range Drills() {
		for _, level := range []int{1, 20} {
			name := fmt.Sprintf("%s, step %d", d.ID, level)
			e, err := NewExercise(d.ID, 9, level, level, Settings{})
			if err != nil {
				t.Fatal(err)
			}
			var pauses atomic.Int64
			sliced, err := NewExercise(d.ID, 9, level, level, Settings{Pause: func() { pauses.Add(1) }})
			if err != nil {
				t.Fatal(err)
			}
			sameExercise(t, name, e, sliced)
			if d.ID != LineUp && d.ID != Alignment && int(pauses.Load()) < 30*sources(e) {
				t.Errorf("%s: only %d pauses for %d sounds", name, pauses.Load(), sources(e))
			}
		}
	}
}

// sources is how many sounds are made for an exercise: one for each channel of a desk, and one
// that all its channels have in other drills.
func sources(e *Exercise) int {
	if e.Drill.ID == WholeDesk || e.Drill.ID == MatchEar {
		return len(e.Channels)
	}
	return 1
}

func sameExercise(t *testing.T, name string, a, b *Exercise) {
	t.Helper()
	x, errX := a.MarshalJSON()
	y, errY := b.MarshalJSON()
	if errX != nil || errY != nil || !bytes.Equal(x, y) {
		t.Errorf("%s: in slices it is another exercise:\n%s\n%s", name, x, y)
	}
}
