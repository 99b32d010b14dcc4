#!/bin/bash
# One run on a machine with a GPU: unpacks what was brought, speaks the synthetic sentences, trains until the deadline, exports.
# It lies in the pack as go.sh (see pack.py). OUT=FOLDER go.sh [SECONDS from now, all in all: 150] [train.py options]
# With the same WORK=FOLDER a second run goes on with the sound of the first; resume=OUT/last.pt, with its optimiser too.
# Its files in OUT are replaced whole, so what lies there is usable at any time; only python3 with torch and numpy is needed.
set -e
deadline=$(($(date +%s) + ${1:-150})); shift || true
pack=$(cd "$(dirname "$0")" && pwd); work=${WORK:-$(mktemp -d)}; cores=${CORES:-$(nproc)}
export PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
mkdir -p "$work/raw" "$work/lists" "${OUT:?the folder for the results}"; out=$(cd "$OUT" && pwd)
nvidia-smi --query-gpu=name --format=csv,noheader 2>/dev/null || true
python3 -c 'import torch; torch.cuda.is_available() and torch.zeros(1, device="cuda")' &  # reads the big libraries from the disk meanwhile
python3 -W ignore -m tarfile -e "$pack/small.tar.xz" "$work"
chmod +x "$work"/{unpack,tts,pico,rhvoice} "$work"/voices/lib/ld-linux-x86-64.so.2
cd "$work"
if [ ! -d spoken ]; then
  ls "$pack"/*.opus | xargs -P "$cores" -I{} sh -c './unpack "$1" "raw/$(basename "$1" .opus).i16"' - {} &
  python3 speech_list.py "${DOMAIN:-90000}" "${GENERAL:-40000}" "${SENTENCES:-22}" text.txt words.tsv say- "$cores"
  say() { n=$1; program=$2; shift 2; "$@" "say-$n.list" "raw/ttsd-$n$program.i16" "ttsd-$n$program.part" "$data" "${SPEAK:-40}"; }
  for ((k = 0; k < cores; k++)); do
    n=$(printf %02d $k)
    data=words.lex say $n f ./tts &
    data=voices/pico say $n p ./pico &
    data=voices/rhvoice say $n r voices/lib/ld-linux-x86-64.so.2 --library-path voices/lib ./rhvoice &
  done
  wait
  for f in ttsd-*.part; do [ ! -f "$f" ] || mv "$f" "lists/${f%.part}.tsv"; done
  mkdir spoken
fi
echo "unpacked and spoken after $SECONDS s"
code=0
python3 train.py lists raw "$out" phase=wider resume="$pack/checkpoint.pt" until=$((deadline - ${SAVING:-10})) every=60 "$@" || code=$?
python3 export.py "$out/checkpoint.pt" "$out" golden.wav || code=$?
tail -n 100 "$out/log.tsv"; ls -l "$out"; echo "ended after $SECONDS s, code $code"
exit $code
