//go:build unix

package main

import (
	"context"
	"os"
	"slices"
	"strings"
	"testing"
	"time"
)

// A part that fails, or one that must be silent and is not, ends those beside it and
// keeps those behind it from beginning.
func TestTheFirstThatFailsEndsAll(t *testing.T) {
	sh := func(what, script string) *part { return &part{what: what, args: []string{"sh", "-c", script}} }
	for _, fails := range []*part{sh("broken", "echo no; exit 3"), {what: "loud", args: []string{"echo", "no"}, silent: true}} {
		after, beside := sh("after", "true"), sh("beside", "sleep 300; true")
		began := time.Now()
		err := pass(context.Background(), [][]*part{{sh("fine", "true"), fails, after}, {beside}})
		if err == nil || !strings.Contains(err.Error(), fails.what) {
			t.Errorf("%s: %v", fails.what, err)
		}
		if took := time.Since(began); took > 2*time.Minute {
			t.Errorf("%s: what ran beside it was not ended, but took %v", fails.what, took)
		}
		if after.took != 0 {
			t.Errorf("%s: what comes after it was run", fails.what)
		}
	}
	if err := pass(context.Background(), [][]*part{{sh("a", "true")}, {sh("b", "echo fine"), sh("c", `test "$X" = y`)}}); err == nil {
		t.Error("c lacks its X")
	}
	all := [][]*part{{sh("a", "true")}, {sh("b", "echo fine"), {what: "c", env: []string{"X=y"}, args: []string{"sh", "-c", `test "$X" = y`}}}}
	if err := pass(context.Background(), all); err != nil || all[1][1].took == 0 {
		t.Errorf("none fails: %v; the last took %v", err, all[1][1].took)
	}
}

// Every room is tested once: those that wait in one part, all others in the other.
func TestEveryRoomIsTestedOnce(t *testing.T) {
	inProject(t)
	parts, err := tests([]string{"-short"})
	if err != nil || len(parts) != 2 {
		t.Fatalf("%d parts, %v", len(parts), err)
	}
	var rooms []string
	for _, p := range parts {
		if !slices.Contains(p.args, "-short") {
			t.Errorf("%s: the flag is lost: %q", p.what, p.args)
		}
		i := slices.IndexFunc(p.args, func(a string) bool { return strings.HasPrefix(a, "slowneedle/") })
		rooms = append(rooms, p.args[i:]...)
	}
	slices.Sort(rooms)
	if all := strings.Fields(command(t, ".", "go", "list", "./...")); !slices.Equal(rooms, all) {
		t.Errorf("tested are %q, there are %q", rooms, all)
	}
}

// The builds for other systems leave no programs behind.
func TestBuildsAreThrownAway(t *testing.T) {
	builds := 0
	for _, p := range slices.Concat(checks()...) {
		if slices.Contains(p.args, "build") {
			builds++
			if i := slices.Index(p.args, "-o"); i < 0 || p.args[i+1] != os.DevNull {
				t.Errorf("%s writes a program: %q", p.what, p.args)
			}
		}
	}
	if builds < 3 {
		t.Errorf("only %d builds for other systems", builds)
	}
}
