// The package as a stranger gets it: packed, installed into an empty folder, run.
import { execFileSync, spawnSync } from 'node:child_process';
import { copyFileSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { built, native, nativeOutput, root, testdata } from './places.js';
import { differences } from './same.js';

let folder = '';
const quiet = { stdio: ['ignore', 'pipe', 'pipe'] as ['ignore', 'pipe', 'pipe'] };
const command = (...args: string[]) => spawnSync('npx', ['--no-install', 'platetally', ...args], { cwd: folder, encoding: 'utf8' });

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'package-'));
  const packed = execFileSync('npm', ['pack', '--silent', '--pack-destination', folder], { cwd: join(built, 'npm'), encoding: 'utf8', ...quiet }).trim();
  writeFileSync(join(folder, 'package.json'), '{"private": true, "type": "module"}\n');
  execFileSync('npm', ['install', '--offline', '--no-audit', '--no-fund', `./${packed}`], { cwd: folder, ...quiet });
  copyFileSync(join(testdata, 'demo/lantern.gcode.gz'), join(folder, 'lantern.gcode.gz'));
}, 120_000);
afterAll(() => { rmSync(folder, { recursive: true, force: true }); });

describe('the installed package', () => {
  it('has no scripts, needs nothing, and holds its types', () => {
    const made = JSON.parse(readFileSync(join(folder, 'node_modules/platetally/package.json'), 'utf8')) as Record<string, unknown>;
    expect(made.scripts).toBeUndefined();
    expect(made.dependencies).toBeUndefined();
    writeFileSync(join(folder, 'use.ts'), `import { tally, type Tally } from 'platetally';
const report: Tally = await tally(new Uint8Array(0), 'changer-5');
const seconds: number | null = report.totals.time_s;
// @ts-expect-error there is no such machine word
await tally(new Uint8Array(0), 5);
// @ts-expect-error the report has no such field
report.nothing;
const page: string = await tally(new Uint8Array(0), 'changer-5', { format: 'html' });
export { seconds, page };
`);
    const tsc = join(built, 'js/node_modules/.bin/tsc');
    const checked = spawnSync(tsc, ['--noEmit', '--strict', '--target', 'es2022', '--module', 'nodenext', '--lib', 'es2024,dom', 'use.ts'], { cwd: folder, encoding: 'utf8' });
    expect(checked.stdout).toBe('');
    expect(checked.status).toBe(0);
  });

  it('is imported and used', () => {
    writeFileSync(join(folder, 'use.mjs'), `import { createReadStream } from 'node:fs';
import { tally } from 'platetally';
const report = await tally(createReadStream('lantern.gcode.gz'), 'changer-5', { name: 'lantern.gcode.gz' });
console.log(JSON.stringify(report));
`);
    const report = JSON.parse(execFileSync('node', ['use.mjs'], { cwd: folder, encoding: 'utf8', ...quiet })) as object;
    expect(report).toHaveProperty('schema', expect.stringMatching(/^platetally\.tally\/\d+$/));
  });
});

describe('the command', () => {
  it.each([
    ['tally', 'lantern.gcode.gz', '--machine', 'changer-5', '--json'],
    ['tally', './lantern.gcode.gz', '--machine', 'switcher-4', '--get', 'totals.swaps', '--limit', 'swaps=1'],
    ['order', 'lantern.gcode.gz', '--machine', 'switcher-4', '--colours', '0=black,1=white,2=red'],
    ['compare', 'lantern.gcode.gz', '--machine', 'changer-5', '--machine', 'single-1', '--json'],
    ['payback', join(testdata, 'demo/payback.toml'), '--json'],
    ['explain'],
    ['explain', 'tower-without-need'],
    ['machines'],
    ['machines', 'changer-5'],
    ['machines', '--circuit', '230V,16A', '--plan', '2xswitcher-4'],
    ['audit', '.', '--machine', 'changer-5', '--json', '--exclude', 'node_modules'],
    ['tally', 'nowhere.gcode', '--machine', 'changer-5'],
    ['tally', '--machine', 'changer-5'],
    ['tally', 'lantern.gcode.gz', '--machine', 'changer-5', '--colours', '9=black'],
    ['--help'],
    ['tally', '--help'],
  ])('%s %s %s %s does as the native one', (...args) => {
    const theirs = spawnSync(native, args, { cwd: folder, encoding: 'utf8' });
    const ours = command(...args);
    if (!args.includes('--help') || args.length > 1) expect(differences(theirs.stdout, ours.stdout)).toEqual([]);
    expect(ours.stderr).toBe(theirs.stderr);
    expect(ours.status).toBe(theirs.status);
  }, 60_000);

  it('reads standard input and writes whole files', () => {
    const piped = spawnSync('bash', ['-c', 'cat lantern.gcode.gz | npx --no-install platetally tally - --machine changer-5 --json -o ours.json'], { cwd: folder, encoding: 'utf8' });
    expect(piped.stderr).toBe('');
    expect(piped.status).toBe(0);
    const native_ = nativeOutput(['tally', '-', '--machine', 'changer-5', '--json'], { cwd: folder, input: readFileSync(join(folder, 'lantern.gcode.gz')), stdio: ['pipe', 'pipe', 'pipe'] });
    expect(differences(native_, readFileSync(join(folder, 'ours.json'), 'utf8'))).toEqual([]);
    expect(statSync(join(folder, 'ours.json')).mode & 0o077).not.toBe(0o077);
    const refused = command('tally', 'lantern.gcode.gz', '--machine', 'changer-5', '-o', 'no/such/folder.json');
    expect(refused.status).toBe(2);
    expect(refused.stderr).toMatch(/no\/such\/folder\.json: cannot be written/);
    expect(root).not.toBe('');
  });
});
