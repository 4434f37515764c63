package output

// #cgo pkg-config: alsa
//
// #include <alsa/asoundlib.h>
//
// static void quiet(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void silence(void) { snd_lib_error_set_handler(quiet); }
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

	"golang.org/x/sys/unix"
)

// hushed counts who wants quiet: a device that takes long to open, and meanwhile the
// look whether there is one.
var hushed struct {
	sync.Mutex
	by   int
	kept int // where standard error led before the first; below 0: that is not known
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
		hushed.kept = hush()
	}
	loud = sync.OnceFunc(func() {
		hushed.Lock()
		defer hushed.Unlock()
		if hushed.by--; hushed.by == 0 && hushed.kept >= 0 {
			unix.Dup3(hushed.kept, unix.Stderr, 0)
			unix.Close(hushed.kept)
		}
	})
	time.AfterFunc(most, loud)
	return loud
}

// hush leads standard error nowhere, and returns where it led; -1 if it cannot.
func hush() int {
	nowhere, err := unix.Open("/dev/null", unix.O_WRONLY|unix.O_CLOEXEC, 0)
	if err != nil {
		return -1
	}
	defer unix.Close(nowhere)
	kept, err := unix.FcntlInt(uintptr(unix.Stderr), unix.F_DUPFD_CLOEXEC, 0)
	if err == nil {
		unix.Dup3(nowhere, unix.Stderr, 0)
	}
	return kept
}

// deviceThere reports whether the default device can be opened just now.
func deviceThere() bool {
	defer quietLibraries()()
	return C.there() != 0
}
