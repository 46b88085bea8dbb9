// The library in Node.js: every job in a thread of its own, which ends with it.
import { readFile } from 'node:fs/promises';
import { Worker } from 'node:worker_threads';
import { libraryOf, type Plate, type Runner } from './api.js';
import type { JobResult, Progress } from './job.js';
import { fillPipe, newPipe } from './pipe.js';

export * from './api.js';

let compiled: Promise<WebAssembly.Module> | undefined;
/** Compiled once, for all threads. */
function moduleOf(): Promise<WebAssembly.Module> {
  compiled ??= readFile(new URL('./platetally.wasm', import.meta.url)).then((bytes) => WebAssembly.compile(new Uint8Array(bytes)));
  return compiled;
}

const isStream = (plate: Plate): plate is AsyncIterable<Uint8Array> =>
  !(plate instanceof Uint8Array) && !(plate instanceof ArrayBuffer) && !(plate instanceof Blob);

const runner: Runner = async (args, files, options) => {
  options.signal?.throwIfAborted();
  const stop = new AbortController();
  const streams: [SharedArrayBuffer, AsyncIterable<Uint8Array>][] = [];
  const handed: [string, Uint8Array | SharedArrayBuffer][] = [];
  for (const [name, plate] of files) {
    if (isStream(plate)) {
      const pipe = newPipe();
      streams.push([pipe, plate]);
      handed.push([name, pipe]);
    } else {
      handed.push([name, plate instanceof Uint8Array ? plate : new Uint8Array(plate instanceof Blob ? await plate.arrayBuffer() : plate)]);
    }
  }
  const worker = new Worker(new URL('./node_worker.js', import.meta.url), {
    workerData: { module: await moduleOf(), args, files: handed, progress: options.onProgress !== undefined },
  });
  const abort = (): void => { void worker.terminate(); };
  options.signal?.addEventListener('abort', abort);
  let broken: unknown;
  const filling = streams.map(([pipe, stream]) => fillPipe(pipe, stream, stop.signal).catch((error: unknown) => { broken ??= error; }));
  try {
    return await new Promise<JobResult>((resolve, reject) => {
      worker.on('message', (message: { result: JobResult } | { progress: Progress }) => {
        if ('progress' in message) options.onProgress?.(message.progress);
        else if (broken !== undefined) reject(broken instanceof Error ? broken : new Error('the stream broke'));
        else resolve(message.result);
      });
      worker.on('error', reject);
      worker.on('exit', () => { reject(options.signal?.aborted ? options.signal.reason as Error : new Error('the thread ended without a result')); });
    });
  } finally {
    stop.abort();
    options.signal?.removeEventListener('abort', abort);
    await worker.terminate();
    await Promise.all(filling);
  }
};

export const { tally, order, compare, audit, payback, schema, explain, machines, machine, run } = libraryOf(runner);
