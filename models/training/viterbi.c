/* Best CTC path through each of many phone chains, for evaluate.py, which compiles and loads it.
   Plain code: the same rule as in the numpy sketch would take an hour. */
void chains(const float *posteriors, int frames, int units, int rows, int columns, const unsigned char *labels,
            const float *penalty, const int *length, float *work, float *result) {
  for (int r = 0; r < rows; r++) {
    const unsigned char *label = labels + (long)r * columns;
    const float *skip = penalty + (long)r * columns;
    int n = 2 * length[r] + 1;
    float *old = work + 2, *now = work + columns + 6;
    for (int s = -2; s < n; s++) old[s] = now[s] = -1e30f;
    old[0] = posteriors[0];
    old[1] = posteriors[label[1]];
    for (int t = 1; t < frames; t++) {
      const float *frame = posteriors + (long)t * units;
      for (int s = 0; s < n; s++) {
        float best = old[s] > old[s - 1] ? old[s] : old[s - 1];
        float two = old[s - 2] + skip[s];
        now[s] = (best > two ? best : two) + frame[label[s]];
      }
      float *swap = old;
      old = now;
      now = swap;
    }
    result[r] = old[n - 1] > old[n - 2] ? old[n - 1] : old[n - 2];
  }
}
