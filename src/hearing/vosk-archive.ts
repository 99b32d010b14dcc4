// Looks into a Vosk model before it is handed to the library, which tells nothing when a model is wrong
// and drops words it does not know in silence. A model comes as .tar.gz with one folder at the top; a folder is packed into one.

/** What a model's archive tells about it. */
export interface VoskArchive {
  /** `fixed`: everything that may be said is inside the model. `list`: it takes a list at run time. */
  readonly graph: 'fixed' | 'list';
  /** All words that it can hear; `[unk]` among them if it can tell other speech. */
  readonly words: ReadonlySet<string>;
}

const BLOCK = 512;
const NETWORK = 'am/final.mdl';
const WORDS = 'graph/words.txt';
const FIXED = 'graph/HCLG.fst';
const LIST = ['graph/HCLr.fst', 'graph/Gr.fst'];
const FEATURES = ['conf/mfcc.conf', 'conf/fbank.conf'];
const HOW_TO_PACK = 'Choose its folder, or what "tar czf model.tar.gz FOLDER" makes of it.';

/** @throws Error saying what is wrong with the archive and how to mend it. */
export async function readArchive(archive: Blob): Promise<VoskArchive> {
  const files = await unpack(archive);
  const graph = files.has(FIXED) ? 'fixed' : 'list';
  const missing = [NETWORK, 'conf/model.conf', WORDS].filter((name) => !files.has(name));
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

/**
 * Packs a model's folder as `readArchive` and the library want it.
 * @param files by path; the model may lie in a folder among others.
 * @throws Error saying that there is no model among them.
 */
export async function packFolder(files: ReadonlyMap<string, Blob>): Promise<Blob> {
  const network = [...files.keys()].find((path) => `/${path}`.endsWith(`/${NETWORK}`));
  if (network === undefined) {
    throw new Error(
      `There is no Vosk model in this folder: it lacks ${NETWORK}. Choose the one that holds am, conf and graph.`,
    );
  }
  const above = network.slice(0, -NETWORK.length);
  const parts: BlobPart[] = [];
  const folders = new Set<string>();
  for (const [path, content] of files) {
    const name = `model/${path.slice(above.length)}`;
    // A header has room for names of a hundred bytes; those of a model are far shorter.
    if (!path.startsWith(above) || new Blob([name]).size > 100) continue;
    for (let end = name.indexOf('/'); end >= 0; end = name.indexOf('/', end + 1)) {
      const folder = name.slice(0, end + 1);
      if (!folders.has(folder)) parts.push(tarHeader(folder, 0));
      folders.add(folder);
    }
    parts.push(tarHeader(name, content.size), content, new Uint8Array(-content.size & (BLOCK - 1)));
  }
  // Two empty blocks are the end.
  parts.push(new Uint8Array(2 * BLOCK));
  return gzip(new Blob(parts));
}

/** Many servers send a .tar.gz so that the browser unpacks it on the way: then it is packed again, as the library wants it. */
export async function packedAgain(archive: Blob): Promise<Blob> {
  return (await archive.slice(257, 262).text()) === 'ustar' ? gzip(archive) : archive;
}

const gzip = (file: Blob) => new Response(file.stream().pipeThrough(new CompressionStream('gzip'))).blob();

/** What stands before each file of a tar archive.  @param path that of a folder ends in "/".  @param size in bytes. */
export function tarHeader(path: string, size: number): Uint8Array<ArrayBuffer> {
  const header = new Uint8Array(BLOCK);
  const write = (at: number, text: string) => header.set(new TextEncoder().encode(text), at);
  const isFolder = path.endsWith('/');
  write(0, path);
  write(100, isFolder ? '0000755' : '0000644');
  write(124, size.toString(8).padStart(11, '0'));
  // The checksum counts its own field as blanks.
  write(148, ' '.repeat(8));
  write(156, isFolder ? '5' : '0');
  write(257, 'ustar\x0000');
  const sum = header.reduce((total, byte) => total + byte, 0);
  write(148, `${sum.toString(8).padStart(6, '0')}\0`);
  return header;
}
