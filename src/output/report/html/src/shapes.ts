// The shapes of a panel as paths, in the box of the drawing: UNITS wide over the whole axis, FINE a pixel high.
import { bin } from './bins';
import type { ChartData, Panel, Series } from './data';

export const UNITS = 1000;
export const FINE = 4;

export interface View {
  from: number;
  to: number;
  /** At most so many steps. */
  bins: number;
  /** The value at the upper edge. */
  shown: number;
  high_px: number;
  off: ReadonlySet<string>;
}

export function xOf(chart: ChartData, value: number): number {
  const first = chart.edges[0] as number;
  const last = chart.edges[chart.edges.length - 1] as number;
  return ((value - first) / Math.max(last - first, 1e-12)) * UNITS;
}

export function yOf(view: View, value: number): number {
  return FINE * view.high_px * (1 - Math.min(1, Math.max(0, value / view.shown)));
}

const round = (value: number): string => String(Number(value.toFixed(3)));

function steps(chart: ChartData, view: View, edges: number[], values: (number | null)[], closed: boolean): string {
  if (edges.length < 2) return '';
  const foot = round(yOf(view, 0));
  let path = closed ? `M${round(xOf(chart, edges[0] as number))} ${foot}` : '';
  let down = closed;
  values.forEach((value, i) => {
    const x = round(xOf(chart, edges[i] as number));
    if (value === null) {
      if (down && !closed) path += `H${x}`;
      down = closed;
      return;
    }
    const y = round(yOf(view, value));
    path += down ? `H${x}V${y}` : `M${x} ${y}`;
    down = true;
  });
  if (down) path += `H${round(xOf(chart, edges[edges.length - 1] as number))}`;
  return closed ? `${path}V${foot}Z` : path;
}

function slope(chart: ChartData, view: View, series: Series): string {
  const point = (value: number | null, i: number): string => `${round(xOf(chart, chart.edges[i] as number))} ${round(yOf(view, value ?? 0))}`;
  let path = series.values.map((value, i) => `${i === 0 ? 'M' : 'L'}${point(value, i)}`).join('');
  if (series.shape === 'band' && series.low !== undefined) {
    for (let i = series.low.length - 1; i >= 0; --i) path += `L${point(series.low[i] ?? 0, i)}`;
    path += 'Z';
  }
  return path;
}

/** Of every series in order; nothing for what is switched off. Areas are stacked, the first lowest. */
export function paths(chart: ChartData, panel: Panel, view: View): string[] {
  let tops: number[] = [];
  return panel.series.map((series) => {
    if (view.off.has(series.name)) return '';
    if (series.shape === 'slope' || series.shape === 'band') return slope(chart, view, series);
    const bins = bin(chart.edges, series.values, view.from, view.to, view.bins);
    if (series.shape === 'line') return steps(chart, view, bins.edges, bins.means, false);
    if (tops.length !== bins.means.length) tops = bins.means.map(() => 0);
    tops = bins.means.map((mean, i) => (mean ?? 0) + (tops[i] as number));
    return steps(chart, view, bins.edges, tops, true);
  });
}

/** The highest value that a panel holds. */
export function mostOf(panel: Panel): number {
  let most = 0;
  const columns = Math.max(0, ...panel.series.map((series) => series.values.length));
  for (let i = 0; i < columns; ++i) {
    let stack = 0;
    for (const series of panel.series) {
      const value = series.values[i];
      if (value === null || value === undefined) continue;
      if (series.shape === 'area') stack += value;
      else most = Math.max(most, value);
    }
    most = Math.max(most, stack);
  }
  return most > 0 ? most : 1;
}
