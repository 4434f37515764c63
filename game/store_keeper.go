package game

import "time"

// keeper holds the settings, and writes them down half a second after the last
// of a run of changes.
type keeper struct {
	settings
	unsaved time.Time // when they were changed, if they have not been written since
	changed func()    // called after every change
}

// openSettings reads the settings of the last start. The error says in one
// sentence what became of settings that could not be read; the defaults hold.
func openSettings(changed func()) (*keeper, error) {
	s, err := loadSettings()
	return &keeper{settings: s, changed: changed}, err
}

// change makes a change that is shown at once and written down soon.
func (k *keeper) change(do func(s *settings)) {
	do(&k.settings)
	k.unsaved = time.Now()
	k.changed()
}

// flushSettings writes changed settings if the last change is half a second
// ago, or now.
func (k *keeper) flushSettings(now bool) error {
	if k.unsaved.IsZero() || !now && time.Since(k.unsaved) < time.Second/2 {
		return nil
	}
	k.unsaved = time.Time{}
	return saveSettings(k.settings)
}
