package window

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// kept waits until the settings file says what ok wants.
func (a *app) kept(what string, ok func(map[string]any) bool) {
	a.t.Helper()
	path := filepath.Join(a.home, "config", "slowneedle", "settings.json")
	deadline := time.Now().Add(patience)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for range tick.C {
		set := map[string]any{}
		if data, err := os.ReadFile(path); err == nil && json.Unmarshal(data, &set) == nil && ok(set) {
			return
		}
		if time.Now().After(deadline) {
			a.t.Fatalf("the settings do not say %s: %v", what, set)
		}
	}
}

// Settings change by mouse and by keyboard, and are kept.
func TestSettings(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	home := a.screen("home")
	x, y := home.place(t, "key.settings")
	set := a.click(x, y, func() event { return a.screen("settings") })
	x, y = set.place(t, "set.theme.more")
	a.click(x, y, func() event { return a.screen("settings") })
	a.kept("the paper theme", func(m map[string]any) bool { return m["theme"] == "paper" })
	for range 3 { // down to the monitor level
		a.press("Down", func() event { return a.screen("settings") })
	}
	a.press("Left", func() event { return a.screen("settings") })
	a.kept("one decibel less", func(m map[string]any) bool { return m["monitor_db"] == -31.0 })
	a.press("Up", func() event { return a.screen("settings") })
	a.press("Right", func() event { return a.screen("settings") })
	a.kept("the other language", func(m map[string]any) bool { return m["language"] != "en" })
	a.shot("settings-other-language")
}

// Tab brings the focus to every button in turn, and space presses it.
func TestFocus(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	home := a.screen("home")
	places, _ := home["places"].(map[string]any)
	seen := map[string]bool{}
	for range places {
		seen[a.press("Tab", func() event { return a.screen("home") }).str("focus")] = true
	}
	for id := range places {
		if !seen[id] {
			t.Errorf("the focus never came to %q", id)
		}
	}
	a.press("Tab", func() event { return a.screen("home") }) // none again, so that enter starts
	a.press("Tab", func() event { return a.screen("home") }) // the start, which space presses too
	a.press("Tab", func() event { return a.screen("home") })
	a.shot("focus")
	first := a.press("space", func() event { return a.screen("home") })
	if first.str("focus") == "" {
		t.Error("pressing put the focus away")
	}
}

// A second window says that another keeps the journal, and goes on.
func TestSecondWindow(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	a.screen("home")
	a.press("Return", func() event { return a.screen("round") }) // has waited for the journal
	b := start(t, options{home: a.home, display: "1280x800"})
	text := b.next("a sentence", func(e event) bool { return e.is("notice") }).str("text")
	if !strings.Contains(text, "Another window") {
		t.Errorf("the second window says %q", text)
	}
	b.press("Return", func() event { return b.screen("round") })
}

// Forgetting everything asks twice.
func TestForgetting(t *testing.T) {
	t.Parallel()
	a := start(t, options{settings: calm})
	a.screen("home")
	a.press("Return", func() event { return a.screen("round") })
	a.press("Return", func() event { return a.next("sound", func(e event) bool { return e.is("begin") }) })
	a.press("Prior", func() event { return a.next("move", isFader) })
	a.press("Return", func() event { return a.screen("verdict") })
	a.press("p", func() event { return a.screen("progress") })
	a.press("x", func() event { return a.screen("progress") })
	a.shot("forget-asked")
	a.press("Delete", func() event { return a.next("a sentence", func(e event) bool { return e.is("notice") }) })
	a.press("Escape", func() event { return a.screen("home") })
	a.leave()
	a.checkJournal()
}
