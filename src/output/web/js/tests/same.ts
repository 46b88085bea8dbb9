// Two JSON texts held against each other: numbers to 1e-9, everything else to the byte.
const token = /"(?:[^"\\]|\\.)*"|-?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?|[^"\d-]+/g;
const isNumber = (text: string): boolean => /^-?\d/.test(text);
export const tolerance = 1e-9;

/** What differs, at most a few lines; empty: nothing. */
export function differences(first: string, second: string): string[] {
  const ours = first.match(token) ?? [];
  const theirs = second.match(token) ?? [];
  const found: string[] = [];
  let key = '';
  for (let i = 0; i < Math.max(ours.length, theirs.length) && found.length < 5; ++i) {
    const one = ours[i] ?? '(end)';
    const other = theirs[i] ?? '(end)';
    if (one === other) {
      if (one.startsWith('"') && (ours[i + 1] ?? '').startsWith(':')) key = one;
      continue;
    }
    const [a, b] = [Number(one), Number(other)];
    if (isNumber(one) && isNumber(other) && Math.abs(a - b) <= tolerance * Math.max(1, Math.abs(a), Math.abs(b))) continue;
    found.push(`behind ${key}: ${one.slice(0, 80)} against ${other.slice(0, 80)}`);
  }
  return found;
}
