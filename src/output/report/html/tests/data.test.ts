import { describe, expect, it } from 'vitest';
import { readData } from '../src/data';

describe('readData', () => {
  it('takes nothing for nothing', () => {
    expect(readData(null)).toEqual({});
    expect(readData(' ')).toEqual({});
    expect(readData('3')).toEqual({});
  });
  it('gives what is there', () => {
    expect(readData('{"power":{"edges":[0,1],"series":[]}}').power?.edges).toEqual([0, 1]);
  });
});
