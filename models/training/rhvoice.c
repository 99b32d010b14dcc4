/* Speaks a list of sentences with RHVoice voices (alan, bdl, clb), 16 kHz, and writes the sound and a table as tts.c does.
   rhvoice list.tsv out.i16 out.tsv DATA_FOLDER [seconds after which it stops]
   list lines: voice, stretch, pitch in Hz, what is spoken, its words, phones with | between words; lines of other voices are left to the other programs. */
#include <RHVoice.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
static FILE *sound;
static long samples;
static int rate(int hz, void *user) { return hz == 16000; }
static int play(const short *s, unsigned int count, void *user) {
  samples += count;
  return fwrite(s, 2, count, sound) == count;
}

int main(int argc, char **argv) {
  char line[4000];
  if (argc < 5) return 2;
  time_t until = argc > 5 ? time(NULL) + atoi(argv[5]) : 0;
  RHVoice_init_params init = {.data_path = argv[4], .config_path = argv[4], .callbacks = {.set_sample_rate = rate, .play_speech = play}};
  RHVoice_tts_engine engine = RHVoice_new_tts_engine(&init);
  FILE *list = fopen(argv[1], "r"), *table = fopen(argv[3], "w");
  sound = fopen(argv[2], "wb");
  if (!engine || !list || !sound || !table) return 1;
  while (!(until && time(NULL) >= until) && fgets(line, sizeof line, list)) {
    line[strcspn(line, "\n")] = 0;
    char *voice = strtok(line, "\t"), *stretch = strtok(NULL, "\t"), *pitch = strtok(NULL, "\t"), *text = strtok(NULL, "\t"), *words = strtok(NULL, "\t"), *phones = strtok(NULL, "\t");
    if (!phones || !strstr(" alan bdl clb ", voice)) continue;
    RHVoice_synth_params how = {.voice_profile = voice, .relative_rate = 1 / atof(stretch), .relative_pitch = atof(pitch) / 125, .relative_volume = 1};
    RHVoice_message message = RHVoice_new_message(engine, text, strlen(text), RHVoice_message_text, &how, NULL);
    samples = 0;
    if (!message || !RHVoice_speak(message)) { fprintf(stderr, "not spoken: %s\n", text); return 1; }
    RHVoice_delete_message(message);
    fprintf(table, "%ld\t%s\t%s\t%s\n", samples, voice, words, phones);
  }
  fclose(sound);
  return fclose(table);
}
