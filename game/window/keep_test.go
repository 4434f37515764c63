package window

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"slowneedle/game/window/drive"
)

// kept waits until the settings file says what ok wants.
func (a *app) kept(what string, ok func(map[string]any) bool) {
	a.T.Helper()
	path := filepath.Join(a.home, "config", "slowneedle", "settings.json")
	deadline := time.Now().Add(drive.Patience)
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for range tick.C {
		set := map[string]any{}
		if data, err := os.ReadFile(path); err == nil && json.Unmarshal(data, &set) == nil && ok(set) {
			return
		}
		if time.Now().After(deadline) {
			a.T.Fatalf("the settings do not say %s: %v", what, set)
		}
	}
}

// Settings change by mouse and by keyboard, and are kept.
func TestSettings(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: calm})
	home := a.Screen("home")
	x, y := home.Place(t, "key.settings")
	set := a.Click(x, y, func() event { return a.Screen("settings") })
	x, y = set.Place(t, "set.theme.more")
	a.Click(x, y, func() event { return a.Screen("settings") })
	a.kept("the paper theme", func(m map[string]any) bool { return m["theme"] == "paper" })
	for range 3 { // down to the monitor level
		a.To("Down", "settings")
	}
	a.To("Left", "settings")
	a.kept("one decibel less", func(m map[string]any) bool { return m["monitor_db"] == -31.0 })
	a.To("Up", "settings")
	a.To("Right", "settings")
	a.kept("the other language", func(m map[string]any) bool { return m["language"] != "en" })
	a.Shot("settings-other-language")
}

// Tab brings the focus to every button in turn, and space presses it.
func TestFocus(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: calm})
	home := a.Screen("home")
	places := home.Places()
	seen := map[string]bool{}
	for range places {
		seen[a.To("Tab", "home").Str("focus")] = true
	}
	for id := range places {
		if !seen[id] {
			t.Errorf("the focus never came to %q", id)
		}
	}
	a.To("Tab", "home") // none again, so that enter starts
	a.To("Tab", "home") // the start, which space presses too
	a.To("Tab", "home")
	a.Shot("focus")
	first := a.To("space", "home")
	if first.Str("focus") == "" {
		t.Error("pressing put the focus away")
	}
}

// A second window says that another keeps the journal, and goes on.
func TestSecondWindow(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: calm})
	a.Screen("home")
	a.To("Return", "round") // has waited for the journal
	b := start(t, options{home: a.home, display: "1280x800"})
	text := b.Event("notice").Str("text")
	if !strings.Contains(text, "Another window") {
		t.Errorf("the second window says %q", text)
	}
	b.To("Return", "round")
}

// Forgetting everything asks twice.
func TestForgetting(t *testing.T) {
	inTurn(t)
	a := start(t, options{settings: calm})
	a.Screen("home")
	a.To("Return", "round")
	a.For("Return", "begin")
	a.For("Prior", "fader")
	a.To("Return", "verdict")
	a.To("p", "progress")
	a.To("x", "progress")
	a.Shot("forget-asked")
	a.For("Delete", "notice")
	a.To("Escape", "home")
	a.leave()
	a.checkJournal()
}
