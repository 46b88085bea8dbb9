// What the program sees as its files: in Node.js the real ones, elsewhere what it was handed.

/** Kinds of files as the system interface numbers them. */
export const Kind = { unknown: 0, terminal: 2, folder: 3, file: 4, pipe: 6, link: 7 } as const;
export type Kind = (typeof Kind)[keyof typeof Kind];

/** Errors as the system interface (WASI preview 1) numbers them. */
export const Errno = {
  ok: 0, access: 2, again: 6, badFile: 8, exists: 20, fault: 21, invalid: 28, io: 29, isFolder: 31, nameTooLong: 37,
  noEntry: 44, noSpace: 51, notSupported: 52, notFolder: 54, notEmpty: 55, pipe: 64, readOnly: 69, seek: 70,
} as const;

/** What a file operation fails with; `errno` is one of Errno. */
export class DiskError extends Error {
  constructor(readonly errno: number) {
    super(`error ${errno}`);
  }
}

export interface Stat {
  kind: Kind;
  /** Bytes. */
  size: number;
  /** Milliseconds since 1970. */
  modified: number;
  device: bigint;
  id: bigint;
}

export interface OpenHow {
  write: boolean;
  create: boolean;
  exclusive: boolean;
  truncate: boolean;
}

/** An open file. Positions are bytes from the front; pipes and terminals pass over them. */
export interface Handle {
  stat(): Stat;
  /** Fills the front of `into`; how many bytes, 0 at the end. */
  read(into: Uint8Array, at: number): number;
  write(from: Uint8Array, at: number): number;
  close(): void;
}

/** Paths are absolute, with '/' and without '.' and '..'. Every function throws DiskError. */
export interface Disk {
  stat(path: string, followLink: boolean): Stat;
  open(path: string, how: OpenHow): Handle;
  list(path: string): { name: string; kind: Kind }[];
  readLink(path: string): string;
  makeFolder(path: string): void;
  removeFile(path: string): void;
  removeFolder(path: string): void;
  rename(from: string, to: string): void;
}

/** A handle that can only be written to. */
export function writeOnly(kind: Kind, write: (bytes: Uint8Array) => void): Handle {
  return {
    stat: () => ({ kind, size: 0, modified: 0, device: 0n, id: 0n }),
    read: () => { throw new DiskError(Errno.badFile); },
    write(from) { write(from); return from.length; },
    close: () => undefined,
  };
}
