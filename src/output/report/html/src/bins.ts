// Values over edges, thinned to what a screen can show.

export interface Bins {
  /** Where each bin begins, and behind the last one where it ends. */
  edges: number[];
  /** Means, weighed by width; null where nothing is known. */
  means: (number | null)[];
  /** How many values went into the widest bin. */
  most: number;
}

/**
 * values[i] lies over edges[i] .. edges[i + 1]. Of what lies within from .. to, at most `count`
 * bins; with fewer values than that, the values themselves.
 */
export function bin(edges: readonly number[], values: readonly (number | null)[], from: number, to: number, count: number): Bins {
  let first = 0;
  let last = values.length;
  while (first < last && (edges[first + 1] as number) <= from) ++first;
  while (last > first && (edges[last - 1] as number) >= to) --last;
  const inside = last - first;
  const bins: Bins = { edges: [], means: [], most: 0 };
  if (inside === 0) return bins;
  const step = Math.max(1, Math.ceil(inside / Math.max(1, count)));
  for (let at = first; at < last; at += step) {
    const end = Math.min(at + step, last);
    let sum = 0;
    let width = 0;
    for (let i = at; i < end; ++i) {
      const value = values[i];
      if (value === null || value === undefined || !Number.isFinite(value)) continue;
      const wide = Math.max((edges[i + 1] as number) - (edges[i] as number), 1e-9);
      sum += value * wide;
      width += wide;
    }
    bins.edges.push(edges[at] as number);
    bins.means.push(width > 0 ? sum / width : null);
    bins.most = Math.max(bins.most, end - at);
  }
  bins.edges.push(edges[last] as number);
  return bins;
}

/** The index of the value whose span holds x, or -1. */
export function indexAt(edges: readonly number[], x: number): number {
  let low = 0;
  let high = edges.length - 1;
  if (high < 1 || x < (edges[0] as number) || x > (edges[high] as number)) return -1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((edges[middle] as number) <= x) low = middle;
    else high = middle;
  }
  return low;
}
