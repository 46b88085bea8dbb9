// The pages in a real browser: Debian's Chromium. PLATETALLY names the program, PLATE_MAKER the one that makes plates.
import { execFileSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync, copyFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { chromium, type Browser, type BrowserContextOptions, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

const platetally = process.env.PLATETALLY ?? '';
const maker = process.env.PLATE_MAKER ?? '';
const testdata = process.env.PLATETALLY_TESTDATA ?? resolve(__dirname, '../../../../../testdata');
const pictures = process.env.PAGE_PICTURES ?? '';
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core'), 'utf8');
const hostile = `<img src=x onerror=alert(1)>'"&</script>.gcode`.replaceAll('/', '|');

let folder = '';
let browser: Browser;

function run(...args: string[]): void {
  try {
    execFileSync(platetally, args, { cwd: folder, stdio: ['ignore', 'ignore', 'pipe'] });
  } catch (error) {
    const status = (error as { status?: number }).status;
    if (status !== 1 && !(args[0] === 'audit' && status === 2)) throw error;
  }
}

interface Opened {
  page: Page;
  said: string[];
}

/** What the console says, what fails, and what is asked of any network ends in `said`. */
async function open(name: string, options: BrowserContextOptions = {}): Promise<Opened> {
  const context = await browser.newContext({ viewport: { width: 1000, height: 900 }, ...options });
  const page = await context.newPage();
  const said: string[] = [];
  page.on('console', (message) => said.push(message.text()));
  page.on('pageerror', (error) => said.push(String(error)));
  page.on('dialog', (dialog) => { said.push(`dialog ${dialog.message()}`); void dialog.dismiss(); });
  page.on('request', (request) => { if (!request.url().startsWith('file:') || !request.url().endsWith('.html')) said.push(request.url()); });
  await page.goto(`file://${folder}/${name}`);
  if (options.javaScriptEnabled !== false && (name === 'tally.html' || name === 'audit.html')) await page.locator('html[data-live]').waitFor({ state: 'attached' });
  return { page, said };
}

async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe);
  const result = (await page.evaluate('axe.run(document, { resultTypes: ["violations"] })')) as { violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] };
  return result.violations.map((one) => `${one.id}: ${one.nodes[0]?.html.slice(0, 200)} ${one.nodes[0]?.failureSummary.slice(0, 300)}`);
}

async function picture(page: Page, name: string): Promise<void> {
  if (pictures !== '') await page.screenshot({ path: join(pictures, `${name}.png`), fullPage: true });
}

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'pages-'));
  if (pictures !== '') mkdirSync(pictures, { recursive: true });
  copyFileSync(join(testdata, 'demo/lantern.gcode.gz'), join(folder, 'lantern.gcode.gz'));
  const colours = ['--colours', '0=black,1=white,2=red,3=yellow'];
  const prices = ['--prices', join(testdata, 'demo/prices.toml')];
  run('tally', 'lantern.gcode.gz', '--machine', 'changer-5', ...colours, ...prices, '--beside', 'switcher-4', '--format', 'html', '-o', 'tally.html');
  run('compare', 'lantern.gcode.gz', '--machine', 'changer-5', '--machine', 'switcher-4', ...colours, ...prices, '--format', 'html', '-o', 'compare.html');
  run('order', 'lantern.gcode.gz', '--machine', 'switcher-4', ...colours, '--format', 'html', '-o', 'order.html');
  run('payback', join(testdata, 'demo/payback.toml'), '--format', 'html', '-o', 'payback.html');
  mkdirSync(join(folder, 'plates'));
  for (const plate of ['chute', 'tower', 'arcs', 'spiral', 'lines-inside'])
    copyFileSync(join(testdata, `plates/${plate}.gcode.gz`), join(folder, `plates/${plate}.gcode.gz`));
  writeFileSync(join(folder, 'plates', hostile), 'G90\nM83\nG1 Z0.2 F600\nG1 X10 E1 F1200\nT1 ;<b>\n<script>alert(1)</script>\nG1 X20 E1\n');
  writeFileSync(join(folder, 'plates', 'empty.gcode'), '');
  run('audit', 'plates', '--machine', 'changer-5', '--limit', 'purge_g=1', '--format', 'html', '-o', 'audit.html');
  run('tally', join('plates', hostile), '--machine', 'changer-5', '--colours', '0=black', '--format', 'html', '-o', 'hostile.html');
  run('calibrate', 'switcher-4', '--plan', '-o', 'plan.gcode');
  const seconds = Array.from({ length: 1200 }, (_, i) => `${i},${i < 300 ? 22 : i < 420 ? 830 : 110 + (i % 7)}`);
  writeFileSync(join(folder, 'plug.csv'), `seconds,watts\n${seconds.join('\n')}\n`);
  run('calibrate', 'switcher-4', '--log', 'plug.csv:bed=60', '--format', 'html', '-o', 'calibrate.html');
  writeFileSync(join(folder, 'print.csv'), `s,w\n${Array.from({ length: 900 }, (_, i) => `${10 * i},${i < 30 || i > 700 ? 21 : i < 50 ? 420 : 140}`).join('\n')}\n`);
  run('reconcile', 'lantern.gcode.gz', '--machine', 'changer-5', '--log', 'print.csv', '--weighed', 'purge_g=20', '--format', 'html', '-o', 'reconcile.html');
  browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
}, 120_000);

afterAll(async () => {
  await browser.close();
  rmSync(folder, { recursive: true, force: true });
});

describe.each(['tally', 'compare', 'order', 'payback', 'audit', 'calibrate', 'reconcile', 'hostile'])('the %s page', (name) => {
  it.each(['light', 'dark'] as const)('is accessible and silent in %s', async (colorScheme) => {
    const { page, said } = await open(`${name}.html`, { colorScheme });
    expect(await violations(page)).toEqual([]);
    expect(said).toEqual([]);
    await picture(page, `${name}-${colorScheme}`);
  });
  it('fits a phone', async () => {
    const { page } = await open(`${name}.html`, { viewport: { width: 390, height: 800 } });
    expect(await page.evaluate('document.scrollingElement.scrollWidth')).toBeLessThanOrEqual(390);
    await picture(page, `${name}-phone`);
  });
  it('prints', async () => {
    const { page } = await open(`${name}.html`);
    const pdf = await page.pdf({ format: 'A4', ...(pictures === '' ? {} : { path: join(pictures, `${name}.pdf`) }) });
    const pages = pdf.toString('latin1').match(/\/Type\s*\/Page[^s]/g)?.length ?? 0;
    expect(pages).toBeGreaterThanOrEqual(1);
    expect(pages).toBeLessThanOrEqual(3);
  });
});

describe('the charts of a tally', () => {
  it('zoom with the mouse, and the tooltip names the layer under it', async () => {
    const { page, said } = await open('tally.html');
    const over = page.locator('#layers-live .u-over').first();
    await over.scrollIntoViewIfNeeded();
    const box = (await over.boundingBox())!;
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + box.width * 0.25, y);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.4, y, { steps: 5 });
    await page.mouse.move(box.x + box.width * 0.5, y, { steps: 5 });
    await page.mouse.up();
    const live = page.locator('#layers-live');
    const from = Number(await live.getAttribute('data-from'));
    const to = Number(await live.getAttribute('data-to'));
    const layers = 72;
    expect(from).toBeGreaterThan(layers * 0.25 - 2);
    expect(from).toBeLessThan(layers * 0.25 + 2);
    expect(to).toBeGreaterThan(layers * 0.5 - 2);
    expect(to).toBeLessThan(layers * 0.5 + 2);
    for (const share of [0.1, 0.52, 0.9]) {
      const x = Math.round(box.x + box.width * share);
      await page.mouse.move(x, y);
      const layer = Math.floor(from + ((x - box.x) / box.width) * (to - from));
      expect(await page.locator('#layers-live .tooltip strong').textContent()).toMatch(new RegExp(`^layer ${layer},`));
    }
    await picture(page, 'tally-zoomed');
    await over.dblclick();
    expect(Number(await live.getAttribute('data-from'))).toBe(0);
    expect(said).toEqual([]);
  });

  it('hide what is switched off, and show it again', async () => {
    const { page } = await open('tally.html');
    const purge = page.locator('#layers-live button', { hasText: 'purge' });
    expect(await page.locator('#layers-live .panel').count()).toBe(3);
    await purge.click();
    expect(await purge.getAttribute('aria-pressed')).toBe('false');
    expect(await page.locator('#layers-live .panel').count()).toBe(2);
    await purge.click();
    expect(await page.locator('#layers-live .panel').count()).toBe(3);
    await page.locator('#power-live button', { hasText: 'bed' }).click();
    await page.locator('#power-live').focus();
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('#power-live .spoken').textContent()).not.toContain('bed');
  });

  it('obey the keyboard, and say what they show', async () => {
    const { page } = await open('tally.html');
    const live = page.locator('#layers-live');
    await live.focus();
    for (let i = 0; i < 4; ++i) await page.keyboard.press('ArrowRight');
    expect(await live.locator('.spoken').textContent()).toMatch(/^layer 3,.*swaps 3/);
    await page.keyboard.press('+');
    const width = Number(await live.getAttribute('data-to')) - Number(await live.getAttribute('data-from'));
    expect(width).toBeCloseTo(36, 5);
    await page.keyboard.press('End');
    expect(await live.locator('.spoken').textContent()).toMatch(/^layer 71,/);
    expect(Number(await live.getAttribute('data-to'))).toBeGreaterThanOrEqual(71);
    await page.keyboard.press('0');
    expect(Number(await live.getAttribute('data-to'))).toBe(72);
  });

  it('leave the drawings where there is no script, and to paper', async () => {
    const { page, said } = await open('tally.html', { javaScriptEnabled: false });
    expect(await page.locator('#layers svg').isVisible()).toBe(true);
    expect(await page.locator('#power svg').isVisible()).toBe(true);
    expect(await page.locator('.live').count()).toBe(0);
    expect(said).toEqual([]);
    const printed = await open('tally.html');
    await printed.page.emulateMedia({ media: 'print' });
    expect(await printed.page.locator('#layers svg').isVisible()).toBe(true);
    expect(await printed.page.locator('#layers-live').isVisible()).toBe(false);
  });

  it('have dark paper in the dark', async () => {
    const { page } = await open('tally.html', { javaScriptEnabled: false });
    const dark = await open('tally.html', { colorScheme: 'dark' });
    const paper = (opened: Page): Promise<string> => opened.evaluate('getComputedStyle(document.body).backgroundColor') as Promise<string>;
    expect(await paper(page)).not.toBe(await paper(dark.page));
  });
});

describe('a large plate', () => {
  it('is painted nearly as fast as without script', async () => {
    execFileSync(maker, ['blocks', '--tools', '2', '--size', '20,20', '--layers', '3000', '--density', '0.05', '--purge', 'none', '-o', join(folder, 'tall.gcode')]);
    run('tally', 'tall.gcode', '--machine', 'changer-5', '--format', 'html', '-o', 'tall.html');
    // 50,000 points of power; the data are no script, so the policy lets them be changed.
    const text = readFileSync(join(folder, 'tall.html'), 'utf8');
    const edges = Array.from({ length: 50_001 }, (_, i) => i);
    const series = ['bed', 'fans', 'motors'].map((name, k) => ({ name, unit: 'W', values: edges.slice(1).map((i) => 50 + k + 40 * Math.sin(i / 300)) }));
    const data = /(<script type="application\/json" id="data">)(.*?)(<\/script>)/s;
    const old = JSON.parse(data.exec(text)![2]!) as { layers: { edges: number[] } };
    expect(old.layers.edges.length).toBeGreaterThanOrEqual(3000);
    writeFileSync(join(folder, 'dense.html'), text.replace(data, (_all, begin: string, _json: string, end: string) => begin + JSON.stringify({ ...old, power: { edges, series } }) + end));
    const painted = async (javaScriptEnabled: boolean): Promise<number> => {
      const context = await browser.newContext({ javaScriptEnabled });
      const page = await context.newPage();
      const begin = performance.now();
      await page.goto(`file://${folder}/dense.html`);
      if (javaScriptEnabled) await page.locator('html[data-live]').waitFor({ state: 'attached' });
      await page.screenshot();
      const took = performance.now() - begin;
      await context.close();
      return took;
    };
    await painted(false);
    const without = Math.min(await painted(false), await painted(false));
    const withScript = Math.min(await painted(true), await painted(true));
    expect(withScript).toBeLessThan(1.2 * without + 1000);
    if (pictures !== '') console.log(`dense page: ${withScript.toFixed(0)} ms, without script ${without.toFixed(0)} ms`);
  }, 60_000);
});

describe('the table of an audit', () => {
  it('sorts by a click on a heading, and back', async () => {
    const { page, said } = await open('audit.html');
    const cells = (): Promise<string[]> => page.locator('#plates tbody tr td:first-child').allTextContents();
    const before = await cells();
    expect(before.length).toBe(6);
    await page.getByRole('button', { name: 'machine time' }).click();
    const times = await page.locator('#plates tbody tr').evaluateAll((rows) => rows.map((row) => Number((row as HTMLTableRowElement).cells[3]?.dataset.v)));
    expect(times).toEqual([...times].sort((a, b) => b - a));
    await page.getByRole('button', { name: 'machine time' }).click();
    expect(await page.locator('#plates th[aria-sort=ascending]').count()).toBe(1);
    await page.getByRole('button', { name: 'plate', exact: true }).click();
    expect(await cells()).toEqual([...before].sort((a, b) => (a.toLowerCase() < b.toLowerCase() ? 1 : -1)));
    expect(said).toEqual([]);
  });
  it('filters by a word, and has a picture a row', async () => {
    const { page } = await open('audit.html');
    await page.getByRole('searchbox').fill('tower');
    expect(await page.locator('#plates tbody tr:visible').count()).toBe(1);
    expect(await page.locator('label.filter [role=status]').textContent()).toBe('1 of 6');
    await page.getByRole('searchbox').fill('');
    expect(await page.locator('#plates tbody svg').count()).toBeGreaterThan(2);
  });
});
