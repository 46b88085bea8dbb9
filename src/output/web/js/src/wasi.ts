// The system interface that the program is built for (WASI preview 1), as far as the program asks for it: arguments,
// clocks, and the files of a Disk.
import { DiskError, Errno, Kind, type Disk, type Handle, type Stat } from './disk.js';

export interface System {
  args: string[];
  environment: Record<string, string>;
  disk: Disk;
  /** Standard input, output and error. */
  streams: [Handle, Handle, Handle];
  /** Waits; where nobody can wait, it comes back at once. */
  sleep?: (milliseconds: number) => void;
}

/** Thrown through the program when it ends. */
export class Exit {
  constructor(readonly code: number) {}
}

type Open = { path: string; handle: Handle | null; at: number; kind: Kind; append: boolean };

const rootFile = 3;
const allRights = 0xffff_ffff_ffffn;
const seekRights = (1n << 2n) | (1n << 5n);
const writeRight = 1n << 6n;
const encoder = new TextEncoder();
const decoder = new TextDecoder();

/** '/a/./b/../c' is '/a/c'. */
function plain(path: string): string {
  const parts: string[] = [];
  for (const part of path.split('/')) {
    if (part === '..') parts.pop();
    else if (part !== '' && part !== '.') parts.push(part);
  }
  return '/' + parts.join('/');
}

/** The functions that the program imports; `memory` gives its memory once it lives. */
export function interfaceOf(system: System, memory: () => WebAssembly.Memory): WebAssembly.ModuleImports {
  const open = new Map<number, Open>();
  system.streams.forEach((handle, file) => open.set(file, { path: '', handle, at: 0, kind: handle.stat().kind, append: false }));
  open.set(rootFile, { path: '/', handle: null, at: 0, kind: Kind.folder, append: false });

  const view = (): DataView => new DataView(memory().buffer);
  const bytes = (at: number, size: number): Uint8Array => new Uint8Array(memory().buffer, at, size);
  const text = (at: number, size: number): string => decoder.decode(bytes(at, size));

  function file(number: number): Open {
    const entry = open.get(number);
    if (!entry) throw new DiskError(Errno.badFile);
    return entry;
  }
  function handleOf(number: number): Open & { handle: Handle } {
    const entry = file(number);
    if (!entry.handle) throw new DiskError(Errno.isFolder);
    return entry as Open & { handle: Handle };
  }
  const under = (folder: number, at: number, size: number): string => {
    const path = text(at, size);
    return plain(path.startsWith('/') ? path : `${file(folder).path}/${path}`);
  };
  /** The lowest free number, as POSIX gives it. */
  function place(entry: Open): number {
    let number = 0;
    while (open.has(number)) ++number;
    open.set(number, entry);
    return number;
  }
  /** Faults of the files become numbers; anything else goes up to whoever runs the program. */
  const guarded = <T extends (number | bigint)[]>(work: (...values: T) => void) => (...values: T): number => {
    try {
      work(...values);
      return Errno.ok;
    } catch (error) {
      if (error instanceof DiskError) return error.errno;
      throw error;
    }
  };
  function putStat(stat: Stat, at: number): void {
    const out = view();
    const modified = BigInt(Math.round(stat.modified * 1000)) * 1000n;
    out.setBigUint64(at, stat.device, true);
    out.setBigUint64(at + 8, stat.id, true);
    out.setBigUint64(at + 16, BigInt(stat.kind), true);
    out.setBigUint64(at + 24, 1n, true);
    out.setBigUint64(at + 32, BigInt(stat.size), true);
    for (const offset of [40, 48, 56]) out.setBigUint64(at + offset, modified, true);
  }
  /** The pieces of memory that a list of places and sizes names. */
  function* pieces(list: number, count: number): Generator<Uint8Array> {
    for (let i = 0; i < count; ++i) {
      const out = view();
      yield bytes(out.getUint32(list + 8 * i, true), out.getUint32(list + 8 * i + 4, true));
    }
  }
  function readInto(entry: Open & { handle: Handle }, list: number, count: number, at: number): number {
    let total = 0;
    for (const piece of pieces(list, count)) {
      if (piece.length === 0) continue;
      const got = entry.handle.read(piece, at + total);
      total += got;
      if (got < piece.length) break;
    }
    return total;
  }
  function putStrings(strings: string[], pointers: number, at: number): void {
    for (const one of strings) {
      view().setUint32(pointers, at, true);
      const data = encoder.encode(one + '\0');
      bytes(at, data.length).set(data);
      pointers += 4;
      at += data.length;
    }
  }
  function putSizes(strings: string[], count: number, size: number): void {
    view().setUint32(count, strings.length, true);
    view().setUint32(size, strings.reduce((sum, one) => sum + encoder.encode(one).length + 1, 0), true);
  }
  const environment = Object.entries(system.environment).map(([name, value]) => `${name}=${value}`);

  function openPath(folder: number, _flags: number, at: number, size: number, how: number, rights: bigint, _more: bigint, flags: number, out: number): void {
    const path = under(folder, at, size);
    const wanted = { create: (how & 1) !== 0, exclusive: (how & 4) !== 0, truncate: (how & 8) !== 0, write: (rights & writeRight) !== 0n };
    let stat: Stat | null = null;
    try {
      stat = system.disk.stat(path, true);
    } catch (error) {
      if (!(error instanceof DiskError) || !wanted.create) throw error;
    }
    if (stat?.kind === Kind.folder) {
      if (wanted.create && wanted.exclusive) throw new DiskError(Errno.exists);
      if (wanted.truncate) throw new DiskError(Errno.isFolder);
      view().setUint32(out, place({ path, handle: null, at: 0, kind: Kind.folder, append: false }), true);
      return;
    }
    if ((how & 2) !== 0) throw new DiskError(stat ? Errno.notFolder : Errno.noEntry);
    const handle = system.disk.open(path, wanted);
    view().setUint32(out, place({ path, handle, at: 0, kind: handle.stat().kind, append: (flags & 1) !== 0 }), true);
  }

  function readFolder(number: number, at: number, size: number, cookie: bigint, used: number): void {
    const { path } = file(number);
    const entries = [{ name: '.', kind: Kind.folder as Kind }, { name: '..', kind: Kind.folder as Kind }, ...system.disk.list(path)];
    let filled = 0;
    for (let i = Number(cookie); i < entries.length && filled < size; ++i) {
      const name = encoder.encode(entries[i]!.name);
      const record = new Uint8Array(24 + name.length);
      const out = new DataView(record.buffer);
      out.setBigUint64(0, BigInt(i + 1), true);
      out.setUint32(16, name.length, true);
      out.setUint8(20, entries[i]!.kind);
      record.set(name, 24);
      const fits = Math.min(record.length, size - filled);
      bytes(at + filled, fits).set(record.subarray(0, fits));
      filled += fits;
    }
    view().setUint32(used, filled, true);
  }

  /** Sleeps as long as the first clock says; the program waits for nothing else. */
  function poll(subscriptions: number, events: number, count: number, happened: number): void {
    for (let i = 0; i < count; ++i) {
      const at = subscriptions + 48 * i;
      if (view().getUint8(at + 8) !== 0) continue;
      const nanoseconds = view().getBigUint64(at + 24, true);
      const isMoment = (view().getUint16(at + 40, true) & 1) !== 0;
      const wait = Number(nanoseconds) / 1e6 - (isMoment ? performance.now() : 0);
      if (wait > 0) system.sleep?.(wait);
      bytes(events, 32).fill(0);
      view().setBigUint64(events, view().getBigUint64(at, true), true);
      view().setUint32(happened, 1, true);
      return;
    }
    throw new DiskError(Errno.notSupported);
  }

  return {
    args_sizes_get: guarded((count: number, size: number) => putSizes(system.args, count, size)),
    args_get: guarded((pointers: number, at: number) => putStrings(system.args, pointers, at)),
    environ_sizes_get: guarded((count: number, size: number) => putSizes(environment, count, size)),
    environ_get: guarded((pointers: number, at: number) => putStrings(environment, pointers, at)),
    clock_res_get: guarded((_clock: number, out: number) => view().setBigUint64(out, 1000n, true)),
    clock_time_get: guarded((clock: number, _precision: bigint, out: number) =>
      view().setBigUint64(out, BigInt(Math.round((clock === 0 ? Date.now() : performance.now()) * 1000)) * 1000n, true)),
    random_get: guarded((at: number, size: number) => {
      for (let done = 0; done < size; done += 65536) crypto.getRandomValues(bytes(at + done, Math.min(65536, size - done)) as Uint8Array<ArrayBuffer>);
    }),
    sched_yield: () => Errno.ok,
    proc_exit: (code: number) => { throw new Exit(code); },
    proc_raise: () => Errno.notSupported,
    poll_oneoff: guarded(poll),

    fd_prestat_get: guarded((number: number, out: number) => {
      if (number !== rootFile) throw new DiskError(Errno.badFile);
      view().setUint32(out, 0, true);
      view().setUint32(out + 4, 1, true);
    }),
    fd_prestat_dir_name: guarded((_number: number, at: number) => { bytes(at, 1)[0] = 0x2f; }),
    fd_fdstat_get: guarded((number: number, out: number) => {
      const { kind, append } = file(number);
      bytes(out, 24).fill(0);
      view().setUint8(out, kind);
      view().setUint16(out + 2, append ? 1 : 0, true);
      view().setBigUint64(out + 8, kind === Kind.file || kind === Kind.folder ? allRights : allRights & ~seekRights, true);
      view().setBigUint64(out + 16, allRights, true);
    }),
    fd_fdstat_set_flags: () => Errno.ok,
    fd_filestat_get: guarded((number: number, out: number) => {
      const { path, handle } = file(number);
      putStat(handle ? handle.stat() : system.disk.stat(path, true), out);
    }),
    fd_filestat_set_size: () => Errno.notSupported,
    fd_filestat_set_times: () => Errno.ok,
    fd_advise: () => Errno.ok,
    fd_sync: () => Errno.ok,
    fd_datasync: () => Errno.ok,
    fd_close: guarded((number: number) => {
      file(number).handle?.close();
      open.delete(number);
    }),
    fd_renumber: guarded((from: number, to: number) => {
      const entry = file(from);
      open.get(to)?.handle?.close();
      open.set(to, entry);
      open.delete(from);
    }),
    fd_read: guarded((number: number, list: number, count: number, out: number) => {
      const entry = handleOf(number);
      const got = readInto(entry, list, count, entry.at);
      entry.at += got;
      view().setUint32(out, got, true);
    }),
    fd_pread: guarded((number: number, list: number, count: number, at: bigint, out: number) =>
      view().setUint32(out, readInto(handleOf(number), list, count, Number(at)), true)),
    fd_write: guarded((number: number, list: number, count: number, out: number) => {
      const entry = handleOf(number);
      if (entry.append) entry.at = entry.handle.stat().size;
      let total = 0;
      for (const piece of pieces(list, count)) total += entry.handle.write(piece, entry.at + total);
      entry.at += total;
      view().setUint32(out, total, true);
    }),
    fd_pwrite: guarded((number: number, list: number, count: number, at: bigint, out: number) => {
      let total = 0;
      for (const piece of pieces(list, count)) total += handleOf(number).handle.write(piece, Number(at) + total);
      view().setUint32(out, total, true);
    }),
    fd_seek: guarded((number: number, offset: bigint, whence: number, out: number) => {
      const entry = handleOf(number);
      if (entry.kind !== Kind.file) throw new DiskError(Errno.seek);
      const from = whence === 0 ? 0 : whence === 1 ? entry.at : entry.handle.stat().size;
      if (from + Number(offset) < 0) throw new DiskError(Errno.invalid);
      entry.at = from + Number(offset);
      view().setBigUint64(out, BigInt(entry.at), true);
    }),
    fd_tell: guarded((number: number, out: number) => view().setBigUint64(out, BigInt(handleOf(number).at), true)),
    fd_readdir: guarded(readFolder),

    path_open: guarded(openPath),
    path_filestat_get: guarded((folder: number, flags: number, at: number, size: number, out: number) =>
      putStat(system.disk.stat(under(folder, at, size), (flags & 1) !== 0), out)),
    path_filestat_set_times: () => Errno.ok,
    path_readlink: guarded((folder: number, at: number, size: number, out: number, room: number, used: number) => {
      const target = encoder.encode(system.disk.readLink(under(folder, at, size))).subarray(0, room);
      bytes(out, target.length).set(target);
      view().setUint32(used, target.length, true);
    }),
    path_create_directory: guarded((folder: number, at: number, size: number) => system.disk.makeFolder(under(folder, at, size))),
    path_remove_directory: guarded((folder: number, at: number, size: number) => system.disk.removeFolder(under(folder, at, size))),
    path_unlink_file: guarded((folder: number, at: number, size: number) => system.disk.removeFile(under(folder, at, size))),
    path_rename: guarded((folder: number, at: number, size: number, to: number, toAt: number, toSize: number) =>
      system.disk.rename(under(folder, at, size), under(to, toAt, toSize))),
    path_link: () => Errno.notSupported,
    path_symlink: () => Errno.notSupported,
  };
}
