/* Speaks a list of sentences with the flite voices awb, rms and kal16 and writes the sound with the phones really spoken.
   tts list.tsv out.i16 out.tsv words.lex [seconds after which it stops]
   list lines: voice, stretch, pitch in Hz, what is spoken, its words; lines of other voices are left to the other programs.
   out lines: samples, voice, words, phones with | between words */
#include <ctype.h>
#include <flite/flite.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
cst_voice *register_cmu_us_awb(const char *);
cst_voice *register_cmu_us_rms(const char *);
cst_voice *register_cmu_us_kal16(const char *);
#ifdef EVALUATION /* the voice kept out of training */
cst_voice *register_cmu_us_slt(const char *);
#endif
/* Nothing is played: these keep the sound library out of the program. */
void *audio_open_alsa(void) { return 0; }
int audio_close_alsa(void) { return 0; }
int audio_write_alsa(void) { return 0; }
int audio_flush_alsa(void) { return 0; }
int audio_drain_alsa(void) { return 0; }
void usenglish_init(cst_voice *);
cst_lexicon *cmulex_init(void);

int main(int argc, char **argv) {
  const char *names[] = {"awb", "rms", "kal16", "slt"};
  cst_voice *voices[4] = {0};
  char line[2000];
  time_t until = argc > 5 ? time(NULL) + atoi(argv[5]) : 0;
  if (argc < 5) return 2;
  flite_init();
  flite_add_lang("eng", usenglish_init, cmulex_init);
  voices[0] = register_cmu_us_awb(NULL);
  voices[1] = register_cmu_us_rms(NULL);
  voices[2] = register_cmu_us_kal16(NULL);
#ifdef EVALUATION
  voices[3] = register_cmu_us_slt(NULL);
#endif
  for (int i = 0; i < 4; i++)
    if (voices[i]) flite_voice_add_lex_addenda(voices[i], argv[4]);
  FILE *list = fopen(argv[1], "r"), *sound = fopen(argv[2], "wb"), *table = fopen(argv[3], "w");
  if (!list || !sound || !table) return 1;
  while (!(until && time(NULL) >= until) && fgets(line, sizeof line, list)) {
    line[strcspn(line, "\n")] = 0;
    char *name = strtok(line, "\t"), *stretch = strtok(NULL, "\t"), *pitch = strtok(NULL, "\t"), *text = strtok(NULL, "\t"), *words = strtok(NULL, "\t");
    int k = 0;
    while (k < 4 && !(voices[k] && !strcmp(names[k], name))) k++;
    if (k == 4) continue;
    if (!words) words = text;
    feat_set_float(voices[k]->features, "duration_stretch", atof(stretch));
    feat_set_float(voices[k]->features, "int_f0_target_mean", atof(pitch));
    cst_utterance *u = flite_synth_text(text, voices[k]);
    cst_wave *w = utt_wave(u);
    if (w->sample_rate != 16000) return 1;
    fwrite(w->samples, 2, w->num_samples, sound);
    fprintf(table, "%d\t%s\t%s\t", w->num_samples, name, words);
    const char *gap = "";
    cst_item *before = NULL;
    for (cst_item *s = relation_head(utt_relation(u, "Segment")); s; s = item_next(s)) {
      const char *phone = item_feat_string(s, "name");
      if (!strcmp(phone, "pau")) continue;
      if (!strcmp(phone, "ax")) phone = "ah";
      cst_item *word = item_parent(item_parent(item_as(s, "SylStructure")));
      fputs(before && word != before ? " | " : gap, table);
      before = word;
      for (const char *c = phone; *c; c++) fputc(toupper(*c), table);
      gap = " ";
    }
    fputc('\n', table);
    delete_utterance(u);
  }
  fclose(sound);
  return fclose(table);
}
