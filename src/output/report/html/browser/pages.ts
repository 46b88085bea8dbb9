// Makes a page of every kind with the program under test, and opens them in Debian's Chromium.
import { execFileSync } from 'node:child_process';
import { copyFileSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { chromium, type Browser, type BrowserContextOptions, type Page } from 'playwright-core';

const platetally = process.env.PLATETALLY ?? '';
const maker = process.env.PLATE_MAKER ?? '';
const testdata = process.env.PLATETALLY_TESTDATA ?? resolve(__dirname, '../../../../../testdata');
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core'), 'utf8');

/** Where screenshots are kept; empty: nowhere. */
export const pictures = process.env.PAGE_PICTURES ?? '';
export const hostile = `<img src=x onerror=alert(1)>'"&</script>.gcode`.replaceAll('/', '|');
export const kinds = ['tally', 'plain', 'one-zone', 'compare', 'plates', 'order', 'payback', 'audit', 'calibrate', 'prints', 'pairs', 'reconcile', 'weighed', 'hostile'] as const;

export interface Opened {
  page: Page;
  /** What the console says, what fails, and what is asked of any network. */
  said: string[];
}

export class Pages {
  readonly folder = mkdtempSync(join(tmpdir(), 'pages-'));
  browser!: Browser;

  async begin(): Promise<void> {
    if (pictures !== '') mkdirSync(pictures, { recursive: true });
    this.browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox', '--disable-gpu'] });
  }

  async end(): Promise<void> {
    await this.browser.close();
    rmSync(this.folder, { recursive: true, force: true });
  }

  /** What a test opened. */
  async closePages(): Promise<void> {
    for (const context of this.browser.contexts()) await context.close();
  }

  run(...args: string[]): void {
    try {
      execFileSync(platetally, args, { cwd: this.folder, stdio: ['ignore', 'ignore', 'pipe'] });
    } catch (error) {
      const status = (error as { status?: number }).status;
      if (status !== 1 && !(args[0] === 'audit' && status === 2)) throw error;
    }
  }

  /** One of each kind. */
  make(): void {
    const demo = (name: string): string => join(testdata, 'demo', name);
    const colours = ['--colours', '0=black,1=white,2=red,3=yellow'];
    const prices = ['--prices', demo('prices.toml')];
    const html = (name: string): string[] => ['--date', '27 Nov 2026', '--format', 'html', '-o', `${name}.html`];
    copyFileSync(demo('lantern.gcode.gz'), join(this.folder, 'lantern.gcode.gz'));
    copyFileSync(demo('labels.gcode.gz'), join(this.folder, 'labels.gcode.gz'));
    this.run('tally', 'lantern.gcode.gz', '--machine', 'changer-5', ...colours, ...prices, '--beside', 'switcher-4', ...html('tally'));
    this.run('tally', 'labels.gcode.gz', '--machine', 'changer-5', ...html('plain'));
    this.run('tally', demo('lantern-chute.gcode.gz'), '--machine', 'switcher-4', ...colours, ...html('one-zone'));
    this.run('compare', 'lantern.gcode.gz', '--machine', 'changer-5', '--machine', 'switcher-4', ...colours, ...prices, ...html('compare'));
    this.run('compare', 'lantern.gcode.gz', 'labels.gcode.gz', '--machine', 'changer-5', ...html('plates'));
    this.run('order', 'lantern.gcode.gz', '--machine', 'switcher-4', ...colours, ...html('order'));
    this.run('payback', demo('payback.toml'), ...html('payback'));
    mkdirSync(join(this.folder, 'plates'));
    for (const plate of ['chute', 'tower', 'arcs', 'spiral', 'lines-inside']) copyFileSync(join(testdata, `plates/${plate}.gcode.gz`), join(this.folder, `plates/${plate}.gcode.gz`));
    writeFileSync(join(this.folder, 'plates', hostile), 'G90\nM83\nG1 Z0.2 F600\nG1 X10 E1 F1200\nT1 ;<b>\n<script>alert(1)</script>\nG1 X20 E1\n');
    writeFileSync(join(this.folder, 'plates', 'empty.gcode'), '');
    this.run('audit', 'plates', '--machine', 'changer-5', '--limit', 'purge_g=1', ...html('audit'));
    this.run('tally', join('plates', hostile), '--machine', 'changer-5', '--colours', '0=black', ...html('hostile'));
    const seconds = Array.from({ length: 1200 }, (_, i) => `${i},${i < 300 ? 22 : i < 420 ? 830 : 110 + (i % 7)}`);
    writeFileSync(join(this.folder, 'plug.csv'), `seconds,watts\n${seconds.join('\n')}\n`);
    this.run('calibrate', 'switcher-4', '--log', 'plug.csv:bed=60', ...html('calibrate'));
    writeFileSync(join(this.folder, 'print.csv'), `s,w\n${Array.from({ length: 900 }, (_, i) => `${10 * i},${i < 30 || i > 700 ? 21 : i < 50 ? 420 : 140}`).join('\n')}\n`);
    this.run('reconcile', 'lantern.gcode.gz', '--machine', 'changer-5', '--log', 'print.csv', '--weighed', 'purge_g=20', ...html('reconcile'));
    this.run('reconcile', 'lantern.gcode.gz', '--machine', 'changer-5', '--weighed', 'purge_g=9', '--weighed', 'time_s=5000', ...html('weighed'));
    this.makePrints(html('prints'));
    writeFileSync(join(this.folder, 'pairs.csv'), 'from,to,mm3\nblack,white,560\nwhite,black,240\nred,yellow,410\n');
    this.run('calibrate', 'switcher-4', '--pairs', 'pairs.csv', ...html('pairs'));
  }

  /** Four plates of a hundred lines, timed by the machine itself: a fit that finds what is there. */
  private makePrints(html: string[]): void {
    const lines = ['plate,seconds,span,colour'];
    for (const n of [1, 2, 3, 4]) {
      const moves = Array.from({ length: 100 }, (_, i) => `G1 X${((i + 1) % 2) * n * 20} Y${i + 1} E0.5 F${n * 3000}`);
      writeFileSync(join(this.folder, `p${n}.gcode`), `M83\nG1 Z0.2 F600\n${moves.join('\n')}\n`);
      const seconds = execFileSync(platetally, ['tally', `p${n}.gcode`, '--machine', 'changer-5', '--get', 'time_of_print_s'], { cwd: this.folder, stdio: ['ignore', 'pipe', 'ignore'] });
      lines.push(`p${n}.gcode,${seconds.toString().trim()},first-extrusion,red`);
    }
    writeFileSync(join(this.folder, 'prints.csv'), `${lines.join('\n')}\n`);
    this.run('calibrate', 'single-1', '--prints', 'prints.csv', ...html);
  }

  /** A lantern of so many layers. */
  makeTall(layers: number, name: string, ...more: string[]): void {
    execFileSync(maker, ['lantern', '--layers', String(layers), ...more, '-o', join(this.folder, `${name}.gcode`)]);
    this.run('tally', `${name}.gcode`, '--machine', 'changer-5', '--format', 'html', '-o', `${name}.html`);
  }

  async open(name: string, options: BrowserContextOptions = {}): Promise<Opened> {
    const context = await this.browser.newContext({ viewport: { width: 1280, height: 800 }, ...options });
    const page = await context.newPage();
    const said: string[] = [];
    page.on('console', (message) => said.push(message.text()));
    page.on('pageerror', (error) => said.push(String(error)));
    page.on('dialog', (dialog) => { said.push(`dialog ${dialog.message()}`); void dialog.dismiss(); });
    page.on('request', (request) => { if (!request.url().startsWith('file:') || !request.url().endsWith('.html')) said.push(request.url()); });
    await page.goto(`file://${this.folder}/${name}.html`);
    if (options.javaScriptEnabled !== false && (await page.locator('script:not([type])').count()) > 0) await page.locator('html[data-live]').waitFor({ state: 'attached' });
    return { page, said };
  }
}

export async function violations(page: Page): Promise<string[]> {
  await page.evaluate(axe);
  const result = (await page.evaluate('axe.run(document, { resultTypes: ["violations"] })')) as { violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] };
  return result.violations.map((one) => `${one.id}: ${one.nodes[0]?.html.slice(0, 200)} ${one.nodes[0]?.failureSummary.slice(0, 300)}`);
}

export async function picture(page: Page, name: string, whole = true): Promise<void> {
  if (pictures !== '') await page.screenshot({ path: join(pictures, `${name}.png`), fullPage: whole });
}
