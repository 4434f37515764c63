package journal

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// shelf is cells with room for so many characters, as a browser has.
type shelf struct {
	m    map[string]string
	room int
}

func (s *shelf) get(name string) (string, bool) { t, ok := s.m[name]; return t, ok }
func (s *shelf) remove(name string)             { delete(s.m, name) }
func (s *shelf) names() (names []string) {
	for n := range s.m {
		names = append(names, n)
	}
	return names
}
func (s *shelf) set(name, text string) error {
	used := len(name) + len(text)
	for n, t := range s.m {
		if n != name {
			used += len(n) + len(t)
		}
	}
	if used > s.room {
		return ErrFull
	}
	s.m[name] = text
	return nil
}

func keep(t *testing.T, s *shelf) *keyed {
	t.Helper()
	k, err := newKeyed(s)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func addTo(k *keyed, i int) (Entry, error) {
	e := entry(i)
	r, err := newRow(e)
	if err == nil {
		_, err = k.addRows([]row{r}, false)
	}
	e.ID = r.id
	return e, err
}

func takes(t *testing.T, k *keyed) (all []Entry) {
	t.Helper()
	for e, err := range k.All() {
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, e)
	}
	return all
}

func TestKeyedKeepsTakesInOrder(t *testing.T) {
	s := &shelf{map[string]string{"another.page": "x"}, 5 << 20}
	k := keep(t, s)
	var want []Entry
	for i := range 50 {
		e, err := addTo(k, i)
		if err != nil {
			t.Fatal(err)
		}
		want = append(want, e)
	}
	k = keep(t, s) // the page is loaded again
	if diff := cmp.Diff(want, takes(t, k)); diff != "" {
		t.Errorf("takes (-want +got):\n%s", diff)
	}
	if _, err := addTo(k, 3); err != nil || len(takes(t, k)) != 50 {
		t.Errorf("the same take twice: %v", err)
	}
	marks, err := k.Marks()
	if err != nil || len(marks) != 50 || marks[9] != want[9].Mark() {
		t.Errorf("marks: %d, %v", len(marks), err)
	}
	k.ForgetAll()
	if len(takes(t, k)) != 0 || len(s.m) != 1 {
		t.Errorf("left: %v", s.names())
	}
	if _, err := addTo(k, 0); err != nil || len(takes(t, k)) != 1 {
		t.Errorf("starting again: %v", err)
	}
}

func TestKeyedTwoWindows(t *testing.T) {
	s := &shelf{map[string]string{}, 5 << 20}
	a, b := keep(t, s), keep(t, s)
	for i := range 20 {
		if _, err := addTo([]*keyed{a, b}[i%2], i); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := addTo(b, 0); err != nil { // a has it, b does not know
		t.Fatal(err)
	}
	if n := len(takes(t, keep(t, s))); n != 20 {
		t.Errorf("%d takes, want 20", n)
	}
}

func TestKeyedWithoutRoomStoresNothing(t *testing.T) {
	s := &shelf{map[string]string{}, 20 << 10}
	k := keep(t, s)
	n := 0
	var err error
	for ; err == nil; n++ {
		_, err = addTo(k, n)
	}
	if !errors.Is(err, ErrFull) || n < 3 {
		t.Fatalf("after %d takes: %v", n, err)
	}
	if got := len(takes(t, k)); got != n-1 {
		t.Errorf("%d takes, want %d", got, n-1)
	}
	// An import that does not fit leaves nothing behind.
	before := fmt.Sprint(len(s.m))
	s.room += 3 << 10
	var many []row
	for i := range 50 {
		r, err := newRow(entry(1000 + i))
		if err != nil {
			t.Fatal(err)
		}
		many = append(many, r)
	}
	if _, err := k.addRows(many, false); !errors.Is(err, ErrFull) {
		t.Errorf("import: %v", err)
	}
	if after := fmt.Sprint(len(s.m)); after != before || len(takes(t, k)) != n-1 {
		t.Errorf("%s cells, before %s", after, before)
	}
}

func TestKeyedSetsDamagedTakesAside(t *testing.T) {
	s := &shelf{map[string]string{}, 5 << 20}
	k := keep(t, s)
	for i := range 6 {
		if _, err := addTo(k, i); err != nil {
			t.Fatal(err)
		}
	}
	bad := map[string]bool{}
	for i, name := range k.names {
		switch i {
		case 1:
			s.m[name] = "hello"
		case 2:
			s.m[name] = "0." + s.m[name]
		case 4:
			s.m[name] = s.m[name][:len(s.m[name])-8]
		default:
			continue
		}
		bad[s.m[name]] = true
	}
	s.m[takeCell+"x"] = "odd name"
	bad["odd name"] = true
	k = keep(t, s)
	if n := len(takes(t, k)); n != 3 {
		t.Errorf("%d takes, want 3", n)
	}
	if len(k.asides) != 4 {
		t.Errorf("set aside: %+v", k.asides)
	}
	for _, a := range k.asides {
		if !strings.HasPrefix(a, asideCell) || !bad[s.m[a]] {
			t.Errorf("%s holds %q", a, s.m[a])
		}
	}
}
