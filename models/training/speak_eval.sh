#!/bin/bash
# Speaks the evaluation phrases with the voices kept out of training (flite slt, festival slt and ked): speak_eval.sh DIR TTS_EVAL
# First: evaluate.py phrases DIR. TTS_EVAL is tts.c built with -DEVALUATION and -lflite_cmu_us_slt.
here=$(cd "$(dirname "$0")" && pwd); say=$(realpath "$2"); cd "$1"
awk '{print "slt\t1.0\t180\t"$0}' phrases.txt > p.list; "$say" p.list flite-slt.i16 p.out "$here/words.lex"
paste <(cut -f1,2 p.out) phrases.txt > flite-slt.tsv
awk '{print "slt\t0.95\t190\t"$0}' wide.txt > w.list; "$say" w.list flite-slt-wide.i16 w.out "$here/words.lex"
paste <(cut -f1,2 w.out) wide.txt > flite-slt-wide.tsv
for v in slt ked; do V=$([ $v = slt ] && echo voice_cmu_us_slt_arctic_hts || echo voice_ked_diphone)
 : > f.i16; : > f.tsv
 cat > $v.scm <<S
($V)
(lex.add.entry '("thou" nil (((th aw) 1))))
(lex.add.entry '("torqued" nil (((t ao r k t) 1))))
(lex.add.entry '("leads" nil (((l iy d z) 1))))
(lex.add.entry '("millimetres" nil (((m ih l) 1) ((ax) 0) ((m iy) 1) ((t er z) 0))))
S
 i=0; while read -r t; do i=$((i+1)); echo "(utt.save.wave (utt.synth (Utterance Text \"$t\")) \"$v-$i.wav\" 'riff)" >> $v.scm; done < phrases.txt
 nice festival -b $v.scm
 i=0; while read -r t; do i=$((i+1)); sox $v-$i.wav -r 16000 -c 1 -b 16 -e signed -t raw one.i16 || continue; cat one.i16 >> f.i16; printf '%d\tfestival-%s\t%s\n' $(( $(stat -c %s one.i16)/2 )) $v "$t" >> f.tsv; done < phrases.txt
 mv f.i16 festival-$v.i16; mv f.tsv festival-$v.tsv; rm -f $v-*.wav
done
