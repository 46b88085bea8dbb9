// Every kind of page in light, dark, on a phone and on paper: laws of layout, so that a regression is seen without eyes.
import { join } from 'node:path';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { firstScreen, laws } from './laws';
import { kinds, Pages, picture, pictures, violations } from './pages';

const pages = new Pages();
const nothing = { overflows: [], small: [], uneven: [], parted: [], keys: [], ticks: [], collisions: [], squeezed: [] };

beforeAll(async () => {
  pages.make();
  await pages.begin();
}, 240_000);
afterEach(() => pages.closePages(), 60_000);
afterAll(() => pages.end(), 60_000);

describe.each(kinds)('the %s page', (kind) => {
  it.each(['light', 'dark'] as const)('keeps the laws of layout, is accessible and silent in %s', async (colorScheme) => {
    const { page, said } = await pages.open(kind, { colorScheme });
    await picture(page, `${kind}-${colorScheme}`);
    await picture(page, `${kind}-${colorScheme}-first`, false);
    expect(await page.evaluate(laws, 10.9)).toEqual(nothing);
    expect(await violations(page)).toEqual([]);
    expect(said).toEqual([]);
  });

  it('keeps them on a phone, with no text below 11 px', async () => {
    const { page } = await pages.open(kind, { viewport: { width: 390, height: 844 } });
    await picture(page, `${kind}-phone`);
    expect(await page.evaluate(laws, 11)).toEqual(nothing);
    expect(await page.evaluate('document.scrollingElement.scrollWidth')).toBeLessThanOrEqual(390);
  });

  it('keeps them without script', async () => {
    const { page } = await pages.open(kind, { viewport: { width: 390, height: 844 }, javaScriptEnabled: false });
    expect(await page.evaluate(laws, 11)).toEqual(nothing);
  });

  it('prints on A4, on three pages at most', async () => {
    const { page } = await pages.open(kind, { viewport: { width: 703, height: 1000 } });
    await page.emulateMedia({ media: 'print' });
    await picture(page, `${kind}-print`);
    const found = await page.evaluate(laws, 9);
    expect({ ...found, collisions: [] }).toEqual(nothing);
    const pdf = await page.pdf({ format: 'A4', preferCSSPageSize: true, ...(pictures === '' ? {} : { path: join(pictures, `${kind}.pdf`) }) });
    const count = pdf.toString('latin1').match(/\/Type\s*\/Page[^s]/g)?.length ?? 0;
    expect(count).toBeGreaterThanOrEqual(1);
    expect(count).toBeLessThanOrEqual(3);
  });

  it('answers on the first screen', async () => {
    const { page } = await pages.open(kind);
    const bottoms = await page.evaluate(firstScreen);
    expect(bottoms.verdict).toBeGreaterThan(0);
    if (kind !== 'hostile') expect(bottoms.figures).toBeGreaterThan(0);
    for (const [part, bottom] of Object.entries(bottoms)) expect(bottom, part).toBeLessThanOrEqual(800);
  });
});
