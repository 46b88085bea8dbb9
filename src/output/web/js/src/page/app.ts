// The page: plates are dropped, a thread tallies them, the program's own pages are shown.
import { libraryOf, PlatetallyError, type Machine, type Progress } from '../api.js';
import { browserRunner } from '../browser_client.js';
import { fresh, forget, keep, kept, kindOfText, type Settings } from './settings.js';

type View = 'tally' | 'order' | 'compare' | 'audit';
type Form = 'html' | 'json';

function element<T extends HTMLElement>(id: string): T {
  return document.getElementById(id) as T;
}
const content = (id: string): string => element(id).textContent ?? '';

const embedded = JSON.parse(content('machines')) as { name: string; description: string }[];
const library = libraryOf(browserRunner(content('thread'), content('module')));
let settings: Settings = kept();
let plates: File[] = [];
let chosen = 0;
let view: View = 'tally';
let page = '';
let stop: AbortController | undefined;

function say(lines: string[], isFault = false): void {
  const list = element('said');
  list.replaceChildren();
  const most = 50;
  for (const line of lines.slice(0, most).concat(lines.length > most ? [`and ${lines.length - most} more`] : [])) {
    const item = document.createElement('li');
    item.textContent = line;
    if (isFault) item.className = 'fault';
    list.append(item);
  }
}

function machineNamed(name: string): Machine {
  return settings.own !== null && name === settings.own.name ? { toml: settings.own.text, name: settings.own.name } : name;
}

function showSettings(): void {
  const names = embedded.map((one) => ({ name: one.name, label: `${one.name}: ${one.description}` }));
  if (settings.own) names.push({ name: settings.own.name, label: `${settings.own.name} (your file)` });
  if (!names.some((one) => one.name === settings.machine)) settings.machine = names[0]!.name;
  element('machine').replaceChildren(...names.map(({ name, label }) => new Option(label, name, false, name === settings.machine)));
  element('beside').replaceChildren(...names.filter((one) => one.name !== settings.machine).map(({ name }) => {
    const label = document.createElement('label');
    const box = document.createElement('input');
    box.type = 'checkbox';
    box.value = name;
    box.checked = settings.beside.includes(name);
    label.append(box, ` ${name}`);
    return label;
  }));
  element<HTMLInputElement>('colours').value = settings.colours;
  element<HTMLInputElement>('copies').value = String(settings.copies);
  element('prices-name').textContent = settings.prices ? `Prices: ${settings.prices.name}.` : 'No prices: drop a prices file for money.';
  element('no-prices').hidden = settings.prices === null;
}

function readSettings(): void {
  settings.machine = element<HTMLSelectElement>('machine').value;
  settings.beside = [...element('beside').querySelectorAll<HTMLInputElement>('input:checked')].map((box) => box.value);
  settings.colours = element<HTMLInputElement>('colours').value.trim();
  settings.copies = Math.max(1, Math.floor(Number(element<HTMLInputElement>('copies').value) || 1));
  keep(settings);
}

/** Machines to compare with: those that are ticked, else the first other one. */
function besides(): string[] {
  const others = [...element('beside').querySelectorAll('input')].map((box) => box.value);
  const ticked = settings.beside.filter((name) => others.includes(name));
  return ticked.length > 0 ? ticked : others.slice(0, 1);
}

/** Several plates may have one name; each needs its own. */
function uniqueNames(files: File[]): Record<string, File> {
  const named: Record<string, File> = {};
  for (const file of files) {
    let name = file.name;
    for (let i = 2; name in named; ++i) name = `${i}-${file.name}`;
    named[name] = file;
  }
  return named;
}

async function reportOf(wanted: View, form: Form, signal: AbortSignal, onMessage: (line: string) => void): Promise<string> {
  const common = {
    format: form, signal, onMessage, onProgress: showProgress,
    ...(settings.colours === '' ? {} : { colours: settings.colours }),
    ...(settings.prices ? { prices: settings.prices.text } : {}),
  };
  const { copies } = settings;
  const machine = machineNamed(settings.machine);
  const plate = plates[chosen]!;
  const { name } = plate;
  const report: unknown = wanted === 'audit' ? await library.audit(uniqueNames(plates), machine, { ...common, copies })
    : wanted === 'order' ? await library.order(plate, machine, { ...common, name })
    : wanted === 'compare' ? await library.compare(plate, [machine, ...besides().map(machineNamed)], { ...common, name, copies })
    : await library.tally(plate, machine, { ...common, name, copies });
  return typeof report === 'string' ? report : JSON.stringify(report, null, 2) + '\n';
}

function showProgress(progress: Progress): void {
  const bar = element<HTMLProgressElement>('progress');
  if (progress.size > 0) bar.value = progress.bytes / progress.size;
  else bar.removeAttribute('value');
  const megabyte = 1e6;
  element('state').textContent = progress.bytes < progress.size
    ? `reading ${progress.name}: ${(progress.bytes / megabyte).toFixed(0)} of ${(progress.size / megabyte).toFixed(0)} MB`
    : `reckoning ${progress.name}`;
}

/** Ends what is under way, and does `work` with a bar and a button to cancel it. */
async function during(work: (signal: AbortSignal) => Promise<void>): Promise<void> {
  stop?.abort();
  const own = new AbortController();
  stop = own;
  element('work').hidden = false;
  element<HTMLProgressElement>('progress').value = 0;
  element('state').textContent = 'working';
  document.body.dataset.busy = 'yes';
  say([]);
  try {
    await work(own.signal);
  } catch (error) {
    if (!own.signal.aborted) say(error instanceof PlatetallyError ? error.messages : [String(error)], true);
  } finally {
    if (stop === own) {
      stop = undefined;
      element('work').hidden = true;
      delete document.body.dataset.busy;
    }
  }
}

function showButtons(): void {
  element('plates').replaceChildren(...(plates.length < 2 ? [] : plates.map((plate, i) => {
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = plate.name;
    button.setAttribute('aria-pressed', String(i === chosen && view !== 'audit'));
    button.addEventListener('click', () => { chosen = i; void show(view === 'audit' ? 'tally' : view); });
    return button;
  })));
  for (const button of element('views').querySelectorAll<HTMLButtonElement>('[data-view]')) {
    button.setAttribute('aria-pressed', String(button.dataset.view === view));
    if (button.dataset.view === 'audit') button.hidden = plates.length < 2;
  }
}

async function show(wanted: View): Promise<void> {
  view = wanted;
  if (plates.length === 0) return;
  readSettings();
  showButtons();
  await during(async (signal) => {
    const said: string[] = [];
    const report = await reportOf(wanted, 'html', signal, (line) => said.push(line));
    page = report;
    element<HTMLIFrameElement>('report').srcdoc = report;
    element('result').hidden = false;
    element('report').hidden = false;
    say(said);
  });
}

function save(name: string, type: string, text: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(new Blob([text], { type }));
  link.download = name;
  link.click();
  setTimeout(() => { URL.revokeObjectURL(link.href); }, 60_000);
}

const baseName = (): string => view === 'audit' ? 'plates' : plates[chosen]!.name.replace(/(\.gcode)?(\.(gz|zst|xz|zip|tar))?$/i, '');

/** Settings are taken from text files, everything else is a plate. */
async function take(files: File[]): Promise<void> {
  readSettings();
  const dropped: File[] = [];
  const said: string[] = [];
  for (const file of files) {
    const isSetting = /\.toml$/i.test(file.name) && file.size < 1 << 20;
    const text = isSetting ? await file.text() : '';
    const kind = isSetting ? kindOfText(text) : null;
    if (kind === 'prices') settings.prices = { name: file.name, text };
    else if (kind === 'machine') {
      settings.own = { name: file.name, text };
      settings.machine = file.name;
    } else if (isSetting) said.push(`${file.name}: is no machine file and no prices file`);
    else dropped.push(file);
  }
  if (dropped.length > 0) {
    plates = dropped;
    chosen = 0;
    view = plates.length > 1 ? 'audit' : view === 'audit' ? 'tally' : view;
  }
  showSettings();
  readSettings();
  if (plates.length > 0) await show(view);
  if (said.length > 0) say(said, true);
}

function listen(): void {
  const drop = element('drop');
  const files = element<HTMLInputElement>('files');
  files.addEventListener('change', () => { void take([...(files.files ?? [])]); files.value = ''; });
  // Anywhere on the page will do.
  document.addEventListener('dragover', (event) => { event.preventDefault(); drop.classList.add('over'); });
  document.addEventListener('dragleave', () => { drop.classList.remove('over'); });
  document.addEventListener('drop', (event) => {
    event.preventDefault();
    drop.classList.remove('over');
    void take([...(event.dataTransfer?.files ?? [])]);
  });
  element('settings').addEventListener('submit', (event) => { event.preventDefault(); });
  element('settings').addEventListener('change', () => { readSettings(); showSettings(); void show(view); });
  element('no-prices').addEventListener('click', () => { settings.prices = null; showSettings(); void show(view); });
  element('cancel').addEventListener('click', () => { stop?.abort(); say(['cancelled']); });
  element('forget').addEventListener('click', () => { settings = fresh(); showSettings(); forget(); });
  for (const button of element('views').querySelectorAll<HTMLButtonElement>('[data-view]'))
    button.addEventListener('click', () => { void show(button.dataset.view as View); });
  element('save-page').addEventListener('click', () => { save(`${baseName()}-${view}.html`, 'text/html', page); });
  element('save-json').addEventListener('click', () => {
    void during(async (signal) => { save(`${baseName()}-${view}.json`, 'application/json', await reportOf(view, 'json', signal, () => undefined)); });
  });
}

showSettings();
listen();
// For scripts of this page's user, as in the console: the same functions as the package.
Object.assign(window, { platetally: library });
