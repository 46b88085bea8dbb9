// What the page carries in its data element: the values behind its charts.

export interface Series {
  name: string;
  hue: string;
  shape: 'area' | 'line' | 'slope' | 'band';
  values: (number | null)[];
  low?: (number | null)[];
}

export interface Lane {
  name: string;
  spans: [from: number, to: number, words: string][];
}

export interface Panel {
  title: string;
  unit: string;
  /** The value at the upper edge of the drawing. */
  shown: number;
  series: Series[];
  lanes: Lane[];
}

/** Panels over common edges: an area's values[i] lies over edges[i] .. edges[i + 1]. */
export interface ChartData {
  id: string;
  axis: 'layer' | 'time' | 'years' | 'height';
  edges: number[];
  index: number[];
  z_mm: (number | null)[];
  line: number[];
  start_s: number[];
  panels: Panel[];
}

export function readData(text: string | null): ChartData[] {
  if (text === null || text.trim() === '') return [];
  const data: unknown = JSON.parse(text);
  return Array.isArray(data) ? (data as ChartData[]) : [];
}
