/* Measures interleaved native-endian doubles from standard input with libebur128 (1.2), as a reference.
 * Usage: ebur128 CHANNELS RATE. Prints integrated, momentary maximum and short-term maximum loudness in
 * LUFS, sample peak in dBFS and true peak in dBTP; momentary and short-term every 10 ms, over whole windows
 * only. Build: cc ebur128.c -o ebur128 -lebur128 -lm */
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
	if (argc != 3) return 2;
	unsigned channels = atoi(argv[1]);
	unsigned long rate = atol(argv[2]), step = rate / 100, frames = 0;
	ebur128_state *st = ebur128_init(channels, rate,
		EBUR128_MODE_I | EBUR128_MODE_M | EBUR128_MODE_S | EBUR128_MODE_SAMPLE_PEAK | EBUR128_MODE_TRUE_PEAK);
	double *buf = malloc(step * channels * sizeof *buf);
	if (!st || !buf) return 1;
	double integrated, v, m = -HUGE_VAL, s = -HUGE_VAL, sample = 0, true_ = 0;
	size_t n;
	while ((n = fread(buf, sizeof *buf * channels, step, stdin)) > 0) {
		ebur128_add_frames_double(st, buf, n);
		frames += n;
		if (frames >= 40 * step && !ebur128_loudness_momentary(st, &v) && v > m) m = v;
		if (frames >= 300 * step && !ebur128_loudness_shortterm(st, &v) && v > s) s = v;
	}
	ebur128_loudness_global(st, &integrated);
	for (unsigned c = 0; c < channels; c++) {
		if (!ebur128_sample_peak(st, c, &v) && v > sample) sample = v;
		if (!ebur128_true_peak(st, c, &v) && v > true_) true_ = v;
	}
	printf("%.6f %.6f %.6f %.6f %.6f\n", integrated, m, s, 20 * log10(sample), 20 * log10(true_));
	return 0;
}
