// bench.mjs OUT MEGABYTES   times one large plate of plate-maker: native with one thread, the command in Node.js, the page in
// Chromium; and how soon the first page stands after a small plate is dropped. Turns, smallest of five: others may be at work.
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium } from 'playwright-core';

const [out, megabytes] = process.argv.slice(2);
const bin = process.env.PLATETALLY_BIN;
const rounds = 5;
const folder = mkdtempSync(join(tmpdir(), 'bench-'));
const plate = join(folder, 'big.gcode');
const small = join(folder, 'small.gcode');
const make = (file, size) => execFileSync(join(bin, 'plate-maker'), ['blocks', '--tools', '4', '--copies', '6x6', '--size', '30,30', '--segment', '2',
  '--purge', 'tower', '--purge-at', '260,40', '--megabytes', String(size), '-o', file]);
make(plate, megabytes);
make(small, 5);

/** Seconds of wall and of processor. */
function timed(command, args) {
  const run = spawnSync('bash', ['-c', 'TIMEFORMAT="%R %U %S"; time "$@" >/dev/null', 'bash', command, ...args], { encoding: 'utf8' });
  const [wall, user, system] = run.stderr.trim().split('\n').at(-1).split(' ').map(Number);
  if (run.status !== 0) throw new Error(run.stderr);
  return { wall, cpu: user + system };
}
const tally = ['tally', plate, '--machine', 'changer-5', '--json'];

const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
async function opened() {
  const page = await browser.newPage();
  await page.goto(pathToFileURL(join(out, 'platetally.html')).href);
  return page;
}
const page = await opened();
await page.evaluate(() => {
  const chooser = document.createElement('input');
  chooser.type = 'file';
  chooser.id = 'bench';
  document.body.append(chooser);
});
await page.setInputFiles('#bench', plate);
const inBrowser = () => page.evaluate(async () => {
  const begin = performance.now();
  const result = await platetally.run(['tally', 'big.gcode', '--machine', 'changer-5', '--json'], { 'big.gcode': document.getElementById('bench').files[0] });
  return { wall: (performance.now() - begin) / 1000, memory: result.memoryBytes, code: result.code };
});
/** Seconds from the drop to the page with the report. */
async function firstScreen() {
  const fresh = await opened();
  const begin = performance.now();
  await fresh.setInputFiles('#files', small);
  await fresh.frameLocator('#report').locator('h1').waitFor();
  const seconds = (performance.now() - begin) / 1000;
  await fresh.close();
  return seconds;
}

const least = { native: { wall: Infinity, cpu: Infinity }, node: { wall: Infinity, cpu: Infinity }, browser: Infinity, screen: Infinity };
let memory = 0;
for (let round = 0; round < rounds; ++round) {
  for (const [who, one] of [['native', timed(join(bin, 'platetally'), [...tally, '--threads', '1'])], ['node', timed('node', [join(out, 'npm/bin.js'), ...tally])]])
    least[who] = { wall: Math.min(least[who].wall, one.wall), cpu: Math.min(least[who].cpu, one.cpu) };
  const there = await inBrowser();
  if (there.code !== 0) throw new Error('the page did not tally it');
  least.browser = Math.min(least.browser, there.wall);
  memory = Math.max(memory, there.memory);
  least.screen = Math.min(least.screen, await firstScreen());
}
await browser.close();
rmSync(folder, { recursive: true, force: true });
const times = (one, other) => `${(one / other).toFixed(2)} x`;
console.log(`a plate of ${megabytes} MB, smallest of ${rounds} turns
native, one thread   ${least.native.wall.toFixed(2)} s, processor ${least.native.cpu.toFixed(2)} s
Node.js, command     ${least.node.wall.toFixed(2)} s, processor ${least.node.cpu.toFixed(2)} s: ${times(least.node.wall, least.native.wall)}, processor ${times(least.node.cpu, least.native.cpu)}
browser              ${least.browser.toFixed(2)} s: ${times(least.browser, least.native.wall)}; memory of the module ${(memory / 2 ** 20).toFixed(0)} MiB
first page           ${least.screen.toFixed(2)} s after a plate of 5 MB is dropped
platetally.html      ${(statSync(join(out, 'platetally.html')).size / 1e6).toFixed(2)} MB`);
