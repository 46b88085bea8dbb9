// The page in a real browser, opened from the disk: what it shows, keeps, refuses to do, and how much memory it takes.
import { createServer, type Server } from 'node:http';
import { createRequire } from 'node:module';
import type { AddressInfo } from 'node:net';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium, type Browser, type Download, type FrameLocator, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { built, nativeOutput, testdata } from './places.js';
import { differences } from './same.js';

const file = join(built, 'platetally.html');
const pictures = process.env.PAGE_PICTURES ?? '';
let folder = '';
let browser: Browser;

interface Opened {
  page: Page;
  /** What the console says, what fails, and what is asked of any network. */
  said: string[];
  report: FrameLocator;
}

async function open(address = pathToFileURL(file).href): Promise<Opened> {
  const context = await browser.newContext({ viewport: { width: 1100, height: 1000 }, acceptDownloads: true });
  const page = await context.newPage();
  const said: string[] = [];
  page.on('console', (message) => said.push(message.text()));
  page.on('pageerror', (error) => said.push(String(error)));
  page.on('request', (request) => { if (request.url() !== address && !request.url().startsWith('blob:')) said.push(request.url()); });
  await page.goto(address);
  return { page, said, report: page.frameLocator('#report') };
}

const idle = (page: Page): Promise<void> => page.locator('body:not([data-busy])').waitFor({ timeout: 60_000 });

async function drop(page: Page, ...names: string[]): Promise<void> {
  await page.setInputFiles('#files', names.map((name) => name.includes('/') ? name : join(folder, name)));
  await idle(page);
}

async function saved(page: Page, button: string): Promise<string> {
  const [download] = await Promise.all([page.waitForEvent('download'), page.click(button)]) as [Download, void];
  return readFileSync(await download.path(), 'utf8');
}

async function picture(page: Page, name: string): Promise<void> {
  if (pictures === '') return;
  mkdirSync(pictures, { recursive: true });
  await page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'page-'));
  for (const name of ['demo/lantern.gcode.gz', 'demo/prices.toml', 'plates/tower.gcode.gz', 'plates/chute.gcode.gz', 'plates/arcs.gcode.gz'])
    copyFileSync(join(testdata, name), join(folder, name.split('/')[1]!));
  writeFileSync(join(folder, 'our-machine.toml'), nativeOutput(['machines', 'single-1'], {}).replace('"single-1"', '"the workshop\'s"'));
  writeFileSync(join(folder, 'broken.gcode'), 'nothing of a plate\n');
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
});
afterAll(async () => {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
});

it('is one file of at most 4 MB that asks nothing of any network', async () => {
  expect(statSync(file).size).toBeLessThanOrEqual(4_000_000);
  const { page, said, report } = await open();
  await picture(page, 'first');
  await drop(page, 'lantern.gcode.gz');
  await report.locator('h1').waitFor();
  await picture(page, 'tally');
  expect(await report.locator('html[data-live]').count()).toBe(1);
  expect(said).toEqual([]);
});

it('cannot reach a network even if it wanted to', async () => {
  const asked: string[] = [];
  const server: Server = createServer((request, response) => { asked.push(request.url ?? ''); response.end('x'); });
  await new Promise<void>((resolve) => { server.listen(0, '127.0.0.1', resolve); });
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
  const { page } = await open();
  const outcomes = await page.evaluate(async (to) => {
    const broken: string[] = [];
    document.addEventListener('securitypolicyviolation', (event) => broken.push(event.effectiveDirective));
    const failed = async (work: () => unknown): Promise<boolean> => { try { await work(); return false; } catch { return true; } };
    const inThread = (): Promise<string> => new Promise((resolve) => {
      const script = `fetch('${to}/thread').then(() => postMessage('reached'), () => postMessage('refused'))`;
      const worker = new Worker(URL.createObjectURL(new Blob([script])));
      worker.onmessage = ({ data }) => { resolve(String(data)); };
    });
    const results = {
      fetch: await failed(() => fetch(`${to}/fetch`)),
      beacon: !navigator.sendBeacon(`${to}/beacon`) || true,
      picture: await failed(() => new Promise((resolve, reject) => { const one = new Image(); one.onload = resolve; one.onerror = reject; one.src = `${to}/picture`; })),
      socket: await failed(() => new Promise((resolve, reject) => { const one = new WebSocket(to.replace('http', 'ws')); one.onopen = resolve; one.onerror = reject; })),
      thread: await inThread(),
    };
    await new Promise((resolve) => setTimeout(resolve, 200));
    return { results, broken };
  }, address);
  server.close();
  expect(asked).toEqual([]);
  expect(outcomes.results).toEqual({ fetch: true, beacon: true, picture: true, socket: true, thread: 'refused' });
  expect(outcomes.broken).toContain('connect-src');
  expect(outcomes.broken).toContain('img-src');
  expect(readFileSync(file, 'utf8')).toContain("connect-src 'none'");
});

describe('a dropped plate', () => {
  it('gives the program\'s own page, and its JSON', async () => {
    const { page, said } = await open();
    await drop(page, 'lantern.gcode.gz');
    expect(differences(nativeOutput(['tally', 'lantern.gcode.gz', '--machine', 'changer-5', '--format', 'html'], { cwd: folder }), await saved(page, '#save-page'))).toEqual([]);
    const json = nativeOutput(['tally', 'lantern.gcode.gz', '--machine', 'changer-5', '--json'], { cwd: folder });
    expect(differences(JSON.stringify(JSON.parse(json)), JSON.stringify(JSON.parse(await saved(page, '#save-json'))))).toEqual([]);
    expect(said).toEqual([]);
  });

  it('can be ordered and compared, on the machine that is chosen, with colours, copies and prices', async () => {
    const { page, said, report } = await open();
    await page.selectOption('#machine', 'switcher-4');
    await page.fill('#colours', '0=black,1=white,2=red,3=yellow');
    await page.fill('#copies', '3');
    await drop(page, 'lantern.gcode.gz', 'prices.toml');
    expect(await report.locator('body').innerText()).toContain('EUR');
    await page.click('[data-view=order]');
    await idle(page);
    expect(differences(nativeOutput(['order', 'lantern.gcode.gz', '--machine', 'switcher-4', '--colours', '0=black,1=white,2=red,3=yellow', '--prices', 'prices.toml', '--format', 'html'], { cwd: folder }), await saved(page, '#save-page'))).toEqual([]);
    await page.check('#beside input[value=single-1]');
    await page.click('[data-view=compare]');
    await idle(page);
    await picture(page, 'compare');
    expect(differences(nativeOutput(['compare', 'lantern.gcode.gz', '--machine', 'switcher-4', '--machine', 'single-1', '--colours', '0=black,1=white,2=red,3=yellow', '--prices', 'prices.toml', '--copies', '3', '--format', 'html'], { cwd: folder }), await saved(page, '#save-page'))).toEqual([]);
    expect(said).toEqual([]);
  });

  it('may be dropped with the mouse', async () => {
    const { page, report } = await open();
    const data = readFileSync(join(folder, 'tower.gcode.gz')).toString('base64');
    await page.evaluate((text) => {
      const transfer = new DataTransfer();
      transfer.items.add(new File([Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0))], 'tower.gcode.gz'));
      document.body.dispatchEvent(new DragEvent('drop', { bubbles: true, cancelable: true, dataTransfer: transfer }));
    }, data);
    await report.locator('h1').waitFor();
    expect(await report.locator('body').innerText()).toContain('tower.gcode.gz');
  });

  it('that is none is refused in words', async () => {
    const { page } = await open();
    await drop(page, 'broken.gcode');
    expect(await page.locator('#said').innerText()).toContain('broken.gcode');
    await page.fill('#colours', 'nonsense');
    await drop(page, 'tower.gcode.gz');
    expect(await page.locator('#said').innerText()).toMatch(/colours/);
  });
});

it('shows many plates in one table, worst first, and each of them', async () => {
  const { page, said, report } = await open();
  await drop(page, 'tower.gcode.gz', 'chute.gcode.gz', 'arcs.gcode.gz', 'broken.gcode');
  expect(await report.locator('#plates tbody tr').count()).toBe(3);
  expect(await report.locator('body').innerText()).toContain('broken.gcode');
  await picture(page, 'audit');
  await page.click('#plates button:has-text("arcs")');
  await idle(page);
  expect(await report.locator('body').innerText()).toContain('arcs.gcode.gz');
  expect(said).toEqual([]);
});

it('keeps the machine, colours and prices in the browser, and forgets them when told to', async () => {
  const { page } = await open();
  await drop(page, 'our-machine.toml', 'prices.toml');
  await page.fill('#colours', '0=black');
  await page.locator('#colours').blur();
  await page.reload();
  expect(await page.inputValue('#machine')).toBe('our-machine.toml');
  expect(await page.inputValue('#colours')).toBe('0=black');
  expect(await page.locator('#prices-name').innerText()).toContain('prices.toml');
  await drop(page, 'tower.gcode.gz');
  expect(await page.frameLocator('#report').locator('body').innerText()).toContain('the workshop\'s');
  await page.click('#forget');
  await page.reload();
  expect(await page.inputValue('#machine')).toBe('changer-5');
  expect(await page.inputValue('#colours')).toBe('');
});

it('stays alive while a large plate is read, in bounded memory, and cancels', async () => {
  const { page } = await open();
  // Made in the page, so that no large file has to be handed over: 300 MB of moves.
  const outcome = await page.evaluate(async () => {
    const { platetally } = window as unknown as { platetally: typeof import('../src/index.js') };
    const head = 'G90\nM83\nG1 Z0.2 F600\n';
    let lines = '';
    for (let i = 0; lines.length < 1 << 20; ++i) lines += `G1 X${(10 + (i * 37) % 180 + 0.125).toFixed(3)} Y${(10 + (i * 53) % 170).toFixed(3)} E0.${1000 + i % 9000} F${1200 + 60 * (i % 30)}\n`;
    const plate = new Blob([head, ...Array.from({ length: 300 }, (_, i) => `G1 Z${(0.2 + 0.2 * i).toFixed(1)}\n${lines}`)]);
    let ticks = 0;
    const clock = setInterval(() => { ++ticks; }, 10);
    let told = 0;
    const result = await platetally.run(['tally', 'large.gcode', '--machine', 'changer-5', '--json'], { 'large.gcode': plate }, { onProgress: () => { ++told; } });
    clearInterval(clock);
    const stop = new AbortController();
    const given = platetally.run(['tally', 'large.gcode', '--machine', 'changer-5', '--json'], { 'large.gcode': plate }, { signal: stop.signal, onProgress: () => { stop.abort(new Error('cancelled')); } });
    const cancelled = await given.then(() => 'finished', (error: unknown) => String(error));
    const after = await platetally.run(['machines']);
    return { code: result.code, memory: result.memoryBytes, told, ticks, cancelled, after: after.output };
  });
  expect(outcome.code).toBe(0);
  expect(outcome.memory).toBeLessThanOrEqual(256 << 20);
  expect(outcome.told).toBeGreaterThan(10);
  expect(outcome.ticks).toBeGreaterThan(outcome.told);
  expect(outcome.cancelled).toContain('cancelled');
  expect(outcome.after).toContain('changer-5');
}, 300_000);

it.each(['light', 'dark'] as const)('has no fault of accessibility in %s, and fits a narrow screen', async (colorScheme) => {
  // The page's own policy would refuse the checker's script.
  const context = await browser.newContext({ colorScheme, bypassCSP: true, viewport: { width: 390, height: 800 } });
  const page = await context.newPage();
  await page.goto(pathToFileURL(file).href);
  await drop(page, 'tower.gcode.gz', 'arcs.gcode.gz');
  expect(await page.evaluate(() => document.documentElement.scrollWidth <= window.innerWidth)).toBe(true);
  await page.evaluate(readFileSync(createRequire(import.meta.url).resolve('axe-core'), 'utf8'));
  const faults = await page.evaluate('axe.run({ exclude: ["#report"] }, { resultTypes: ["violations"] })') as { violations: { id: string; nodes: { html: string }[] }[] };
  expect(faults.violations.map(({ id, nodes }) => `${id}: ${nodes[0]?.html.slice(0, 200)}`)).toEqual([]);
});

it('works from a static server as from the disk', async () => {
  const server = createServer((_request, response) => { response.setHeader('content-type', 'text/html'); response.end(readFileSync(file)); });
  await new Promise<void>((resolve) => { server.listen(0, '127.0.0.1', resolve); });
  const { page, said, report } = await open(`http://127.0.0.1:${(server.address() as AddressInfo).port}/`);
  await drop(page, 'tower.gcode.gz');
  await report.locator('h1').waitFor();
  server.close();
  expect(said.filter((line) => !line.includes('favicon'))).toEqual([]);
});
