import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { axisTicks, ticksUpTo } from '../src/axis';
import type { ChartData } from '../src/data';

const testdata = process.env.PLATETALLY_TESTDATA ?? resolve(__dirname, '../../../../../testdata');
const cases = JSON.parse(readFileSync(resolve(testdata, 'axis-ticks.json'), 'utf8')) as {
  up_to: [number, number, number[]][];
  time_s: [number, number, number, string[]][];
  layers: [number, number, string[]][];
};

function chart(axis: ChartData['axis'], edges: number[], index: number[] = []): ChartData {
  return { id: 'x', axis, edges, index, z_mm: index.map((layer) => layer / 5), line: [], start_s: [], panels: [] };
}

describe('axes are labelled as the other writer labels them', () => {
  it.each(cases.up_to)('up to %f, about %i', (most, count, ticks) => {
    expect(ticksUpTo(most, count).map((tick) => Number(tick.toPrecision(6)))).toEqual(ticks);
  });
  it.each(cases.time_s)('time from %f to %f, about %i', (from, to, count, words) => {
    expect(axisTicks(chart('time', [from, to]), from, to, count).map((tick) => tick.words)).toEqual(words);
  });
  it.each(cases.layers)('%i layers, about %i', (last, count, words) => {
    const edges = Array.from({ length: last + 2 }, (_, i) => i);
    expect(axisTicks(chart('layer', edges, edges.slice(0, -1)), 0, last + 1, count).map((tick) => tick.words)).toEqual(words);
  });
});
