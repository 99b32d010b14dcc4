// Looks into a Vosk model before it is handed to the library, which tells nothing when a model is wrong
// and drops words it does not know in silence. A model comes as .tar.gz with one folder at the top.

/** What a model's archive tells about it. */
export interface VoskArchive {
  /** `fixed`: everything that may be said is inside the model. `list`: it takes a list at run time. */
  readonly graph: 'fixed' | 'list';
  /** All words that it can hear; `[unk]` among them if it can tell other speech. */
  readonly words: ReadonlySet<string>;
}

const BLOCK = 512;
const WORDS = 'graph/words.txt';
const FIXED = 'graph/HCLG.fst';
const LIST = ['graph/HCLr.fst', 'graph/Gr.fst'];
const FEATURES = ['conf/mfcc.conf', 'conf/fbank.conf'];
const HOW_TO_PACK = 'Pack the folder with "tar czf model.tar.gz FOLDER" and choose that file.';

/** @throws Error saying what is wrong with the archive and how to mend it. */
export async function readArchive(archive: Blob): Promise<VoskArchive> {
  const files = await unpack(archive);
  const graph = files.has(FIXED) ? 'fixed' : 'list';
  const missing = ['am/final.mdl', 'conf/model.conf', WORDS].filter((name) => !files.has(name));
  if (!FEATURES.some((name) => files.has(name))) missing.push(FEATURES[0]!);
  if (graph === 'list') missing.push(...LIST.filter((name) => !files.has(name)));
  if (missing.length > 0) {
    throw new Error(
      `This is no Vosk model that can be used here: it lacks ${missing.join(', ')}. ` +
        'Take a small model, one for run-time word lists, packed as one folder.',
    );
  }
  // The library makes no folder by itself, and fails without a word where one has no entry of its own.
  if (!files.has('graph/')) throw new Error(`The model archive has no entries for folders. ${HOW_TO_PACK}`);
  const lines = (await files.get(WORDS)!.text()).split('\n');
  // "<eps>" and "#0" are the graph's own symbols, no words.
  const words = lines.map((line) => line.split(/\s/)[0]!).filter((word) => !/^(|<.*>|#\d+)$/.test(word));
  return { graph, words: new Set(words) };
}

/** What is in a .tar.gz by path (folders end in "/"), without the top folder, which the library takes away, too. */
async function unpack(archive: Blob): Promise<Map<string, Blob>> {
  const magic = new Uint8Array(await archive.slice(0, 2).arrayBuffer());
  if (magic[0] === 0x50 && magic[1] === 0x4b) {
    throw new Error(`The model is a .zip, which cannot be loaded. Unpack it. ${HOW_TO_PACK}`);
  }
  if (magic[0] !== 0x1f || magic[1] !== 0x8b) {
    throw new Error(`The model is no .tar.gz archive. ${HOW_TO_PACK}`);
  }
  let tar: Blob;
  try {
    // A Blob, not a buffer: a model has many megabytes, and only words.txt is read.
    tar = await new Response(archive.stream().pipeThrough(new DecompressionStream('gzip'))).blob();
  } catch {
    throw new Error('The model archive is damaged or cut short. Fetch it once more.');
  }
  const files = new Map<string, Blob>();
  for (let at = 0; at + BLOCK <= tar.size; ) {
    const header = new Uint8Array(await tar.slice(at, at + BLOCK).arrayBuffer());
    const text = (from: number, length: number) =>
      new TextDecoder().decode(header.subarray(from, from + length)).replace(/\0.*/s, '');
    if (header[0] === 0) break;
    const size = Number.parseInt(text(124, 12), 8);
    if (!Number.isFinite(size) || text(257, 5) !== 'ustar') {
      throw new Error(`The model is compressed, but no tar archive. ${HOW_TO_PACK}`);
    }
    const body = at + BLOCK;
    if (body + size > tar.size) throw new Error('The model archive is cut short. Fetch it once more.');
    const kind = text(156, 1);
    if (kind === '' || kind === '0' || kind === '5') {
      const prefix = text(345, 155);
      const path = `${prefix && `${prefix}/`}${text(0, 100)}`.replace(/^\.\//, '');
      files.set(path.slice(path.indexOf('/') + 1), tar.slice(body, body + size));
    }
    at = body + Math.ceil(size / BLOCK) * BLOCK;
  }
  return files;
}
