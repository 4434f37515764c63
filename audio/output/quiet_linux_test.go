package output

import (
	"os"
	"testing"
)

// Two that want quiet at once leave standard error where it led.
func TestQuietTwice(t *testing.T) {
	where := func() string {
		to, err := os.Readlink("/proc/self/fd/2")
		if err != nil {
			t.Fatal(err)
		}
		return to
	}
	before := where()
	first := quietLibraries()
	second := quietLibraries()
	first()
	during := where()
	second()
	if after := where(); during != os.DevNull || after != before {
		t.Errorf("standard error leads to %s, then %s; it led to %s", during, after, before)
	}
}
