// The Vosk model that lay in models/vosk when the app was built: a folder, or a .tar.gz of one. The address of each file
// has a hash of its contents in it, so that a changed model is never mistaken for an old one.
import { fetchModel, type VoskOptions } from './vosk.ts';
import { packedAgain, packFolder } from './vosk-archive.ts';

/** The address of each file by its path. */
const LYING_THERE = import.meta.glob<string>('../../models/vosk/**', {
  query: '?url',
  import: 'default',
  eager: true,
});

export const comesWithModel = (addresses = LYING_THERE): boolean => Object.keys(addresses).length > 0;

/** The model as one archive. @throws Error with a sentence where it cannot be fetched, or where there is none. */
export async function fetchSupplied(
  onProgress: NonNullable<VoskOptions['onProgress']>,
  addresses = LYING_THERE,
): Promise<Blob> {
  const archive = Object.keys(addresses).find((path) => path.endsWith('.tar.gz'));
  if (archive !== undefined) return packedAgain(await fetchModel(addresses[archive]!, { onProgress }));
  const files = new Map<string, Blob>();
  let before = 0;
  for (const [path, address] of Object.entries(addresses)) {
    const file = await fetchModel(address, { onProgress: (got) => onProgress(before + got, null) });
    before += file.size;
    files.set(path, file);
  }
  return packFolder(files);
}
