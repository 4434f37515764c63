package output

// #cgo pkg-config: alsa
//
// #include <alsa/asoundlib.h>
//
// static void quiet(const char *file, int line, const char *function, int err, const char *fmt, ...) {}
// static void silence(void) { snd_lib_error_set_handler(quiet); }
import "C"

// quietLibraries keeps ALSA from printing its troubles on the terminal; what
// matters of them comes back as an error.
func quietLibraries() { C.silence() }
