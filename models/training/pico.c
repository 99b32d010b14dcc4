/* Speaks a list of sentences with the Pico voices (us, gb), 16 kHz, and writes the sound and a table as tts.c does.
   pico list.tsv out.i16 out.tsv LINGWARE_FOLDER [seconds after which it stops]
   list lines: voice, stretch, pitch in Hz, what is spoken, its words, phones with | between words; lines of other voices are left to the other programs. */
#include <picoapi.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* A system has room for one engine only. */
static pico_Engine engine_for(const char *folder, const char *voice, const char *analysis, const char *sounds) {
  const char *files[] = {analysis, sounds};
  pico_Resource resource;
  pico_System system;
  pico_Engine engine;
  char path[1000], name[PICO_RETSTRINGSIZE];
  if (pico_initialize(malloc(5000000), 5000000, &system)) exit(1);
  pico_createVoiceDefinition(system, (const pico_Char *)voice);
  for (int i = 0; i < 2; i++) {
    snprintf(path, sizeof path, "%s/%s", folder, files[i]);
    if (pico_loadResource(system, (pico_Char *)path, &resource)) { fprintf(stderr, "cannot read %s\n", path); exit(1); }
    pico_getResourceName(system, resource, name);
    pico_addResourceToVoiceDefinition(system, (const pico_Char *)voice, (pico_Char *)name);
  }
  if (pico_newEngine(system, (const pico_Char *)voice, &engine)) exit(1);
  return engine;
}

int main(int argc, char **argv) {
  char line[4000], marked[4400], piece[4096];
  if (argc < 5) return 2;
  time_t until = argc > 5 ? time(NULL) + atoi(argv[5]) : 0;
  pico_Engine us = engine_for(argv[4], "us", "en-US_ta.bin", "en-US_lh0_sg.bin"), gb = engine_for(argv[4], "gb", "en-GB_ta.bin", "en-GB_kh0_sg.bin");
  FILE *list = fopen(argv[1], "r"), *sound = fopen(argv[2], "wb"), *table = fopen(argv[3], "w");
  if (!list || !sound || !table) return 1;
  while (!(until && time(NULL) >= until) && fgets(line, sizeof line, list)) {
    line[strcspn(line, "\n")] = 0;
    char *voice = strtok(line, "\t"), *stretch = strtok(NULL, "\t"), *pitch = strtok(NULL, "\t"), *text = strtok(NULL, "\t"), *words = strtok(NULL, "\t"), *phones = strtok(NULL, "\t");
    if (!phones || (strcmp(voice, "us") && strcmp(voice, "gb"))) continue;
    pico_Engine engine = strcmp(voice, "us") ? gb : us;
    snprintf(marked, sizeof marked, "<speed level=\"%d\"><pitch level=\"%d\">%s.</pitch></speed>", (int)(100 / atof(stretch)), (int)(100 * atof(pitch) / 125), text);
    long samples = 0;
    pico_Int16 put, got, kind;
    const char *rest = marked;
    int left = strlen(marked) + 1;  /* the closing zero makes it speak at once */
    while (left > 0) {
      if (pico_putTextUtf8(engine, (const pico_Char *)rest, left, &put)) return 1;
      rest += put, left -= put;
      pico_Status status;
      do {
        status = pico_getData(engine, piece, sizeof piece, &got, &kind);
        fwrite(piece, 1, got, sound);
        samples += got / 2;
      } while (status == PICO_STEP_BUSY);
    }
    fprintf(table, "%ld\t%s\t%s\t%s\n", samples, voice, words, phones);
  }
  fclose(sound);
  return fclose(table);
}
