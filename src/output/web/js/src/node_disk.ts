// The real files, in Node.js.
import fs from 'node:fs';
import { DiskError, Errno, Kind, type Disk, type Handle, type OpenHow, type Stat } from './disk.js';

const numbers: Record<string, number> = {
  EACCES: Errno.access, EPERM: Errno.access, EBADF: Errno.badFile, EEXIST: Errno.exists, EINVAL: Errno.invalid, EISDIR: Errno.isFolder,
  ENAMETOOLONG: Errno.nameTooLong, ENOENT: Errno.noEntry, ENOSPC: Errno.noSpace, ENOTDIR: Errno.notFolder,
  ENOTEMPTY: Errno.notEmpty, EPIPE: Errno.pipe, EROFS: Errno.readOnly,
};

function guarded<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (error instanceof DiskError) throw error;
    throw new DiskError(numbers[(error as NodeJS.ErrnoException).code ?? ''] ?? Errno.io);
  }
}

function kindOf(of: fs.BigIntStats | fs.Dirent): Kind {
  return of.isFile() ? Kind.file : of.isDirectory() ? Kind.folder : of.isSymbolicLink() ? Kind.link
    : of.isCharacterDevice() ? Kind.terminal : of.isFIFO() || of.isSocket() ? Kind.pipe : Kind.unknown;
}

const statOf = (stats: fs.BigIntStats): Stat =>
  ({ kind: kindOf(stats), size: Number(stats.size), modified: Number(stats.mtimeNs) / 1e6, device: stats.dev, id: stats.ino });

/** Waits; the thread does nothing else meanwhile. */
export function sleep(milliseconds: number): void {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, milliseconds);
}

/** An open descriptor; of a pipe that has nothing yet it waits for more. */
export function descriptor(file: number): Handle {
  const seekable = guarded(() => fs.fstatSync(file).isFile());
  const again = <T>(work: () => T): T => {
    for (;;) {
      try {
        return work();
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code !== 'EAGAIN') throw error;
        sleep(5);
      }
    }
  };
  return {
    stat: () => guarded(() => statOf(fs.fstatSync(file, { bigint: true }))),
    read: (into, at) => guarded(() => {
      try {
        return again(() => fs.readSync(file, into, 0, into.length, seekable ? at : null));
      } catch (error) {
        if ((error as NodeJS.ErrnoException).code === 'EOF') return 0;
        throw error;
      }
    }),
    write: (from, at) => guarded(() => again(() => fs.writeSync(file, from, 0, from.length, seekable && file > 2 ? at : null))),
    close: () => { if (file > 2) guarded(() => fs.closeSync(file)); },
  };
}

/** Standard input, output and error; a closed one reads nothing and cannot be written. */
export function standard(file: 0 | 1 | 2): Handle {
  try {
    return descriptor(file);
  } catch {
    const fail = (): never => { throw new DiskError(Errno.badFile); };
    return { stat: () => ({ kind: Kind.pipe, size: 0, modified: 0, device: 0n, id: 0n }), read: fail, write: fail, close: () => undefined };
  }
}

export const nodeDisk: Disk = {
  stat: (path, follow) => guarded(() => statOf(follow ? fs.statSync(path, { bigint: true }) : fs.lstatSync(path, { bigint: true }))),
  open: (path, how: OpenHow) => guarded(() => {
    const c = fs.constants;
    const flags = (how.write ? c.O_RDWR : c.O_RDONLY) | (how.create ? c.O_CREAT : 0) | (how.exclusive ? c.O_EXCL : 0) | (how.truncate ? c.O_TRUNC : 0);
    try {
      return descriptor(fs.openSync(path, flags, 0o666));
    } catch (error) {
      // A device may allow no more than writing.
      if (!how.write || (error as NodeJS.ErrnoException).code !== 'EACCES') throw error;
      return descriptor(fs.openSync(path, (flags & ~c.O_RDWR) | c.O_WRONLY, 0o666));
    }
  }),
  list: (path) => guarded(() => fs.readdirSync(path, { withFileTypes: true }).map((entry) => ({ name: entry.name, kind: kindOf(entry) }))),
  readLink: (path) => guarded(() => fs.readlinkSync(path)),
  makeFolder: (path) => guarded(() => fs.mkdirSync(path)),
  removeFile: (path) => guarded(() => fs.unlinkSync(path)),
  removeFolder: (path) => guarded(() => fs.rmdirSync(path)),
  // The program can set no modes here: what takes a file's place keeps that file's.
  rename: (from, to) => guarded(() => {
    const old = fs.statSync(to, { throwIfNoEntry: false });
    if (old?.isFile()) fs.chmodSync(from, old.mode & 0o7777);
    fs.renameSync(from, to);
  }),
};
