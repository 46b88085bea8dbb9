// Files that the program was handed: bytes, a browser's files (read piece by piece), or a stream that is read once.
import { DiskError, Errno, Kind, type Disk, type Handle, type OpenHow, type Stat } from './disk.js';

/** A stream that is read once, from its front; `read` waits for bytes. */
export interface Pipe {
  read(into: Uint8Array): number;
}
export type Content = Uint8Array | Blob | Pipe;

/** What a browser's worker has to read a file at once; other places have none. */
declare const FileReaderSync: (new () => { readAsArrayBuffer(blob: Blob): ArrayBuffer }) | undefined;

const window_ = 4 << 20;

interface Node {
  content: Content;
  id: bigint;
}

/** Reads a browser's file through a window, so that no more of it than that is ever in memory. */
class BlobReader {
  private from = 0;
  private held = new Uint8Array(0);
  constructor(private readonly blob: Blob) {}

  read(into: Uint8Array, at: number): number {
    if (at >= this.blob.size) return 0;
    if (at < this.from || at >= this.from + this.held.length) {
      this.from = at;
      try {
        this.held = new Uint8Array(new FileReaderSync!().readAsArrayBuffer(this.blob.slice(at, at + window_)));
      } catch {
        throw new DiskError(Errno.io);  // moved, changed or deleted since it was dropped
      }
      if (this.held.length === 0) throw new DiskError(Errno.io);
    }
    const piece = this.held.subarray(at - this.from, at - this.from + into.length);
    into.set(piece);
    return piece.length;
  }
}

const sizeOf = (content: Content): number => content instanceof Uint8Array ? content.length : content instanceof Blob ? content.size : 0;

export class MemoryDisk implements Disk {
  private readonly files = new Map<string, Node>();
  private next = 2n;
  /** Told of every piece that is read: of which file, up to where, of how much (0: not known). */
  onRead?: (path: string, at: number, size: number) => void;

  /** `path` is absolute; folders above it need not be made. */
  put(path: string, content: Content): void {
    this.files.set(path, { content, id: this.next++ });
  }

  private node(path: string): Node | undefined {
    return this.files.get(path);
  }
  private isFolder(path: string): boolean {
    if (path === '/') return true;
    for (const name of this.files.keys()) if (name.startsWith(path + '/')) return true;
    return false;
  }

  stat(path: string): Stat {
    const node = this.node(path);
    if (!node) {
      if (!this.isFolder(path)) throw new DiskError(Errno.noEntry);
      return { kind: Kind.folder, size: 0, modified: 0, device: 1n, id: 1n };
    }
    const { content } = node;
    const isPipe = !(content instanceof Uint8Array) && !(content instanceof Blob);
    return { kind: isPipe ? Kind.pipe : Kind.file, size: sizeOf(content), modified: 0, device: 1n, id: node.id };
  }

  open(path: string, how: OpenHow): Handle {
    const found = this.node(path);
    if (found && how.create && how.exclusive) throw new DiskError(Errno.exists);
    if (!found && !how.create) throw new DiskError(Errno.noEntry);
    if (!found || how.truncate) this.put(path, new Uint8Array(0));
    const node = this.node(path)!;
    const stat = (): Stat => this.stat(path);
    const { content } = node;
    if (content instanceof Blob) {
      const reader = new BlobReader(content);
      return { stat, close: () => undefined, write: () => { throw new DiskError(Errno.readOnly); },
        read: (into, at) => this.told(path, at, content.size, reader.read(into, at)) };
    }
    if (!(content instanceof Uint8Array)) {
      let at = 0;
      return { stat, close: () => undefined, write: () => { throw new DiskError(Errno.readOnly); },
        read: (into) => {
          const got = content.read(into);
          at += got;
          return this.told(path, at - got, 0, got);
        } };
    }
    return {
      stat,
      close: () => undefined,
      read: (into, at) => {
        const piece = (node.content as Uint8Array).subarray(at, at + into.length);
        into.set(piece);
        return this.told(path, at, sizeOf(node.content), piece.length);
      },
      write: (from, at) => {
        if (!how.write) throw new DiskError(Errno.badFile);
        const old = node.content as Uint8Array;
        const grown = at + from.length > old.length ? new Uint8Array(at + from.length) : old;
        if (grown !== old) grown.set(old);
        grown.set(from, at);
        node.content = grown;
        return from.length;
      },
    };
  }

  private told(path: string, at: number, size: number, got: number): number {
    this.onRead?.(path, at + got, size);
    return got;
  }

  list(path: string): { name: string; kind: Kind }[] {
    if (!this.isFolder(path)) throw new DiskError(this.node(path) ? Errno.notFolder : Errno.noEntry);
    const inside = path === '/' ? '/' : path + '/';
    const names = new Map<string, Kind>();
    for (const name of this.files.keys()) {
      if (!name.startsWith(inside)) continue;
      const rest = name.slice(inside.length);
      const slash = rest.indexOf('/');
      names.set(slash < 0 ? rest : rest.slice(0, slash), slash < 0 ? Kind.file : Kind.folder);
    }
    return [...names].map(([name, kind]) => ({ name, kind }));
  }

  readLink(path: string): string {
    this.stat(path);
    throw new DiskError(Errno.invalid);
  }
  makeFolder(): void {
    throw new DiskError(Errno.readOnly);
  }
  removeFile(path: string): void {
    if (!this.files.delete(path)) throw new DiskError(Errno.noEntry);
  }
  removeFolder(): void {
    throw new DiskError(Errno.readOnly);
  }
  rename(from: string, to: string): void {
    const node = this.node(from);
    if (!node) throw new DiskError(Errno.noEntry);
    this.files.delete(from);
    this.files.set(to, node);
  }
}
