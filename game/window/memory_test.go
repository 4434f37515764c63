package window

import (
	"os"
	"strconv"
	"strings"
	"testing"
)

// memory is what a trainer has in memory, in MB: its own pages, without those
// of files.
func (a *app) memory() float64 {
	a.T.Helper()
	data, err := os.ReadFile("/proc/" + strconv.Itoa(a.cmd.Process.Pid) + "/status")
	if err != nil {
		a.T.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(data), "RssAnon:")
	kB, err := strconv.ParseFloat(strings.Fields(rest)[0], 64)
	if err != nil {
		a.T.Fatal(err)
	}
	return kB / 1000
}

// Round after round in one window, sound begun and locked as fast as the keys
// go: memory comes to rest. MEMORY_ROUNDS sets another number of rounds; 90 are
// what an hour of practice has.
func TestMemoryOfManyRounds(t *testing.T) {
	inTurn(t)
	rounds := 16
	if s := os.Getenv("MEMORY_ROUNDS"); s != "" {
		var err error
		if rounds, err = strconv.Atoi(s); err != nil {
			t.Fatal(err)
		}
	}
	a := start(t, options{settings: calm, size: "960x600"})
	a.Screen("home")
	var all []float64
	for i := range rounds {
		key := "Return"
		if i > 0 && i%12 == 0 { // the end of a practice
			a.To("Return", "summary")
			key = "a"
		}
		a.To(key, "round")
		a.For("Return", "begin")
		a.Louder(1)
		a.Lock()
		all = append(all, a.memory())
	}
	t.Logf("MB after each round: %.0f", all)
	most := func(part []float64) (m float64) {
		for _, v := range part {
			m = max(m, v)
		}
		return m
	}
	// Garbage comes and goes by some tens of MB with the collector's turns.
	early, late := most(all[:rounds/2]), most(all[rounds/2:])
	if late > 1.25*early+20 {
		t.Errorf("memory grew from %.0f MB in the first half to %.0f MB in the second", early, late)
	}
}
