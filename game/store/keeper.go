package store

import (
	"time"
)

// Keeper holds the settings, and writes them down half a second after the last
// of a run of changes.
type Keeper struct {
	Settings
	unsaved time.Time // when they were changed, if they have not been written since
	changed func()    // called after every change
}

// NewKeeper keeps settings; changed is called after every change.
func NewKeeper(s Settings, changed func()) *Keeper { return &Keeper{Settings: s, changed: changed} }

// OpenSettings keeps the settings of the last start. The error tells in one
// sentence what became of settings that could not be read; the defaults hold.
func OpenSettings(changed func()) (*Keeper, error) {
	s, err := loadSettings(settingsAt())
	return NewKeeper(s, changed), err
}

// Change makes a change that is shown at once and written down soon.
func (k *Keeper) Change(do func(s *Settings)) {
	do(&k.Settings)
	k.unsaved = time.Now()
	k.changed()
}

// FlushSettings writes changed settings if the last change is half a second
// ago, or now.
func (k *Keeper) FlushSettings(now bool) error {
	if k.unsaved.IsZero() || !now && time.Since(k.unsaved) < time.Second/2 {
		return nil
	}
	k.unsaved = time.Time{}
	return saveSettings(settingsAt(), k.Settings)
}
