// Where axes are labelled; the twin of src/output/report/chart_axis.cpp. Both are held against testdata/axis-ticks.json.
import type { ChartData } from './data';
import { significant } from './format';

const MINUTE = 60;
const NEAR = 1.3;
const SECONDS_SHOWN_BELOW_S = 600;
const TIME_STEPS_S = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800, 432000, 864000, 1728000, 8640000];

/** 1, 2 or 5 times a power of ten. */
export function stepOf(rough: number): number {
  const power = 10 ** Math.floor(Math.log10(rough));
  for (const factor of [1, 2, 5]) if (factor * power >= rough * (1 - 1e-9)) return factor * power;
  return 10 * power;
}

function timeStep(rough: number): number {
  return TIME_STEPS_S.find((step) => step >= rough) ?? stepOf(rough);
}

/** Six digits at most, without the zeros behind. */
export function short(value: number): string {
  return String(Number(value.toPrecision(6)));
}

export function ticksUpTo(most: number, count: number): number[] {
  const ticks = [0];
  if (!(most > 0) || !Number.isFinite(most)) return ticks;
  const step = stepOf(most / count);
  for (let i = 1; i <= 4 * count && i * step <= most; ++i) ticks.push(i * step);
  return ticks;
}

/** How moments are written: in hours and minutes, below ten minutes with seconds. */
export type TimeLabels = 'h:min' | 'min:s' | 'h:min:s';

export function timeLabels(from: number, to: number): TimeLabels {
  if (to - from >= SECONDS_SHOWN_BELOW_S) return 'h:min';
  return to < 3600 ? 'min:s' : 'h:min:s';
}

export function timeWords(seconds: number, labels: TimeLabels): string {
  const two = (value: number): string => String(value).padStart(2, '0');
  if (labels === 'h:min') {
    const minutes = Math.round(seconds / MINUTE);
    return `${Math.floor(minutes / 60)}:${two(minutes % 60)}`;
  }
  const whole = Math.round(seconds);
  const minutes = Math.floor(whole / 60);
  return labels === 'min:s' ? `${minutes}:${two(whole % 60)}` : `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${two(whole % 60)}`;
}

export interface Tick {
  at: number;
  words: string;
  /** Of layers: how high. */
  below: string;
}

/** Labels of what lies within from .. to, without its end, about `count` of them. */
function innerTicks(chart: ChartData, from: number, to: number, count: number): Tick[] {
  const ticks: Tick[] = [];
  if (chart.axis === 'layer') {
    const step = Math.max(1, stepOf((to - from) / count));
    chart.index.forEach((layer, i) => {
      const at = chart.edges[i] as number;
      if (at < from || at >= to) return;
      const z = chart.z_mm[i];
      if (layer === 1 || (layer > 0 && layer % step === 0)) ticks.push({ at, words: short(layer), below: typeof z === 'number' ? significant(z) : '' });
    });
    if (ticks.length > 1 && ticks[1]!.at - ticks[0]!.at < 0.6 * step) ticks.splice(1, 1);
    return ticks;
  }
  const step = chart.axis === 'time' ? timeStep((to - from) / count) : Math.max(chart.axis === 'height' ? 0 : 1, stepOf((to - from) / count));
  const first = Math.ceil(from / step);
  for (let i = 0, at = first * step; at < to; ++i, at = (first + i) * step)
    ticks.push({ at, words: chart.axis === 'time' ? timeWords(at, timeLabels(from, to)) : short(at), below: '' });
  return ticks;
}

/** The same with the end, which is always named; what would touch it is not. */
export function axisTicks(chart: ChartData, from: number, to: number, count: number): Tick[] {
  if (chart.edges.length < 2) return [];
  const ticks = innerTicks(chart, from, to, count);
  const near = (NEAR * (to - from)) / count;
  while (ticks.length > 1 && to - ticks[ticks.length - 1]!.at < near) ticks.pop();
  if (chart.axis === 'layer') {
    let last = chart.index.length - 1;
    while (last > 0 && (chart.edges[last] as number) >= to) --last;
    const words = short(chart.index[last] ?? 0);
    const z = chart.z_mm[last];
    if (ticks.length === 0 || ticks[ticks.length - 1]!.words !== words) ticks.push({ at: to, words, below: typeof z === 'number' ? significant(z) : '' });
  } else {
    ticks.push({ at: to, words: chart.axis === 'time' ? timeWords(to, timeLabels(from, to)) : short(to), below: '' });
  }
  return ticks;
}

/** What a panel's values are divided by for people. */
export function shownUnit(unit: string, shown: number): { per: number; unit: string } {
  if (unit !== 's') return { per: 1, unit };
  if (shown < 2 * MINUTE) return { per: 1, unit: 's' };
  if (shown < 120 * MINUTE) return { per: MINUTE, unit: 'min' };
  return { per: 60 * MINUTE, unit: 'h' };
}
