// The library's functions, whatever runs their jobs.
import type { Job, JobResult, Progress } from './job.js';
import type { Content } from './memory_disk.js';
import { auditWords, compareWords, orderWords, safeName, tallyWords, type AuditOptions, type CommonOptions, type CompareOptions, type Machine, type OrderOptions, type TallyOptions } from './options.js';
import type { Audit, Comparison, Order, Payback, Tally } from './reports.js';

export type { AuditOptions, CompareOptions, Job, JobResult, Machine, OrderOptions, Progress, TallyOptions };
export type { Audit, Comparison, Order, Payback, Tally } from './reports.js';

/** G-code or a container of it (gz, zstd, xz, zip, tar): in memory, in a file, or as it comes. */
export type Plate = Uint8Array | ArrayBuffer | Blob | ReadableStream<Uint8Array> | AsyncIterable<Uint8Array>;

/** A file that a job may read beside its plate. */
export type FileContent = string | Uint8Array | ArrayBuffer | Blob;

/** The program could not do it; the message is what it said. */
export class PlatetallyError extends Error {
  constructor(readonly messages: string[]) {
    super(messages.join('\n') || 'it could not be done');
    this.name = 'PlatetallyError';
  }
}

export interface JobOptions {
  onProgress?: (progress: Progress) => void;
  signal?: AbortSignal;
}

/** Runs one job in another thread. A stream is read once. */
export type Runner = (args: string[], files: [string, Plate][], options: JobOptions) => Promise<JobResult>;

/** A report in the form that was asked for: JSON is parsed, pages and text are strings. */
export type In<Options, Report> = Options extends { format: 'html' | 'text' } ? string : Report;

/** The whole of a stream, for what has to be read twice. */
async function gathered(plate: Plate): Promise<Plate> {
  if (plate instanceof Uint8Array || plate instanceof ArrayBuffer || plate instanceof Blob) return plate;
  const parts: Uint8Array<ArrayBuffer>[] = [];
  for await (const part of plate as AsyncIterable<Uint8Array<ArrayBuffer>>) parts.push(part);
  return new Blob(parts);
}

const contentOf = (text: FileContent): Plate => typeof text === 'string' ? new TextEncoder().encode(text) : text;

export function libraryOf(runner: Runner) {
  /** A report, or what was said instead of one. */
  async function report(job: Job, plates: [string, Plate][], options: CommonOptions): Promise<unknown> {
    const result = await runner(job.args, [...(job.files as [string, Plate][]), ...plates], {
      ...(options.onProgress ? { onProgress: options.onProgress } : {}),
      ...(options.signal ? { signal: options.signal } : {}),
    });
    if (result.output === '') throw new PlatetallyError(result.messages);
    result.messages.forEach((line) => options.onMessage?.(line));
    return (options.format ?? 'json') === 'json' ? JSON.parse(result.output) : result.output;
  }
  async function plain(args: string[]): Promise<string> {
    const result = await runner(args, [], {});
    if (result.code !== 0) throw new PlatetallyError(result.messages);
    return result.output;
  }
  const withPlate = (args: string[], name: string): string[] => [...args, '--', name];

  return {
    /** What one plate costs. A container of several plates gives an array of reports. */
    async tally<O extends TallyOptions = TallyOptions>(plate: Plate, machine: Machine, options?: O): Promise<In<O, Tally>> {
      const words = tallyWords(machine, options ?? {});
      const name = safeName(options?.name);
      const again = (options?.beside ?? []).length > 0;
      return await report({ args: withPlate(words.args, name), files: words.files }, [[name, again ? await gathered(plate) : plate]], options ?? {}) as In<O, Tally>;
    },
    /** What the order of the tools costs, and the cheapest one. */
    async order<O extends OrderOptions = OrderOptions>(plate: Plate, machine: Machine, options?: O): Promise<In<O, Order>> {
      const words = orderWords(machine, options ?? {});
      const name = safeName(options?.name);
      return await report({ args: withPlate(words.args, name), files: words.files }, [[name, plate]], options ?? {}) as In<O, Order>;
    },
    /** The same plate on several machines; the first is the one that it was sliced for. A stream is kept whole. */
    async compare<O extends CompareOptions = CompareOptions>(plate: Plate, machines: readonly Machine[], options?: O): Promise<In<O, Comparison>> {
      const words = compareWords(machines, options ?? {});
      const name = safeName(options?.name);
      return await report({ args: withPlate(words.args, name), files: words.files }, [[name, await gathered(plate)]], options ?? {}) as In<O, Comparison>;
    },
    /** Many plates, by name, worst first. Streams are kept whole. */
    async audit<O extends AuditOptions = AuditOptions>(plates: Record<string, Plate>, machine: Machine, options?: O): Promise<In<O, Audit>> {
      const words = auditWords(machine, options ?? {});
      const files: [string, Plate][] = [];
      for (const [name, plate] of Object.entries(plates)) files.push([`plates/${safeName(name)}`, await gathered(plate)]);
      return await report({ args: withPlate(words.args, 'plates'), files: words.files }, files, options ?? {}) as In<O, Audit>;
    },
    /** A year of plates on two machines. `files`: what the payback file names, by the names that it uses. */
    async payback<O extends { format?: 'json' | 'html' | 'text' } = { format?: 'json' }>(payback: string, files: Record<string, FileContent> = {}, options?: O): Promise<In<O, Payback>> {
      const format = options?.format ?? 'json';
      const all: [string, Plate][] = [['payback.toml', contentOf(payback)]];
      for (const [name, content] of Object.entries(files)) all.push([safeName(name), contentOf(content)]);
      return await report({ args: ['payback', `--format=${format}`, '--', 'payback.toml'], files: [] }, all, { format }) as In<O, Payback>;
    },
    /** The JSON schema (2020-12) of a report: "tally", "order", "compare", "payback", "audit", ... */
    schema: async (name = 'tally'): Promise<object> => JSON.parse(await plain([`--json-schema=${name}`])) as object,
    /** What a finding means; without a code, all of them in a list. */
    explain: async (code?: string): Promise<string> => plain(code === undefined ? ['explain'] : ['explain', '--', code]),
    /** Names and descriptions of the machines that come with it. */
    machines: async (): Promise<{ name: string; description: string }[]> =>
      (await plain(['machines'])).trimEnd().split('\n').map((line) => {
        const [, name = '', description = ''] = /^(\S+)\s+(.*)$/.exec(line) ?? [];
        return { name, description };
      }),
    /** One of them as the text of a machine file, to start from. */
    machine: async (name: string): Promise<string> => plain(['machines', '--', name]),
    /** The program itself, with arguments as on a command line; `files` are all that it sees. */
    run: async (args: string[], files: Record<string, Content> = {}, options: JobOptions = {}): Promise<JobResult> =>
      runner(args, Object.entries(files) as [string, Plate][], options),
  };
}
