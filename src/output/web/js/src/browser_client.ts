// Hands jobs to the page's thread; cancelling ends the thread and starts another.
import type { Plate, Runner } from './api.js';
import type { JobResult, Progress } from './job.js';
import type { Content } from './memory_disk.js';

type Answer = { id: number } & ({ progress: Progress } | { result: JobResult } | { fault: string });

/** A stream becomes a file of the browser, which keeps large ones on its disk. */
async function fileOf(plate: Plate): Promise<Content> {
  if (plate instanceof Uint8Array || plate instanceof Blob) return plate;
  if (plate instanceof ArrayBuffer) return new Uint8Array(plate);
  if (plate instanceof ReadableStream) return await new Response(plate).blob();
  const parts: Uint8Array<ArrayBuffer>[] = [];
  for await (const part of plate as AsyncIterable<Uint8Array<ArrayBuffer>>) parts.push(part);
  return new Blob(parts);
}

/** `script`: of browser_worker.ts; `module`: base64 of the packed program. */
export function browserRunner(script: string, module: string): Runner {
  const address = URL.createObjectURL(new Blob([script], { type: 'text/javascript' }));
  const waiting = new Map<number, { resolve: (result: JobResult) => void; reject: (reason: unknown) => void; onProgress?: (progress: Progress) => void }>();
  let worker: Worker | undefined;
  let next = 0;
  let turn: Promise<unknown> = Promise.resolve();

  function start(): Worker {
    const begun = new Worker(address);
    begun.onmessage = ({ data }: MessageEvent<Answer>) => {
      const job = waiting.get(data.id);
      if ('progress' in data) {
        job?.onProgress?.(data.progress);
        return;
      }
      waiting.delete(data.id);
      if ('result' in data) job?.resolve(data.result);
      else job?.reject(new Error(data.fault));
    };
    begun.onerror = (event) => {
      for (const job of waiting.values()) job.reject(new Error(event.message));
      waiting.clear();
      stop();
    };
    begun.postMessage({ module });
    return begun;
  }
  function stop(): void {
    worker?.terminate();
    worker = undefined;
  }
  worker = start();

  const one: Runner = async (args, files, options) => {
    const contents: [string, Content][] = [];
    for (const [name, plate] of files) contents.push([name, await fileOf(plate)]);
    options.signal?.throwIfAborted();
    worker ??= start();
    const id = ++next;
    return await new Promise<JobResult>((resolve, reject) => {
      waiting.set(id, { resolve, reject, ...(options.onProgress ? { onProgress: options.onProgress } : {}) });
      options.signal?.addEventListener('abort', () => {
        if (!waiting.delete(id)) return;
        stop();
        reject(options.signal!.reason as Error);
      });
      worker!.postMessage({ id, job: { args, files: contents } });
    });
  };
  // One at a time: the thread is one, and whoever cancels a job must not end another.
  return (args, files, options) => {
    const run = turn.catch(() => undefined).then(() => one(args, files, options));
    turn = run;
    return run;
  };
}
