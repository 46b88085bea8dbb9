// The same figures: every plate on three machines, native against Node.js against Chromium.
import { pathToFileURL } from 'node:url';
import { join } from 'node:path';
import { chromium, type Browser, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { built, bytesOf, machines, nativeOutput, plates, testdata } from './places.js';
import { differences } from './same.js';
import type * as Library from '../src/index.js';

let library: typeof Library;
let browser: Browser;
let page: Page;

/** In the page: the program's output on one file. */
async function inBrowser(args: string[], name: string): Promise<string> {
  const data = Buffer.from(bytesOf(name)).toString('base64');
  return page.evaluate(async ({ args, name, data }) => {
    const bytes = Uint8Array.from(atob(data), (letter) => letter.charCodeAt(0));
    const { platetally } = window as unknown as { platetally: typeof Library };
    return (await platetally.run(args, { [name]: new Blob([bytes]) })).output;
  }, { args, name, data });
}

beforeAll(async () => {
  library = await import(pathToFileURL(join(built, 'npm/index.js')).href) as typeof Library;
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
  page = await browser.newPage();
  await page.goto(pathToFileURL(join(built, 'platetally.html')).href);
});
afterAll(async () => { await browser.close(); });

describe.each(machines)('the tally on %s', (machine) => {
  it.each(plates)('of %s', async (name, folder) => {
    const args = ['tally', name, '--machine', machine, '--json'];
    const native = nativeOutput(args, { cwd: folder });
    expect(native).toContain('"schema"');
    const node = await library.run(args, { [name]: bytesOf(name) });
    expect(differences(native, node.output)).toEqual([]);
    expect(differences(native, await inBrowser(args, name))).toEqual([]);
  });
});

describe('the other reports on the lantern', () => {
  const name = 'lantern.gcode.gz';
  const colours = '--colours=0=black,1=white,2=red,3=yellow';
  it.each([
    ['order', ['order', name, '--machine', 'switcher-4', colours, '--json']],
    ['compare', ['compare', name, '--machine', 'changer-5', '--machine', 'switcher-4', colours, '--json']],
    ['a page', ['tally', name, '--machine', 'changer-5', colours, '--format', 'html']],
    ['text', ['tally', name, '--machine', 'changer-5', colours, '--full']],
    ['csv', ['tally', name, '--machine', 'changer-5', '--format', 'csv']],
  ])('%s', async (_what, args) => {
    const native = nativeOutput(args, { cwd: join(testdata, 'demo') });
    expect(native.length).toBeGreaterThan(500);
    expect(differences(native, (await library.run(args, { [name]: bytesOf(name) })).output)).toEqual([]);
    expect(differences(native, await inBrowser(args, name))).toEqual([]);
  });
});

it('finds what differs', () => {
  expect(differences('{"a": 1.0000000001, "b": "x"}', '{"a": 1.0, "b": "x"}')).toEqual([]);
  expect(differences('{"a": 1.00001}', '{"a": 1.0}')).toHaveLength(1);
  expect(differences('{"a": "x"}', '{"a": "y"}')).toHaveLength(1);
  expect(differences('{"a": 1}', '{"a": 1, "b": 2}').length).toBeGreaterThan(0);
});
