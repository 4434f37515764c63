package output

// #cgo pkg-config: alsa
//
// #include <alsa/asoundlib.h>
// #include <fcntl.h>
// #include <unistd.h>
//
// static void quiet(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void silence(void) { snd_lib_error_set_handler(quiet); }
//
// // hush leads standard error nowhere, and returns where it led; loud leads it there again.
// static int hush(void) {
//	int kept = dup(2), nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
//	if (kept >= 0 && nowhere >= 0) {
//		dup2(nowhere, 2);
//	}
//	if (nowhere >= 0) {
//		close(nowhere);
//	}
//	return kept;
// }
// static void loud(int kept) {
//	if (kept >= 0) {
//		dup2(kept, 2);
//		close(kept);
//	}
// }
//
// static int there(void) {
//	snd_pcm_t *pcm;
//	if (snd_pcm_open(&pcm, "default", SND_PCM_STREAM_PLAYBACK, SND_PCM_NONBLOCK) < 0) {
//		return 0;
//	}
//	snd_pcm_close(pcm);
//	return 1;
// }
import "C"

import (
	"sync"
	"time"
)

// hushed counts who wants quiet: a device that takes long to open, and meanwhile the
// look whether there is one.
var hushed struct {
	sync.Mutex
	by   int
	kept C.int // where standard error led before the first
}

// quietLibraries keeps ALSA, and the sound servers' libraries that it loads, from
// printing their troubles on the terminal while a device is opened, until loud is
// called: those print to standard error and offer no other way. What matters of them
// comes back as an error. A device that does not open is not waited for: what the
// program itself prints must be seen.
func quietLibraries() (loud func()) { return quietFor(patience) }

// quietFor is quietLibraries for some time at most.
func quietFor(most time.Duration) (loud func()) {
	hushed.Lock()
	defer hushed.Unlock()
	if hushed.by++; hushed.by == 1 {
		C.silence()
		hushed.kept = C.hush()
	}
	loud = sync.OnceFunc(func() {
		hushed.Lock()
		defer hushed.Unlock()
		if hushed.by--; hushed.by == 0 {
			C.loud(hushed.kept)
		}
	})
	time.AfterFunc(most, loud)
	return loud
}

// deviceThere reports whether the default device can be opened just now.
func deviceThere() bool {
	defer quietLibraries()()
	return C.there() != 0
}
