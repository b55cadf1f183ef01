//go:build cgo

package card

/*
#cgo LDFLAGS: -ldl
#include <dlfcn.h>

static void silent(const char *file, int line, const char *function, int err, const char *format, ...) {}

// quiet keeps ALSA, where it is there, from writing to the terminal.
static void quiet(void) {
	void *alsa = dlopen("libasound.so.2", RTLD_LAZY);
	if (alsa == 0) return;
	int (*set)(void *) = dlsym(alsa, "snd_lib_error_set_handler");
	if (set != 0) set(silent);
}
*/
import "C"

// quiet keeps the sound system from filling the terminal with a page for each
// device that it does not find: errors are returned, and shown once.
func quiet() { C.quiet() }
