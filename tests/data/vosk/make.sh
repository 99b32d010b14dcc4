#!/bin/sh
# Makes the clips and the noise of this folder anew: flite and festival speak clips.tsv, sox cuts and resamples.
# Usage: tests/data/vosk/make.sh NOISE, a recording of at least five seconds (which one was used: README.md).
set -eu
cd "$(dirname "$0")"
mkdir -p clips
spoken=$(mktemp --suffix=.wav)
trap 'rm -f "$spoken"' EXIT
trim='silence 1 0.02 -48d'
while IFS='	' read -r name voice said other; do
  text=$said
  [ "$said" = - ] && text=$other
  if [ "$voice" = ked ]; then
    echo "$text" | text2wave -eval '(voice_ked_diphone)' -o "$spoken"
  else
    flite -voice "$voice" -t "$text" -o "$spoken"
  fi
  # -R: the same dither each time. Silence at both ends goes; the tests put in as much as they want.
  sox -R "$spoken" -r 16000 -c 1 -b 16 "clips/$name.wav" $trim reverse $trim reverse gain -n -6
done <clips.tsv
sox -R "$1" -r 16000 -c 1 -b 16 noise.wav trim 2 3 gain -n -6
