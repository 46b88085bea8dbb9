// What the page carries in its data element.

export interface Series {
  name: string;
  unit: string;
  values: (number | null)[];
}

/** Columns over common edges: values[i] lies over edges[i] .. edges[i + 1]. */
export interface Columns {
  edges: number[];
  series: Series[];
}

export interface PageData {
  layers?: Columns & { z_mm: (number | null)[]; index: number[] };
  power?: Columns;
}

export function readData(text: string | null): PageData {
  if (text === null || text.trim() === '') return {};
  const data: unknown = JSON.parse(text);
  return typeof data === 'object' && data !== null ? (data as PageData) : {};
}
