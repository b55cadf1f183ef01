// Convolves one minute of stereo at 48 kHz with two responses of two seconds by
// zita-convolver, in blocks of 64, 512 and 4096 frames, and prints the processor
// time of all its threads in ns per frame, the least of three runs each.
#include <initializer_list>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <vector>
#include <zita-convolver.h>

static double now() {
  timespec t;
  clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
  return t.tv_sec * 1e9 + t.tv_nsec;
}

static double run(int block) {
  const int length = 96000, blocks = 60 * 48000 / block;
  Convproc c;
  if (c.configure(2, 2, length, block, block, Convproc::MAXPART, 0)) exit(1);
  std::vector<float> h(length);
  for (int side = 0; side < 2; side++) {
    for (int i = 0; i < length; i++) h[i] = (rand() / (float)RAND_MAX - 0.5f) * expf(-3.0f * i / length);
    c.impdata_create(side, side, 1, h.data(), 0, length);
  }
  c.start_process(0, 0);
  const double start = now();
  for (int k = 0; k < blocks; k++) {
    for (int side = 0; side < 2; side++)
      for (int i = 0; i < block; i++) c.inpdata(side)[i] = 0.01f * ((k + i) % 7 - 3 + side);
    c.process(true);
  }
  const double ns = (now() - start) / ((double)blocks * block);
  c.stop_process();
  c.cleanup();
  return ns;
}

int main() {
  for (int block : {64, 512, 4096}) printf("%.1f ", std::min({run(block), run(block), run(block)}));
  printf("\n");
}
