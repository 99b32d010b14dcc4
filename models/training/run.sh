#!/bin/bash
# One run on a machine with a GPU: unpacks what was brought, speaks the synthetic sentences, trains until the deadline, exports.
# It lies in the pack as go.sh (see pack.py). OUT=FOLDER go.sh [SECONDS from now, all in all: 150] [train.py options]
# Its files in OUT are replaced whole, so what lies there is usable at any time; only python3 with torch and numpy is needed.
set -e
deadline=$(($(date +%s) + ${1:-150})); shift || true
pack=$(cd "$(dirname "$0")" && pwd); work=${WORK:-$(mktemp -d)}; cores=${CORES:-$(nproc)}
export PYTHONUNBUFFERED=1 PYTHONDONTWRITEBYTECODE=1
mkdir -p "$work/raw" "$work/lists" "${OUT:?the folder for the results}"; out=$(cd "$OUT" && pwd)
nvidia-smi --query-gpu=name --format=csv,noheader 2>/dev/null || true
python3 -c 'import torch; torch.cuda.is_available() and torch.zeros(1, device="cuda")' &  # reads the big libraries from the disk meanwhile
python3 -W ignore -m tarfile -e "$pack/small.tar.xz" "$work"
chmod +x "$work/unpack" "$work/tts"; mv "$work/noise.i16" "$work/raw/"
cd "$work"
if [ ! -f lists/ttsd-00.tsv ]; then
  ls "$pack"/*.opus | xargs -P "$cores" -I{} sh -c './unpack "$1" "raw/$(basename "$1" .opus).i16"' - {} &
  python3 speech_list.py "${DOMAIN:-14000}" "${GENERAL:-7000}" "${SENTENCES:-22}" text.txt say- "$cores"
  for ((k = 0; k < cores; k++)); do
    n=$(printf %02d $k)
    ./tts "say-$n.list" "raw/ttsd-$n.i16" "ttsd-$n.part" words.lex "${SPEAK:-10}" &
  done
  wait
  for f in ttsd-*.part; do [ ! -f "$f" ] || mv "$f" "lists/${f%.part}.tsv"; done
fi
echo "unpacked and spoken after $SECONDS s"
code=0
python3 train.py lists raw "$out" phase=settle resume="$pack/checkpoint.pt" until=$((deadline - ${SAVING:-10})) every=25 optimizer=0 "$@" || code=$?
python3 export.py "$out/checkpoint.pt" "$out" golden.wav || code=$?
tail -n 100 "$out/log.tsv"; ls -l "$out"; echo "ended after $SECONDS s, code $code"
exit $code
