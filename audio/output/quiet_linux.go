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

// quietLibraries keeps ALSA from printing its troubles on the terminal; what
// matters of them comes back as an error.
func quietLibraries() { C.silence() }

// comesBack means that a device that failed can be opened again.
const comesBack = true

// deviceThere reports whether the default device can be opened just now.
func deviceThere() bool { return C.there() != 0 }
