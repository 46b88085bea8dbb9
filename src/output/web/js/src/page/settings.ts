// What the page keeps in the browser: machine, colours, copies, prices.
export interface Text {
  name: string;
  text: string;
}

export interface Settings {
  /** One that comes with the program, or the name of `own`. */
  machine: string;
  own: Text | null;
  beside: string[];
  colours: string;
  copies: number;
  prices: Text | null;
}

const place = 'platetally';
export const fresh = (): Settings => ({ machine: '', own: null, beside: [], colours: '', copies: 1, prices: null });

const isText = (value: unknown): value is Text =>
  typeof value === 'object' && value !== null && typeof (value as Text).name === 'string' && typeof (value as Text).text === 'string';

/** What was kept, as far as it is sound; a browser that keeps nothing gives the defaults. */
export function kept(): Settings {
  const settings = fresh();
  try {
    const read = JSON.parse(localStorage.getItem(place) ?? '{}') as Partial<Record<keyof Settings, unknown>>;
    if (typeof read.machine === 'string') settings.machine = read.machine;
    if (isText(read.own)) settings.own = read.own;
    if (Array.isArray(read.beside)) settings.beside = read.beside.filter((one): one is string => typeof one === 'string');
    if (typeof read.colours === 'string') settings.colours = read.colours;
    if (typeof read.copies === 'number' && read.copies >= 1) settings.copies = Math.floor(read.copies);
    if (isText(read.prices)) settings.prices = read.prices;
  } catch {
    // Kept by something else, or not to be had: the defaults do.
  }
  return settings;
}

export function keep(settings: Settings): void {
  try {
    localStorage.setItem(place, JSON.stringify(settings));
  } catch {
    // Not kept: everything else works.
  }
}

export function forget(): void {
  try {
    localStorage.removeItem(place);
  } catch {
    // Nothing was kept.
  }
}

/** What a dropped text file is, by its keys; null: none that this page takes. */
export function kindOfText(text: string): 'machine' | 'prices' | 'payback' | null {
  const has = (pattern: RegExp): boolean => pattern.test(text);
  if (has(/^\s*\[\[plates\]\]/m)) return 'payback';
  if (has(/^\s*(currency|filament_per_kg|energy_per_kwh)\s*=/m)) return 'prices';
  return has(/^\s*(name|extends|description)\s*=/m) || has(/^\s*\[+(motion|area|bed|heads?|tools?|swap)/m) ? 'machine' : null;
}
