import { describe, expect, it } from 'vitest';
import type { ChartData, Panel } from '../src/data';
import { mostOf, paths, type View } from '../src/shapes';
import { placeOf, saidOf } from '../src/tooltip';

const panel: Panel = {
  title: 'time',
  unit: 's',
  shown: 10,
  lanes: [],
  series: [
    { name: 'print', hue: 'h-print', shape: 'area', values: [2, 4] },
    { name: 'swaps', hue: 'h-swap', shape: 'area', values: [1, 16] },
    { name: 'limit', hue: 'h-other', shape: 'line', values: [null, 5] },
  ],
};
const chart: ChartData = { id: 'x', axis: 'layer', edges: [0, 1, 2], index: [0, 1], z_mm: [0, 0.28], line: [0, 40], start_s: [], panels: [panel] };
const view: View = { from: 0, to: 2, bins: 100, shown: 10, high_px: 50, off: new Set() };

describe('shapes', () => {
  it('stack areas, cut them at the upper edge, and leave gaps in lines', () => {
    expect(paths(chart, panel, view)).toEqual(['M0 200H0V160H500V120H1000V200Z', 'M0 200H0V140H500V0H1000V200Z', 'M500 100H1000']);
  });
  it('leave out what is switched off, and do not stack on it', () => {
    const [print, swaps] = paths(chart, panel, { ...view, off: new Set(['print']) });
    expect(print).toBe('');
    expect(swaps).toBe('M0 200H0V180H500V0H1000V200Z');
  });
  it('know the highest stack', () => {
    expect(mostOf(panel)).toBe(20);
  });
});

describe('the tooltip', () => {
  it('names layer, height and line, and the sum of what is stacked', () => {
    expect(placeOf(chart, 1)).toEqual(['layer 1', '0.28 mm high', 'from line 40']);
    expect(placeOf(chart, 0)).toEqual(['before the first layer']);
    const stacked: Panel = { ...panel, series: panel.series.slice(0, 2) };
    expect(saidOf(chart, stacked, 1, new Set())).toEqual({ title: 'time', sum: '20.0 s', parts: [{ name: 'print', hue: 'h-print', text: '4.00 s' }, { name: 'swaps', hue: 'h-swap', text: '16.0 s' }] });
    expect(saidOf(chart, stacked, 1, new Set(['swaps']))?.sum).toBe('4.00 s');
  });
  it('names the lanes that hold something, and what', () => {
    const lanes: Panel = { title: 'machines', unit: '', shown: 1, series: [], lanes: [{ name: 'changer-5', spans: [[0, 1, 'lantern']] }, { name: 'single-1', spans: [[1, 2, 'tags']] }] };
    expect(saidOf(chart, lanes, 1, new Set())).toEqual({ title: 'machines', sum: '', parts: [{ name: 'single-1', hue: '', text: 'tags' }] });
    const silent: Panel = { ...lanes, lanes: [{ name: '0 black', spans: [[0, 2, '']] }, { name: '1', spans: [[0, 2, '']] }] };
    expect(saidOf(chart, silent, 1, new Set())).toEqual({ title: 'machines', sum: '0 black, 1', parts: [] });
  });
  it('does not add up what is no part of a whole', () => {
    expect(saidOf(chart, panel, 0, new Set())).toMatchObject({ sum: '', parts: [{ text: '2.00 s' }, { text: '1.00 s' }, { text: '?' }] });
  });
});
