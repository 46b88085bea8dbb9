// What the script adds to pages, in a real browser: mouse, keyboard, sorting, and large plates.
import { readFileSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Page } from 'playwright-core';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { Pages, picture, pictures } from './pages';

const pages = new Pages();
const layers = 72; // of the lantern, with what comes before the first

beforeAll(async () => {
  pages.make();
  await pages.begin();
}, 240_000);
afterEach(() => pages.closePages(), 60_000);
afterAll(() => pages.end(), 60_000);

describe('the charts of a tally', () => {
  it('zoom with the mouse, and the tooltip names the layer under it with its values and their sum', async () => {
    const { page, said } = await pages.open('tally');
    const chart = page.locator('#layers');
    const plot = chart.locator('.plot').first();
    await plot.scrollIntoViewIfNeeded();
    const box = (await plot.boundingBox())!;
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + box.width * 0.25, y);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.4, y, { steps: 5 });
    await page.mouse.move(box.x + box.width * 0.5, y, { steps: 5 });
    await page.mouse.up();
    const from = Number(await chart.getAttribute('data-from'));
    const to = Number(await chart.getAttribute('data-to'));
    expect(Math.abs(from - layers * 0.25)).toBeLessThan(1);
    expect(Math.abs(to - layers * 0.5)).toBeLessThan(1);
    for (const share of [0.1, 0.52, 0.9]) {
      const x = Math.round(box.x + box.width * share);
      await page.mouse.move(x, y);
      const layer = Math.floor(from + ((x - box.x) / box.width) * (to - from));
      expect(await chart.locator('.tooltip strong').textContent()).toBe(`layer ${layer}`);
      expect(await chart.locator('.tooltip').innerText()).toMatch(/mm high · from line \d+\s+time\s+1 min \d+ s\s+print\s+\d/);
      const cursor = (await chart.locator('.cursor').boundingBox())!;
      expect(Math.abs(cursor.x - x)).toBeLessThan(2);
      const panels = (await chart.locator('.panels').boundingBox())!;
      expect(Math.abs(cursor.height - panels.height)).toBeLessThan(2);
    }
    await picture(page, 'tally-zoomed');
    await page.mouse.dblclick(box.x + 20, y);
    expect(Number(await chart.getAttribute('data-from'))).toBe(0);
    expect(said).toEqual([]);
  });

  it('draw the same shapes with the script as without', async () => {
    const { page } = await pages.open('tally');
    // Zoomed out by the keyboard the script draws what C++ drew: to the rounding of a pixel's quarter.
    const path = async (): Promise<number[]> => ((await page.locator('#layers [data-s="0"]').first().getAttribute('d')) ?? '').match(/-?[\d.]+/g)!.map(Number);
    const length = async (): Promise<number> => (await page.locator('#layers [data-s="0"]').first().evaluate((shape) => { const box = (shape as SVGPathElement).getBBox(); return box.height * 1000 + box.width; })) as number;
    const before = await length();
    expect((await path()).length).toBeGreaterThan(4);
    await page.locator('#layers').focus();
    await page.keyboard.press('+');
    await page.keyboard.press('0');
    expect(Math.abs((await length()) - before)).toBeLessThan(1500);
  });

  it('hide what is switched off, and show it again', async () => {
    const { page } = await pages.open('tally');
    const swaps = page.locator('#layers .key button', { hasText: 'swaps' });
    const shape = page.locator('#layers [data-s="1"]').first();
    const before = await shape.getAttribute('d');
    expect(before).not.toBe('');
    await swaps.click();
    expect(await swaps.getAttribute('aria-pressed')).toBe('false');
    expect(await shape.getAttribute('d')).toBe('');
    await swaps.click();
    expect(await shape.getAttribute('d')).not.toBe('');
    await page.locator('#power .key button', { hasText: 'bed' }).click();
    await page.locator('#power').focus();
    await page.keyboard.press('ArrowRight');
    expect(await page.locator('#power .spoken').textContent()).toMatch(/^0:0\d:\d\d, before the first layer: power/);
    expect(await page.locator('#power .spoken').textContent()).not.toContain('bed');
  });

  it('magnify the steady part, say so, and show all on demand', async () => {
    const { page } = await pages.open('tally');
    expect(await page.locator('#power figcaption').textContent()).toContain('Magnified');
    const cut = page.locator('#power .cut');
    expect(await cut.isVisible()).toBe(true);
    const full = page.locator('#power button', { hasText: 'full height' });
    const labels = async (): Promise<number> => Math.max(...(await page.locator('#power .ticks text').allTextContents()).map(Number));
    const before = await labels();
    await full.click();
    expect(await labels()).toBeGreaterThan(2 * before);
    expect(await cut.isVisible()).toBe(false);
    await full.click();
    expect(await labels()).toBe(before);
  });

  it('end at the last layer, and label time in hours and minutes', async () => {
    const { page } = await pages.open('tally');
    const labels = await page.locator('#layers .axis text:not(.soft)').allTextContents();
    expect(labels[labels.length - 1]).toBe(String(layers - 1));
    for (const label of await page.locator('#power .axis text').allTextContents()) expect(label).toMatch(/^\d+:\d\d$/);
  });

  it('obey the keyboard, and say what they show', async () => {
    const { page } = await pages.open('tally');
    const chart = page.locator('#layers');
    await chart.focus();
    for (let i = 0; i < 4; ++i) await page.keyboard.press('ArrowRight');
    expect(await chart.locator('.spoken').textContent()).toMatch(/^layer 3,.*swaps 3/);
    await page.keyboard.press('+');
    expect(Number(await chart.getAttribute('data-to')) - Number(await chart.getAttribute('data-from'))).toBeCloseTo(layers / 2, 5);
    await page.keyboard.press('End');
    expect(await chart.locator('.spoken').textContent()).toMatch(/^layer 71,/);
    expect(Number(await chart.getAttribute('data-to'))).toBeGreaterThanOrEqual(71);
    await page.keyboard.press('0');
    expect(Number(await chart.getAttribute('data-to'))).toBe(layers);
  });

  it('are drawings where there is no script, and on paper', async () => {
    const { page, said } = await pages.open('tally', { javaScriptEnabled: false });
    expect(await page.locator('#layers .shapes').first().isVisible()).toBe(true);
    expect(await page.locator('.tools').count()).toBe(0);
    expect(said).toEqual([]);
    const printed = await pages.open('tally');
    await printed.page.emulateMedia({ media: 'print' });
    expect(await printed.page.locator('#power .shapes').isVisible()).toBe(true);
    expect(await printed.page.locator('#layers .tools').isVisible()).toBe(false);
  });

  it('have dark paper in the dark', async () => {
    const { page } = await pages.open('tally', { javaScriptEnabled: false });
    const dark = await pages.open('tally', { colorScheme: 'dark' });
    const paper = (opened: Page): Promise<string> => opened.evaluate('getComputedStyle(document.body).backgroundColor') as Promise<string>;
    expect(await paper(page)).not.toBe(await paper(dark.page));
  });
});

describe('a large plate', () => {
  it('of 300 layers takes at most 250 kB', () => {
    // Four tools in every layer, of uneven height and purge: nothing that is equal to its neighbour saves a byte.
    pages.makeTall(300, 'three-hundred', '--tools', '4', '--size', '60,60', '--ripple', '3', '--drift', '5', '--height-cycle', '0.12,0.2,0.28');
    expect(statSync(join(pages.folder, 'three-hundred.html')).size).toBeLessThanOrEqual(250_000);
  }, 60_000);

  it('of 3,000 layers with 50,000 points of power is painted nearly as fast as without script', async () => {
    pages.makeTall(3000, 'tall', '--tools', '2', '--size', '20,20', '--purge', 'none');
    // The data are no script, so the policy lets them be changed.
    const text = readFileSync(join(pages.folder, 'tall.html'), 'utf8');
    const data = /(<script type="application\/json" id="data">)(.*?)(<\/script>)/s;
    const charts = JSON.parse(data.exec(text)![2]!) as { id: string; edges: number[]; panels: { series: { values: number[] }[] }[] }[];
    expect(charts.find((chart) => chart.id === 'layers')!.edges.length).toBeGreaterThanOrEqual(3000);
    const power = charts.find((chart) => chart.id === 'power')!;
    power.edges = Array.from({ length: 50_001 }, (_, i) => i);
    for (const series of power.panels[0]!.series) series.values = Array.from({ length: 50_000 }, (_, i) => 50 + 40 * Math.sin(i / 300));
    writeFileSync(join(pages.folder, 'dense.html'), text.replace(data, (_all, begin: string, _json: string, end: string) => begin + JSON.stringify(charts) + end));
    const painted = async (javaScriptEnabled: boolean): Promise<number> => {
      const context = await pages.browser.newContext({ javaScriptEnabled });
      const page = await context.newPage();
      const begin = performance.now();
      await page.goto(`file://${pages.folder}/dense.html`);
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
  }, 90_000);
});

describe('the table of an audit', () => {
  it('sorts by a click on a heading, and back', async () => {
    const { page, said } = await pages.open('audit');
    const table = page.locator('#plates table');
    const cells = (): Promise<string[]> => table.locator('tbody tr th').allTextContents();
    const before = await cells();
    expect(before.length).toBe(6);
    await page.getByRole('button', { name: 'machine time' }).click();
    const times = (await table.locator('tbody tr').evaluateAll((rows) => rows.map((row) => Number((row as HTMLTableRowElement).cells[3]?.dataset.v)))) as number[];
    expect(times).toEqual([...times].sort((a, b) => b - a));
    await page.getByRole('button', { name: 'machine time' }).click();
    expect(await table.locator('th[aria-sort=ascending]').count()).toBe(1);
    await page.getByRole('button', { name: 'plate', exact: true }).click();
    expect(await cells()).toEqual([...before].sort((a, b) => (a.toLowerCase() < b.toLowerCase() ? 1 : -1)));
    expect(said).toEqual([]);
  });
  it('filters by a word, marks what is over a limit where it stands, and has a picture a row', async () => {
    const { page } = await pages.open('audit');
    expect(await page.locator('#plates tr.over .mark').first().textContent()).toMatch(/over the limit of 1\.00\sg/);
    await page.getByRole('searchbox').fill('tower');
    expect(await page.locator('#plates tbody tr:visible').count()).toBe(1);
    expect(await page.locator('label.filter [role=status]').textContent()).toBe('1 of 6');
    await page.getByRole('searchbox').fill('');
    expect(await page.locator('#plates tbody svg.strip').count()).toBeGreaterThan(2);
  });
  it('keeps the plate in sight on a phone', async () => {
    const { page } = await pages.open('audit', { viewport: { width: 390, height: 844 } });
    const scroll = page.locator('#plates .scroll');
    await scroll.evaluate((box) => { box.scrollLeft = 300; });
    const [cell, around] = [(await page.locator('#plates tbody th').first().boundingBox())!, (await scroll.boundingBox())!];
    expect(Math.abs(cell.x - around.x)).toBeLessThan(2);
  });
});

describe('the curve of a payback', () => {
  it('marks the break-even, and says both costs of a month', async () => {
    const { page } = await pages.open('payback');
    expect(await page.locator('#cumulative .mark').count()).toBe(1);
    await page.locator('#cumulative').focus();
    await page.keyboard.press('End');
    expect(await page.locator('#cumulative .spoken').textContent()).toMatch(/^after \d+ years:.*cost so far/);
  });
});
