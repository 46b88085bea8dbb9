// What a caller may choose, and the arguments and files that it becomes.
import type { Progress } from './job.js';
import type { Content } from './memory_disk.js';

/** One that comes with the program ("changer-5"), or the text of a machine file. */
export type Machine = string | { toml: string; name?: string };

export interface CommonOptions {
  /** The plate's name in the report; "plate.gcode". */
  name?: string;
  /** Colours of the tools: "0=black,1=#f0c814", or by number. */
  colours?: string | Record<number, string>;
  /** The text of a prices file. */
  prices?: string;
  /** Good parts on the plate. */
  copies?: number;
  /** Also where only a part of the plate can be read. */
  partial?: boolean;
  /** "json" (the default) comes back parsed, "html" and "text" as they are. */
  format?: 'json' | 'html' | 'text';
  /** Some twenty times a second. */
  onProgress?: (progress: Progress) => void;
  /** What the program says besides its report. */
  onMessage?: (line: string) => void;
  /** Stops the work; the promise is rejected. */
  signal?: AbortSignal;
}

export interface TallyOptions extends CommonOptions {
  /** Of a container with several plates, only this one. */
  member?: string;
  /** The text of a materials file. */
  materials?: string;
  /** Temperatures, in degrees Celsius. */
  roomC?: number;
  startBedC?: number;
  door?: 'open' | 'closed';
  /** What advice is ranked by. */
  value?: 'time' | 'money' | 'grams' | 'energy';
  /** Machines beside this one, on a page. */
  beside?: Machine[];
}

export interface OrderOptions extends Omit<CommonOptions, 'copies'> {
  by?: 'grams' | 'seconds' | 'money' | 'swaps';
  /** In every layer with both, the first before the second. */
  before?: [number, number][];
  /** The tool in hand before the plate. */
  first?: number;
  /** The tool wanted in hand for the next plate. */
  keep?: number;
  /** The machine goes through its heads so. */
  heads?: string;
}

export type CompareOptions = CommonOptions;

export interface AuditOptions extends Omit<CommonOptions, 'name'> {
  /** The text of a materials file. */
  materials?: string;
  /** Worst first by this value. */
  sort?: string;
  /** Keys and highest values. */
  limits?: Record<string, number>;
}

/** The words and files of a command, as they come together. */
export class Words {
  readonly args: string[];
  readonly files: [string, Content][] = [];
  constructor(command: string) {
    this.args = [command];
  }

  option(name: string, value: string | number | undefined): this {
    // One word, so that a value may begin with a dash.
    if (value !== undefined) this.args.push(`${name}=${value}`);
    return this;
  }
  flag(name: string, wanted: boolean | undefined): this {
    if (wanted === true) this.args.push(name);
    return this;
  }
  /** The text of a settings file, in a folder where no plate can be in its place. */
  file(name: string, base: string, text: string | undefined): this {
    if (text === undefined) return this;
    const path = `settings/${base}`;
    this.files.push([path, new TextEncoder().encode(text)]);
    return this.option(name, path);
  }
  machine(option: string, machine: Machine, at = 0): this {
    if (typeof machine === 'string') return this.option(option, machine);
    return this.file(option, machine.name ?? (at === 0 ? 'machine.toml' : `machine-${at + 1}.toml`), machine.toml);
  }
  common(options: CommonOptions): this {
    const { colours } = options;
    const list = typeof colours === 'object' ? Object.entries(colours).map(([tool, colour]) => `${tool}=${colour}`).join(',') : colours;
    return this.option('--colours', list).file('--prices', 'prices.toml', options.prices).option('--copies', options.copies)
      .flag('--partial', options.partial).option('--format', options.format ?? 'json');
  }
}

/** A name that cannot lead anywhere else. */
export const safeName = (name: string | undefined): string => (name ?? 'plate.gcode').replace(/^\/+/, '') || 'plate.gcode';

export const tallyWords = (machine: Machine, options: TallyOptions): Words => {
  const words = new Words('tally').machine('--machine', machine).common(options).option('--member', options.member)
    .file('--materials', 'materials.toml', options.materials).option('--room-c', options.roomC)
    .option('--start-bed-c', options.startBedC).option('--door', options.door).option('--value', options.value);
  options.beside?.forEach((one, i) => words.machine('--beside', one, i + 1));
  return words;
};

export const orderWords = (machine: Machine, options: OrderOptions): Words => {
  const words = new Words('order').machine('--machine', machine).common(options).option('--by', options.by)
    .option('--first', options.first).option('--keep', options.keep).option('--heads', options.heads);
  for (const [one, other] of options.before ?? []) words.option('--before', `${one}:${other}`);
  return words;
};

export const compareWords = (machines: readonly Machine[], options: CompareOptions): Words => {
  const words = new Words('compare').common(options);
  machines.forEach((one, i) => words.machine('--machine', one, i));
  return words;
};

export const auditWords = (machine: Machine, options: AuditOptions): Words => {
  const words = new Words('audit').machine('--machine', machine).common(options)
    .file('--materials', 'materials.toml', options.materials).option('--sort', options.sort);
  for (const [key, most] of Object.entries(options.limits ?? {})) words.option('--limit', `${key}=${most}`);
  return words;
};
