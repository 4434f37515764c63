//go:build !js

package journal

import (
	"bufio"
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"testing"
	"time"
)

// The test program doubles as a window that is killed: with childTask set it
// does that task instead of running tests.
const (
	childTask = "JOURNAL_TEST_TASK"
	childPath = "JOURNAL_TEST_PATH"
	childBase = "JOURNAL_TEST_BASE"
)

func TestMain(m *testing.M) {
	task := os.Getenv(childTask)
	if task == "" {
		os.Exit(m.Run())
	}
	base, _ := strconv.Atoi(os.Getenv(childBase))
	if err := tasks[task](os.Getenv(childPath), base); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(0)
}

var tasks = map[string]func(path string, base int) error{"practise": practise, "open": openOnce}

// openOnce opens the journal and closes it.
func openOnce(path string, _ int) error {
	j, err := Open(path)
	if err != nil {
		return err
	}
	return j.Close()
}

// window is this program as another window, with a task.
func window(task, path string, base int) *exec.Cmd {
	c := exec.Command(os.Args[0])
	c.Env = append(os.Environ(), childTask+"="+task, childPath+"="+path, childBase+"="+strconv.Itoa(base))
	return c
}

// practise adds takes and says the name of each once Add has returned.
func practise(path string, base int) error {
	j, err := Open(path)
	if err != nil {
		return err
	}
	if a := j.Asides(); len(a) > 0 {
		return fmt.Errorf("set aside: %+v", a)
	}
	for i := base; ; i++ {
		e, err := j.Add(entry(i))
		if err != nil {
			return err
		}
		fmt.Println(e.ID)
		if i%5 == 4 { // an import is one large transaction
			var b bytes.Buffer
			fmt.Fprintf(&b, `{"format":%q,"version":1}`+"\n", formatName)
			for k := range importLen {
				fmt.Fprintf(&b, `{"when":"2026-01-01T00:00:00Z","drill":"import","seed":"%d","index":%d}`+"\n", i, k)
			}
			if _, err := j.Import(&b); err != nil {
				return err
			}
		}
	}
}

// A window is killed (as by kill -9) at random moments: while it starts, while
// it opens or makes a journal, while it writes. No take whose Add returned
// is lost, and the journal opens whole every time.
func TestKilledAtAnyMomentNothingIsLost(t *testing.T) {
	const lanes, kills = 4, 55 // journals killed side by side, kills of each
	var cutShort, opening atomic.Int32
	t.Run("lanes", func(t *testing.T) {
		for lane := range lanes {
			t.Run(strconv.Itoa(lane), func(t *testing.T) {
				t.Parallel()
				killMany(t, rand.New(rand.NewPCG(uint64(lane), 220)), kills, &cutShort, &opening)
			})
		}
	})
	t.Logf("%d kills, %d before the first take was stored, %d with a transaction cut short; no take lost",
		lanes*kills, opening.Load(), cutShort.Load())
	if n := opening.Load(); cutShort.Load() == 0 || n == 0 || n > lanes*kills/2 {
		t.Error("the kills did not fall where they should")
	}
}

func killMany(t *testing.T, rng *rand.Rand, kills int, cutShort, opening *atomic.Int32) {
	path := filepath.Join(t.TempDir(), "journal.db")
	acknowledged := make(map[string]bool)
	for k := range kills {
		if k%15 == 14 { // start over without a file
			for _, p := range []string{path, path + "-journal", copyPath(path)} {
				os.Remove(p)
			}
			clear(acknowledged)
		}
		ids := killOne(t, path, 1000*k, rng, k%3 == 2)
		for _, id := range ids {
			acknowledged[id] = true
		}
		if len(ids) == 0 {
			opening.Add(1)
		}
		if info, err := os.Stat(path + "-journal"); err == nil && info.Size() > 0 {
			cutShort.Add(1)
		}
		j, err := Open(path)
		if err != nil {
			t.Fatalf("after kill %d: %v", k, err)
		}
		if a := j.Asides(); len(a) > 0 {
			t.Fatalf("after kill %d the journal was damaged: %+v", k, a)
		}
		there := make(map[string]bool)
		imports := 0
		for e, err := range j.All() {
			if err != nil {
				t.Fatal(err)
			}
			there[e.ID] = true
			if e.Drill == "import" {
				imports++
			}
		}
		for id := range acknowledged {
			if !there[id] {
				t.Fatalf("after kill %d take %s is lost", k, id)
			}
		}
		if imports%importLen != 0 {
			t.Fatalf("after kill %d there are %d imported takes: half an import", k, imports)
		}
		j.Close()
	}
}

// importLen is how many takes each import of practise has.
const importLen = 100

// killOne starts a window, kills it at a random moment and returns the takes
// it said were stored. At once means counting from its start instead of from
// its first take.
func killOne(t *testing.T, path string, base int, rng *rand.Rand, atOnce bool) (ids []string) {
	t.Helper()
	c := window("practise", path, base)
	var complaint bytes.Buffer
	c.Stderr = &complaint
	out, err := c.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := c.Start(); err != nil {
		t.Fatal(err)
	}
	in := bufio.NewScanner(out)
	wait := time.Duration(rng.IntN(50_000)) * time.Microsecond
	if !atOnce {
		if in.Scan() {
			ids = append(ids, in.Text())
		}
	}
	timer := time.AfterFunc(wait, func() { c.Process.Kill() })
	defer timer.Stop()
	for in.Scan() {
		ids = append(ids, in.Text())
	}
	if err := c.Wait(); err == nil || complaint.Len() > 0 {
		t.Fatalf("the window ended unasked: %v %s", err, complaint.String())
	}
	if n := len(ids); n > 0 && len(ids[n-1]) != 32 {
		ids = ids[:n-1] // it was killed while it spoke
	}
	return ids
}
