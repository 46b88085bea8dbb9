// One run of the program: a fresh instance with memory of its own, from its arguments to its exit code.
import { Kind, writeOnly, type Disk, type Handle } from './disk.js';
import { Exit, interfaceOf } from './wasi.js';

export interface RunOptions {
  /** Without the program's name. */
  args: string[];
  disk: Disk;
  environment?: Record<string, string>;
  /** Standard input; without it there is none. */
  input?: Handle;
  /** Standard output and error, as bytes that are valid during the call. */
  output: Handle;
  messages: Handle;
  sleep?: (milliseconds: number) => void;
}

export interface RunResult {
  /** 0 done, 1 a limit is exceeded, 2 it could not be done. */
  code: number;
  /** Of the program's memory, at its largest. */
  memoryBytes: number;
}

/** Runs to the end, in this thread. Throws what the program cannot catch: no more memory, or a fault in it. */
export function run(module: WebAssembly.Module, options: RunOptions): RunResult {
  let memory: WebAssembly.Memory | undefined;
  const nothing: Handle = { ...writeOnly(Kind.pipe, () => undefined), read: () => 0 };
  const functions = interfaceOf(
    {
      args: ['platetally', ...options.args],
      environment: options.environment ?? {},
      disk: options.disk,
      streams: [options.input ?? nothing, options.output, options.messages],
      ...(options.sleep ? { sleep: options.sleep } : {}),
    },
    () => memory!,
  );
  const instance = new WebAssembly.Instance(module, { wasi_snapshot_preview1: functions });
  memory = instance.exports.memory as WebAssembly.Memory;
  let code = 0;
  try {
    (instance.exports._start as () => void)();
  } catch (error) {
    if (!(error instanceof Exit)) throw error;
    code = error.code;
  }
  return { code, memoryBytes: memory.buffer.byteLength };
}
