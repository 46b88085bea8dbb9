// A job is one run of the program on files that it is handed; it crosses from one thread to another.
import { Kind, writeOnly } from './disk.js';
import { MemoryDisk, type Content } from './memory_disk.js';
import { run } from './run.js';

export interface Job {
  /** Without the program's name; files are named as in `files`. */
  args: string[];
  /** Name (no leading '/') and content. */
  files: [string, Content][];
}

export interface JobResult {
  /** 0 done, 1 a limit is exceeded, 2 something could not be done. */
  code: number;
  /** What the program printed. */
  output: string;
  /** What it said besides, line by line. */
  messages: string[];
  /** Of the program's memory, at its largest. */
  memoryBytes: number;
}

/** How far a file has been read. */
export interface Progress {
  /** Of the file. */
  name: string;
  /** Bytes read of it so far. */
  bytes: number;
  /** Its size; 0: not known. */
  size: number;
}

/** Collects the bytes of a stream of text. */
class Text {
  private readonly decoder = new TextDecoder();
  private readonly parts: string[] = [];
  readonly handle = writeOnly(Kind.pipe, (bytes) => { this.parts.push(this.decoder.decode(bytes.slice(), { stream: true })); });
  take(): string {
    return this.parts.join('') + this.decoder.decode();
  }
}

/** Runs the job in this thread. Where the program itself fails, the result says so. */
export function runJob(module: WebAssembly.Module, job: Job, onProgress?: (progress: Progress) => void): JobResult {
  const disk = new MemoryDisk();
  for (const [name, content] of job.files) disk.put(`/${name}`, content);
  if (onProgress) {
    const every = 50;
    let told = -every;
    disk.onRead = (path, bytes, size) => {
      const now = performance.now();
      if (now - told < every && bytes < size) return;
      told = now;
      onProgress({ name: path.slice(1), bytes, size });
    };
  }
  const output = new Text();
  const messages = new Text();
  const lines = (): string[] => messages.take().split('\n').filter((line) => line !== '').map((line) => line.replace(/^platetally: /, ''));
  try {
    const { code, memoryBytes } = run(module, { args: job.args, disk, environment: { PWD: '/' }, output: output.handle, messages: messages.handle });
    return { code, memoryBytes, output: output.take(), messages: lines() };
  } catch (error) {
    if (!(error instanceof WebAssembly.RuntimeError) && !(error instanceof RangeError)) throw error;
    return { code: 2, memoryBytes: 0, output: '', messages: [...lines(), `stopped: no more memory, or a fault in the program (${error.message})`] };
  }
}
