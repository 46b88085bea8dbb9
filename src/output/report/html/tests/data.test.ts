import { describe, expect, it } from 'vitest';
import { readData } from '../src/data';

describe('the data of a page', () => {
  it('may be missing', () => {
    expect(readData(null)).toEqual([]);
    expect(readData(' ')).toEqual([]);
    expect(readData('3')).toEqual([]);
  });
  it('is a list of charts', () => {
    expect(readData('[{"id":"power","edges":[0,1]}]')[0]?.id).toBe('power');
  });
});
