// The library in Node.js: its functions, streams, what is refused, what is left out.
import { Readable } from 'node:stream';
import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { readFileSync } from 'node:fs';
import { beforeAll, describe, expect, it } from 'vitest';
import { built, bytesOf, testdata } from './places.js';
import type * as Library from '../src/index.js';

let library: typeof Library;
const lantern = 'lantern.gcode.gz';
const prices = readFileSync(join(testdata, 'demo/prices.toml'), 'utf8');

beforeAll(async () => {
  library = await import(pathToFileURL(join(built, 'npm/index.js')).href) as typeof Library;
});

/** Lines of a plate without an end. */
async function* endless(): AsyncGenerator<Uint8Array> {
  yield new TextEncoder().encode('G90\nM83\nG1 Z0.2 F600\n');
  for (let i = 0; ; ++i) yield new TextEncoder().encode(`G1 X${i % 200} Y${i % 7} E1 F1200\n`.repeat(2000));
}

describe('a plate', () => {
  it('is the same as bytes, as a stream in small pieces, and as a blob', async () => {
    const bytes = bytesOf(lantern);
    const whole = await library.tally(bytes, 'changer-5', { name: lantern });
    const pieces = Readable.from((function* () { for (let at = 0; at < bytes.length; at += 977) yield bytes.subarray(at, at + 977); })());
    expect(await library.tally(pieces, 'changer-5', { name: lantern })).toEqual(whole);
    expect(await library.tally(new Blob([bytes]), 'changer-5', { name: lantern })).toEqual(whole);
    expect(await library.tally(new Blob([bytes]).stream(), 'changer-5', { name: lantern })).toEqual(whole);
    expect(whole.totals.time_s).toBeGreaterThan(0);
  });

  it('takes options as the native program does', async () => {
    const own = (await library.machine('switcher-4')).replace('"switcher-4"', '"our switcher"');
    const report = await library.tally(bytesOf(lantern), { toml: own }, { colours: { 0: 'black', 1: 'white' }, prices, copies: 2, roomC: 18 });
    expect(report.machine.name).toBe('our switcher');
    expect(report.totals.cost_per_good_part).toBeCloseTo((report.totals.cost as number) / 2, 9);
    const page = await library.tally(bytesOf(lantern), 'changer-5', { format: 'html', beside: ['single-1'] });
    expect(page).toMatch(/^<!DOCTYPE html>[^]*single-1/);
    expect(await library.order(bytesOf(lantern), 'switcher-4', { by: 'swaps', first: 0, before: [[1, 0]] })).toHaveProperty('plan');
    expect((await library.compare(bytesOf(lantern), ['changer-5', 'switcher-4'])).schema).toMatch(/^platetally\.compare\/\d+$/);
  });

  it('that cannot be read is refused with what the program says', async () => {
    await expect(library.tally(new Uint8Array(0), 'changer-5')).rejects.toThrow(/plate\.gcode/);
    await expect(library.tally(bytesOf(lantern), 'no-such-machine')).rejects.toThrow(/no-such-machine/);
    await expect(library.tally(bytesOf(lantern), { toml: 'name = 3' })).rejects.toThrow(/machine\.toml/);
    await expect(library.tally(bytesOf(lantern).subarray(0, 3000), 'changer-5')).rejects.toThrow(/breaks off|damaged|part/);
  });

  it('that unpacks without measure is stopped by the same bound', async () => {
    const bomb = execFileSync('bash', ['-c', '(printf "G90\\nM83\\nG1 X1 E1 F600\\n"; head -c 500000000 /dev/zero | tr "\\0" ";") | zstd -q'], { maxBuffer: 1 << 24 });
    expect(bomb.length).toBeLessThan(100_000);
    let read = 0;
    await expect(library.tally(new Uint8Array(bomb), 'changer-5', { onProgress: ({ bytes }) => { read = bytes; } })).rejects.toThrow(/unpacks to more than 1000 times its size/);
    expect(read).toBeGreaterThan(0);
  });

  it('can be given up', async () => {
    const stop = new AbortController();
    const work = library.tally(endless(), 'changer-5', { signal: stop.signal, onProgress: ({ bytes }) => { if (bytes > 1 << 20) stop.abort(new Error('enough')); } });
    await expect(work).rejects.toThrow('enough');
  });

  it('whose stream breaks is refused with the reason of the stream', async () => {
    async function* broken(): AsyncGenerator<Uint8Array> {
      yield new TextEncoder().encode('G90\nM83\nG1 X1 E1 F600\n');
      throw new Error('the cable came loose');
    }
    await expect(library.tally(broken(), 'changer-5')).rejects.toThrow('the cable came loose');
  });
});

it('audits many, worst first', async () => {
  const report = await library.audit({ 'a.gcode.gz': bytesOf('tower.gcode.gz'), 'b.gcode.gz': bytesOf('chute.gcode.gz'), 'c.gcode': new Uint8Array(3) }, 'changer-5', { limits: { purge_g: 1 } });
  expect(report.schema).toMatch(/^platetally\.audit\/\d+$/);
  expect(JSON.stringify(report)).toContain('a.gcode.gz');
});

it('reckons a year', async () => {
  const files = Object.fromEntries(['lantern-chute.gcode.gz', 'labels.gcode.gz'].map((name) => [name, bytesOf(name)]));
  const payback = readFileSync(join(testdata, 'demo/payback.toml'), 'utf8');
  expect(await library.payback(payback, { ...files, 'prices.toml': prices })).toHaveProperty('schema', expect.stringMatching(/^platetally\.payback\/\d+$/));
  await expect(library.payback(payback)).rejects.toThrow(/prices\.toml/);
});

it('tells of machines, findings and schemas', async () => {
  expect((await library.machines()).map(({ name }) => name)).toEqual(['changer-5', 'switcher-4', 'single-1']);
  expect(await library.explain()).toContain('tower-without-need');
  expect(await library.explain('tower-without-need')).not.toBe('');
  expect(await library.schema('order')).toHaveProperty('title', expect.stringMatching(/^platetally\.order\/\d+$/));
  await expect(library.schema('nothing')).rejects.toThrow(/no report is called/);
});

it.each([
  [['plan', 'queue.toml'], 'plan'], [['record', '--topic', 'x'], 'record'], [['calibrate', 'changer-5', '--log', 'idle.csv:idle'], 'calibrate'],
  [['reconcile', 'x.gcode', '--machine', 'changer-5'], 'reconcile'], [['audit', '.', '--machine', 'changer-5', '--history', 'h.sqlite'], 'history'],
])('says in one line that %s is left out', async (args, what) => {
  const result = await library.run(args, { 'x.gcode': bytesOf(lantern) });
  expect(result.code).toBe(2);
  expect(result.messages).toHaveLength(1);
  expect(result.messages[0]).toMatch(new RegExp(`${what}.* left out .*native`));
});
