// What a chart says of one place on its axis: to the eye in a box, and in words to screen readers.
import { short, timeWords } from './axis';
import { indexAt } from './bins';
import type { ChartData, Panel } from './data';
import { counted, duration, rounded } from './format';

const MINUTE = 60;
const HOUR = 3600;

export function show(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return '?';
  if (unit === '') return counted(value);
  return unit === 's' ? duration(value) : `${rounded(value, unit)} ${unit}`;
}

/** "layer 12 · 3.36 mm high · from line 5210", "0:42 · layer 31", "1.5 years". */
export function placeOf(chart: ChartData, index: number): string[] {
  if (chart.axis === 'layer') {
    const layer = chart.index[index] ?? 0;
    if (layer === 0) return ['before the first layer'];
    const words = [`layer ${layer}`];
    const z = chart.z_mm[index];
    if (typeof z === 'number') words.push(`${rounded(z, 'mm')} mm high`);
    if ((chart.line[index] ?? 0) > 0) words.push(`from line ${chart.line[index]}`);
    return words;
  }
  const at = chart.edges[index] as number;
  if (chart.axis === 'height') return [`${rounded(at, 'mm')} to ${rounded(chart.edges[index + 1] ?? at, 'mm')} mm high`];
  if (chart.axis === 'years') return [`after ${short(at)} years`];
  const step = (chart.edges[index + 1] ?? at) - at;
  const last = chart.edges[chart.edges.length - 1] as number;
  // With seconds where columns are shorter than a minute.
  const words = [timeWords(at, step >= MINUTE ? 'h:min' : last < HOUR ? 'min:s' : 'h:min:s')];
  let layer = -1;
  chart.start_s.forEach((start, i) => { if (start <= at && (i === 0 || start > 0)) layer = i; });
  if (layer >= 0) words.push((chart.index[layer] ?? 0) === 0 ? 'before the first layer' : `layer ${chart.index[layer]}`);
  return words;
}

export interface Said {
  title: string;
  sum: string;
  parts: { name: string; hue: string; text: string }[];
}

/** A panel's values there, with their sum where they are parts of a whole. */
export function saidOf(chart: ChartData, panel: Panel, index: number, off: ReadonlySet<string>): Said | undefined {
  if (panel.lanes.length > 0) {
    const middle = ((chart.edges[index] as number) + (chart.edges[index + 1] ?? (chart.edges[index] as number))) / 2;
    const there = panel.lanes.flatMap((lane) => lane.spans.filter(([from, to]) => from <= middle && middle < to).map((span) => ({ name: lane.name, hue: '', text: span[2] })));
    if (there.length === 0) return undefined;
    // Spans without words only say that there is something.
    return there.some((one) => one.text !== '') ? { title: panel.title, sum: '', parts: there } : { title: panel.title, sum: there.map((one) => one.name).join(', '), parts: [] };
  }
  const series = panel.series.filter((one) => !off.has(one.name));
  if (series.length === 0) return undefined;
  const areas = series.filter((one) => one.shape === 'area');
  const whole = areas.length > 1 && areas.length === series.length ? areas.reduce((sum, one) => sum + (one.values[index] ?? 0), 0) : undefined;
  if (series.length === 1) return { title: panel.title, sum: show(series[0]!.values[index], panel.unit), parts: [] };
  const parts = series
    .filter((one) => whole === undefined || (one.values[index] ?? 0) !== 0)
    .map((one) => {
      const value = show(one.values[index], panel.unit);
      return { name: one.name, hue: one.hue, text: one.low === undefined ? value : `${show(one.low[index], panel.unit)} to ${value}` };
    });
  return { title: panel.title, sum: whole === undefined ? '' : show(whole, panel.unit), parts };
}

export function spokenOf(chart: ChartData, index: number, off: ReadonlySet<string>): string {
  const panels = chart.panels
    .map((panel) => saidOf(chart, panel, index, off))
    .filter((said) => said !== undefined)
    .map((said) => [`${said.title} ${said.sum}`.trim(), ...said.parts.map((part) => `${part.name} ${part.text}`)].join(', '));
  return `${placeOf(chart, index).join(', ')}: ${panels.join('; ')}`;
}

/** The index of the column at a place, or of the nearest point of slopes. */
export function indexOf(chart: ChartData, x: number): number {
  const index = indexAt(chart.edges, x);
  if (index < 0 || chart.axis !== 'years') return index;
  return x - (chart.edges[index] as number) > (chart.edges[index + 1] as number) - x ? index + 1 : index;
}
