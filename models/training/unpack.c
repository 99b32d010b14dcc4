/* Decodes a packed Ogg Opus file to raw 16 kHz mono int16, without delay.
   The training machine has no Opus tools, so this small program travels with the data: unpack in.opus out.i16 */
#include <math.h>
#include <opus/opusfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#define HALF 60

int main(int argc, char **argv) {
  int error, got;
  if (argc < 3) return 2;
  OggOpusFile *in = op_open_file(argv[1], &error);
  if (!in) { fprintf(stderr, "cannot open %s: %d\n", argv[1], error); return 1; }
  long total = op_pcm_total(in, -1), count = total / 3, have = HALF;
  short *wide = calloc(total + 2 * HALF + 5760, sizeof(short));
  static opus_int16 block[5760 * 2];
  while ((got = op_read(in, block, 5760, NULL)) > 0 && have + got < total + 2 * HALF + 5760) {
    memcpy(wide + have, block, got * sizeof(short));
    have += got;
  }
  double taps[2 * HALF + 1], sum = 0;
  for (int i = -HALF; i <= HALF; i++) {
    double t = M_PI * i / 3.0 * 0.95;
    double v = (i ? sin(t) / t : 1) * (0.5 + 0.5 * cos(M_PI * i / (HALF + 1)));
    taps[i + HALF] = v;
    sum += v;
  }
  short *narrow = malloc(count * sizeof(short));
  for (long k = 0; k < count; k++) {
    double v = 0;
    for (int i = 0; i <= 2 * HALF; i++) v += taps[i] * wide[3 * k + i];
    v = rint(v / sum);
    narrow[k] = v > 32767 ? 32767 : v < -32768 ? -32768 : v;
  }
  FILE *out = fopen(argv[2], "wb");
  if (!out) return 1;
  fwrite(narrow, sizeof(short), count, out);
  return fclose(out);
}
