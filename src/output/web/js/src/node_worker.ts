// A job's thread in Node.js.
import { parentPort, workerData } from 'node:worker_threads';
import { runJob } from './job.js';
import type { Content } from './memory_disk.js';
import { PipeReader } from './pipe.js';

const { module, args, files, progress } = workerData as {
  module: WebAssembly.Module;
  args: string[];
  files: [string, Uint8Array | SharedArrayBuffer][];
  progress: boolean;
};
const contents = files.map(([name, file]): [string, Content] => [name, file instanceof SharedArrayBuffer ? new PipeReader(file) : file]);
const result = runJob(module, { args, files: contents }, progress ? (one) => parentPort?.postMessage({ progress: one }) : undefined);
parentPort?.postMessage({ result });
