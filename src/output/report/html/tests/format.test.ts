import { readFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { describe, expect, it } from 'vitest';
import { counted, duration, rounded } from '../src/format';

// From the source folder, or from where the build copies it to.
const testdata = process.env.PLATETALLY_TESTDATA ?? resolve(__dirname, '../../../../../testdata');
const cases = JSON.parse(readFileSync(resolve(testdata, 'number-format.json'), 'utf8')) as {
  rounded: [number, string, string][];
  duration: [number, string][];
};

describe('numbers are shown as the other writer shows them', () => {
  it.each(cases.rounded)('%f %s is %s', (value, unit, text) => {
    expect(rounded(value, unit)).toBe(text);
  });
  it.each(cases.duration)('%f seconds are %s', (seconds, text) => {
    expect(duration(seconds)).toBe(text);
  });
  it('says what is not known', () => {
    expect(rounded(null, 'g')).toBe('?');
    expect(rounded(Number.NaN, 'Wh')).toBe('?');
    expect(duration(Number.POSITIVE_INFINITY)).toBe('?');
  });
  it('shows counts whole and means of counts with decimals', () => {
    expect(counted(3)).toBe('3');
    expect(counted(2.5)).toBe('2.50');
  });
});
