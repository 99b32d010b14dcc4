// Runs a command-line program compiled to WebAssembly once, with its files in memory: the synthesiser is such a program.
// Only what that program calls is here; the same code runs in a worker and in Node.

/** What a program left behind: its exit code, what it printed, and the files it wrote. */
export interface Finished {
  readonly exitCode: number;
  readonly printed: string;
  readonly files: ReadonlyMap<string, Uint8Array>;
}

// Numbers of the WASI preview 1 interface.
const SUCCESS = 0;
const BAD_DESCRIPTOR = 8;
const NO_SUCH_FILE = 44;
const FILE_TYPE = { terminal: 2, directory: 3, regular: 4 } as const;
const CREATE = 1;
const TRUNCATE = 8;
const FOLDER = 3; // the first descriptor after stdin, stdout and stderr: the one folder the program sees
const ALL_RIGHTS = 0xffff_ffff_ffff_ffffn;

/** A file that grows as it is written. */
class MemoryFile {
  private bytes: Uint8Array;
  private length: number;

  constructor(content: Uint8Array = new Uint8Array(0)) {
    this.bytes = content.slice();
    this.length = content.length;
  }

  get content(): Uint8Array {
    return this.bytes.subarray(0, this.length);
  }

  empty(): void {
    this.length = 0;
  }

  write(at: number, data: Uint8Array): void {
    const end = at + data.length;
    if (end > this.bytes.length) {
      const grown = new Uint8Array(Math.max(end, 2 * this.bytes.length));
      grown.set(this.content);
      this.bytes = grown;
    }
    this.bytes.set(data, at);
    this.length = Math.max(this.length, end);
  }
}

/** Thrown through the program's frames to leave it, as `proc_exit` may not return. */
class Exit extends Error {
  constructor(readonly code: number) {
    super(`exit ${code}`);
  }
}

/**
 * Runs `module` from start to exit in an instance of its own, so that nothing is left over from an earlier run.
 * @param args without the program's name
 * @param files what the program may read, by name
 */
export function runProgram(
  module: WebAssembly.Module,
  args: readonly string[],
  files: Record<string, Uint8Array>,
): Finished {
  const disk = new Map(Object.entries(files).map(([name, content]) => [name, new MemoryFile(content)]));
  const open = new Map<number, { file: MemoryFile; at: number }>();
  const printed = new MemoryFile();
  const argv = ['program', ...args].map((arg) => new TextEncoder().encode(`${arg}\0`));
  let nextDescriptor = FOLDER + 1;

  // The memory's buffer changes when it grows, so views are made anew at each call.
  const memory = () => (instance.exports.memory as WebAssembly.Memory).buffer;
  const view = () => new DataView(memory());
  const bytesAt = (address: number, length: number) => new Uint8Array(memory(), address, length);

  /** The pieces of memory that a scattered read or write names. */
  const pieces = (list: number, count: number): Uint8Array[] =>
    Array.from({ length: count }, (_, i) =>
      bytesAt(view().getUint32(list + 8 * i, true), view().getUint32(list + 8 * i + 4, true)),
    );

  const calls = {
    args_sizes_get(countAt: number, bytesAtAddress: number) {
      view().setUint32(countAt, argv.length, true);
      view().setUint32(
        bytesAtAddress,
        argv.reduce((sum, arg) => sum + arg.length, 0),
        true,
      );
      return SUCCESS;
    },

    args_get(pointers: number, text: number) {
      let at = text;
      argv.forEach((arg, i) => {
        view().setUint32(pointers + 4 * i, at, true);
        bytesAt(at, arg.length).set(arg);
        at += arg.length;
      });
      return SUCCESS;
    },

    clock_time_get(_clock: number, _precision: bigint, timeAt: number) {
      view().setBigUint64(timeAt, BigInt(Math.round(performance.now() * 1e6)), true); // nanoseconds
      return SUCCESS;
    },

    fd_prestat_get(descriptor: number, at: number) {
      if (descriptor !== FOLDER) return BAD_DESCRIPTOR;
      view().setUint32(at, 0, true); // it is a folder
      view().setUint32(at + 4, 1, true); // its name has one byte
      return SUCCESS;
    },

    fd_prestat_dir_name(_descriptor: number, at: number, _length: number) {
      bytesAt(at, 1).set(new TextEncoder().encode('.'));
      return SUCCESS;
    },

    fd_fdstat_get(descriptor: number, at: number) {
      if (descriptor > FOLDER && !open.has(descriptor)) return BAD_DESCRIPTOR;
      const type = descriptor < FOLDER ? 'terminal' : descriptor === FOLDER ? 'directory' : 'regular';
      bytesAt(at, 24).fill(0);
      view().setUint8(at, FILE_TYPE[type]);
      view().setBigUint64(at + 8, ALL_RIGHTS, true);
      view().setBigUint64(at + 16, ALL_RIGHTS, true);
      return SUCCESS;
    },

    fd_fdstat_set_flags: () => SUCCESS,

    path_open(
      _folder: number,
      _lookup: number,
      path: number,
      pathLength: number,
      flags: number,
      _rights: bigint,
      _inherited: bigint,
      _fdFlags: number,
      descriptorAt: number,
    ) {
      const name = new TextDecoder().decode(bytesAt(path, pathLength));
      const file = disk.get(name) ?? (flags & CREATE ? new MemoryFile() : null);
      if (file === null) return NO_SUCH_FILE;
      if (flags & TRUNCATE) file.empty();
      disk.set(name, file);
      open.set(nextDescriptor, { file, at: 0 });
      view().setUint32(descriptorAt, nextDescriptor++, true);
      return SUCCESS;
    },

    fd_close: (descriptor: number) => (open.delete(descriptor) ? SUCCESS : BAD_DESCRIPTOR),

    fd_read(descriptor: number, list: number, count: number, readAt: number) {
      const handle = open.get(descriptor);
      if (handle === undefined) return BAD_DESCRIPTOR;
      let read = 0;
      for (const piece of pieces(list, count)) {
        const part = handle.file.content.subarray(handle.at, handle.at + piece.length);
        piece.set(part);
        handle.at += part.length;
        read += part.length;
      }
      view().setUint32(readAt, read, true);
      return SUCCESS;
    },

    fd_write(descriptor: number, list: number, count: number, writtenAt: number) {
      const handle =
        descriptor < FOLDER ? { file: printed, at: printed.content.length } : open.get(descriptor);
      if (handle === undefined) return BAD_DESCRIPTOR;
      let written = 0;
      for (const piece of pieces(list, count)) {
        handle.file.write(handle.at, piece);
        handle.at += piece.length;
        written += piece.length;
      }
      view().setUint32(writtenAt, written, true);
      return SUCCESS;
    },

    fd_seek(descriptor: number, offset: bigint, whence: number, positionAt: number) {
      const handle = open.get(descriptor);
      if (handle === undefined) return BAD_DESCRIPTOR;
      const base = [0, handle.at, handle.file.content.length][whence] ?? 0;
      handle.at = base + Number(offset);
      view().setBigUint64(positionAt, BigInt(handle.at), true);
      return SUCCESS;
    },

    proc_exit(code: number) {
      throw new Exit(code);
    },
  };

  const instance = new WebAssembly.Instance(module, { wasi_snapshot_preview1: calls });
  const exitCode = runToExit(instance.exports._start as () => void);
  return {
    exitCode,
    printed: new TextDecoder().decode(printed.content),
    files: new Map([...disk].map(([name, file]) => [name, file.content])),
  };
}

function runToExit(start: () => void): number {
  try {
    start();
    return 0;
  } catch (thrown) {
    if (thrown instanceof Exit) return thrown.code;
    throw thrown;
  }
}
