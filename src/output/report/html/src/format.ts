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

/** In its two largest units: "31.4 s", "7 min 31 s", "2 h 7 min", "3 d 4 h". */
export function duration(seconds: number): string {
  if (!Number.isFinite(seconds)) return '?';
  const sign = seconds < 0 ? '-' : '';
  const size = Math.min(Math.abs(seconds), 9e15);
  if (size < 59.5) {
    const text = significant(size);
    return text === '0' ? '0 s' : `${sign}${text} s`;
  }
  if (size < 3599.5) {
    const s = Math.round(size);
    return `${sign}${Math.floor(s / 60)} min ${s % 60} s`;
  }
  if (size < 86370) {
    const min = Math.round(size / 60);
    return `${sign}${Math.floor(min / 60)} h ${min % 60} min`;
  }
  const h = Math.round(size / 3600);
  return `${sign}${Math.floor(h / 24)} d ${h % 24} h`;
}

/** Three digits that count, two below one: "1230", "273", "19.0", "4.25", "0.98", "0.062". */
export function significant(value: number): string {
  if (!Number.isFinite(value)) return '?';
  const size = Math.abs(value);
  if (size === 0) return '0';
  let decimals = 2;
  if (size < 0.995) while (decimals < 6 && size * 10 ** decimals < 9.95) decimals += 1;
  else while (size * 10 ** decimals >= 999.5 && decimals > -300) decimals -= 1;
  if (decimals < 0) {
    const step = 10 ** -decimals;
    return String(BigInt(Number(fixed(value / step, 0)) * step));
  }
  const text = fixed(value, decimals);
  return Number(text) === 0 ? '0' : text;
}

/** A value of that unit; "?" where it is not known. */
export function rounded(value: number | null | undefined, unit: string): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return '?';
  return unit === 's' ? duration(value) : significant(value);
}

/** A count, such as of swaps; a mean of counts has decimals. */
export function counted(value: number): string {
  return Number.isInteger(value) ? String(value) : fixed(value, 2);
}
