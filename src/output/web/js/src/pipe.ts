// Bytes from one thread to another that waits for them: a buffer that one side fills and the other empties.
import { DiskError, Errno } from './disk.js';
import type { Pipe } from './memory_disk.js';

const room = 1 << 20;
const state = 0;
const length = 1;
const State = { empty: 0, full: 1, ended: 2, broken: 3 } as const;

export const newPipe = (): SharedArrayBuffer => new SharedArrayBuffer(8 + room);

/** The reading end; it stops its thread while there is nothing to read. */
export class PipeReader implements Pipe {
  private readonly control: Int32Array;
  private readonly data: Uint8Array;
  private at = 0;
  constructor(shared: SharedArrayBuffer) {
    this.control = new Int32Array(shared, 0, 2);
    this.data = new Uint8Array(shared, 8);
  }

  read(into: Uint8Array): number {
    Atomics.wait(this.control, state, State.empty);
    const now = Atomics.load(this.control, state);
    if (now === State.broken) throw new DiskError(Errno.io);
    if (now === State.ended) return 0;
    const piece = this.data.subarray(this.at, Math.min(Atomics.load(this.control, length), this.at + into.length));
    into.set(piece);
    this.at += piece.length;
    if (this.at === Atomics.load(this.control, length)) {
      this.at = 0;
      Atomics.store(this.control, state, State.empty);
      Atomics.notify(this.control, state);
    }
    return piece.length;
  }
}

/** Fills the buffer from a stream, no faster than it is emptied, until the end or `stopped`. */
export async function fillPipe(shared: SharedArrayBuffer, stream: AsyncIterable<Uint8Array>, stopped: AbortSignal): Promise<void> {
  const control = new Int32Array(shared, 0, 2);
  const data = new Uint8Array(shared, 8);
  const emptied = async (): Promise<void> => {
    while (!stopped.aborted && Atomics.load(control, state) === State.full) {
      const waiting = Atomics.waitAsync(control, state, State.full, 200);
      if (waiting.async) await waiting.value;
    }
  };
  const turn = (next: number): void => {
    Atomics.store(control, state, next);
    Atomics.notify(control, state);
  };
  try {
    for await (const chunk of stream)
      for (let at = 0; at < chunk.length; at += room) {
        await emptied();
        if (stopped.aborted) return;
        const piece = chunk.subarray(at, at + room);
        data.set(piece);
        Atomics.store(control, length, piece.length);
        turn(State.full);
      }
    await emptied();
    turn(State.ended);
  } catch (error) {
    await emptied();
    turn(State.broken);
    throw error;
  }
}
