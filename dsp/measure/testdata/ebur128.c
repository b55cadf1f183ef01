/* Reads stereo float64 frames from standard input and prints what libebur128
 * reads: integrated, range, highest momentary and short-term (every 10 ms),
 * true peak and sample peak (linear). For the cross-check in
 * crosscheck_test.go. cc ebur128.c -lebur128 */
#include <ebur128.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

int main(int argc, char **argv) {
  unsigned long rate = argc > 1 ? strtoul(argv[1], NULL, 10) : 48000;
  size_t hop = rate / 100, n;
  double frames[2 * 4000], v, momentary = -HUGE_VAL, shortterm = -HUGE_VAL, integrated, range, tp = 0, sp = 0;
  ebur128_state *s = ebur128_init(2, rate, EBUR128_MODE_I | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK | EBUR128_MODE_SAMPLE_PEAK);
  if (!s || hop > 4000) return 1;
  while ((n = fread(frames, 2 * sizeof(double), hop, stdin)) > 0) {
    ebur128_add_frames_double(s, frames, n);
    if (n < hop) break;
    ebur128_loudness_momentary(s, &v);
    momentary = fmax(momentary, v);
    ebur128_loudness_shortterm(s, &v);
    shortterm = fmax(shortterm, v);
  }
  ebur128_loudness_global(s, &integrated);
  ebur128_loudness_range(s, &range);
  for (unsigned c = 0; c < 2; c++) {
    ebur128_true_peak(s, c, &v);
    tp = fmax(tp, v);
    ebur128_sample_peak(s, c, &v);
    sp = fmax(sp, v);
  }
  printf("%.6f %.6f %.6f %.6f %.9f %.9f\n", integrated, range, momentary, shortterm, tp, sp);
  ebur128_destroy(&s);
  return 0;
}
