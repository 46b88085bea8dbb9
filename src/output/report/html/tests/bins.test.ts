import { describe, expect, it } from 'vitest';
import { bin, indexAt } from '../src/bins';

describe('bin', () => {
  const edges = [0, 1, 2, 3, 4];

  it('leaves few values as they are', () => {
    expect(bin(edges, [5, 6, 7, 8], 0, 4, 10)).toEqual({ edges, means: [5, 6, 7, 8], most: 1 });
  });
  it('takes means of neighbours, the last bin of what is left', () => {
    expect(bin(edges, [1, 3, 5, 7], 0, 4, 2)).toEqual({ edges: [0, 2, 4], means: [2, 6], most: 2 });
    expect(bin(edges, [1, 3, 5, 8], 0, 4, 3).means).toEqual([2, 6.5]);
    expect(bin([0, 1, 2, 3], [1, 3, 9], 0, 3, 2)).toEqual({ edges: [0, 2, 3], means: [2, 9], most: 2 });
  });
  it('weighs by width, so that the area stays', () => {
    expect(bin([0, 1, 4], [8, 4], 0, 4, 1).means).toEqual([5]);
  });
  it('leaves out what is not known, and says so where nothing is', () => {
    expect(bin(edges, [null, 4, null, null], 0, 4, 2).means).toEqual([4, null]);
    expect(bin(edges, [Number.NaN, 4, 1, 1], 0, 4, 2).means).toEqual([4, 1]);
  });
  it('keeps to the range that is shown, whole values at its ends', () => {
    expect(bin(edges, [1, 2, 3, 4], 1.5, 2.5, 10)).toEqual({ edges: [1, 2, 3], means: [2, 3], most: 1 });
    expect(bin(edges, [1, 2, 3, 4], 9, 10, 10).means).toEqual([]);
    expect(bin([], [], 0, 1, 10).means).toEqual([]);
  });
});

describe('indexAt', () => {
  it('finds the span', () => {
    const edges = [0, 10, 20, 50];
    expect([0, 9.9, 10, 35, 50].map((x) => indexAt(edges, x))).toEqual([0, 0, 1, 2, 2]);
    expect(indexAt(edges, -1)).toBe(-1);
    expect(indexAt(edges, 51)).toBe(-1);
    expect(indexAt([], 0)).toBe(-1);
  });
});
