package output

import (
	"time"

	"slowneedle/audio/said"
)

// UntilHand is why there is no sound yet in a browser, where it begins with a press.
var UntilHand = said.New("sound.until_hand", "no sound: meters only until the first click or key")

// Silent reports whether no device plays, and why in one sentence to show; while a
// device plays or is just being opened it returns false and "".
func (o *Output) Silent() (bool, string) {
	why := o.Why()
	return why.Code != "", why.String()
}

// Why is the sentence of Silent with its code; empty while a device plays or is
// just being opened.
func (o *Output) Why() said.Sentence {
	o.mu.Lock()
	dev, trouble, opened := o.dev, o.trouble, o.opened
	live, played := o.live, !o.read.IsZero()
	o.mu.Unlock() // the device's callback waits for no text to be made

	because := func(why said.Sentence) said.Sentence {
		return said.New("sound.none", "no sound: meters only (%s)", why)
	}
	none := func(cause string) said.Sentence {
		return because(said.New("sound.no_device", "no sound device could be opened: %s", cause))
	}
	if dev == nil {
		return none(trouble)
	}
	ready, err := dev.state()
	switch {
	case err != nil && !played:
		return none(reason(err))
	case err != nil:
		return because(said.New("sound.gone", "the sound device was disconnected"))
	case live:
		return said.Sentence{}
	case played:
		return because(said.New("sound.stopped", "the sound device has stopped taking sound"))
	case !ready && waitsForHand:
		return UntilHand
	case time.Since(opened) < patience:
		return said.Sentence{}
	}
	return because(said.New("sound.does_not_open", "the sound device does not open"))
}
