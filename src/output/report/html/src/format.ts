// Numbers as every report shows them; the twin of src/output/report/strings.cpp. Both are held against
// testdata/number-format.json. No locale.

/** Rounds exact halves to the even digit, as the other side does; toFixed rounds them up. */
function fixed(value: number, decimals: number): string {
  let text = value.toFixed(decimals);
  const exact = Math.abs(value).toFixed(100 - 1);
  const rest = exact.slice(exact.indexOf('.') + 1 + decimals);
  if (rest.startsWith('5') && /^50*$/.test(rest)) {
    const step = 10 ** -decimals;
    const even = Math.abs(Number(text)) * 10 ** decimals;
    if (Math.round(even) % 2 !== 0) text = (Number(text) - Math.sign(value) * step).toFixed(decimals);
  }
  return Number(text) === 0 ? (0).toFixed(decimals) : text;
}

/** "31.4 s", "7 min 31 s", "2 h 07 min 31 s", "3 d 04 h 10 min". */
export function duration(seconds: number): string {
  if (!Number.isFinite(seconds)) return '?';
  const two = (part: number): string => String(part).padStart(2, '0');
  const sign = seconds < 0 ? '-' : '';
  const size = Math.min(Math.abs(seconds), 9e15);
  if (size < 59.95) {
    const text = `${fixed(size, 1)} s`;
    return text === '0.0 s' ? '0 s' : sign + text;
  }
  const whole = Math.round(size);
  const s = whole % 60;
  const min = Math.floor(whole / 60) % 60;
  const h = Math.floor(whole / 3600) % 24;
  const d = Math.floor(whole / 86400);
  if (d > 0) return `${sign}${d} d ${two(h)} h ${two(min)} min`;
  if (h > 0) return `${sign}${h} h ${two(min)} min ${two(s)} s`;
  return `${sign}${min} min ${two(s)} s`;
}

/** A value of that unit; "?" where it is not known. */
export function rounded(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return '?';
  if (unit === 's') return duration(value);
  if (unit === 'g' || unit === 'mm') return fixed(value, 2);
  if (unit === 'Wh') return fixed(value, Math.abs(value) < 1000 ? 1 : 0);
  if (unit === 'W' || unit === 'C') return fixed(value, 0);
  return fixed(value, 3);
}

/** A count, such as of swaps; a mean of counts has decimals. */
export function counted(value: number): string {
  return Number.isInteger(value) ? String(value) : fixed(value, 2);
}
