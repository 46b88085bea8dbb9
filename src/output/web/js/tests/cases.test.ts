// The command as its users meet it: the cases of testdata/cli come out as with the native program, byte for byte.
import { spawnSync } from 'node:child_process';
import { readdirSync, existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { built, native, root, testdata } from './places.js';

const folder = join(testdata, 'cli');
/** Cases of another program, and why. */
const others: Record<string, string> = {
  help: 'says of three commands that they are left out',
  'audit-watch': 'a signal ends Node.js itself, with its own exit code',
  'stdout-closed': 'Node.js opens closed streams before the program sees them',
};
const leftOut = /(?<!-)\b(plan|record|calibrate|reconcile)\b|--history|--book|^printed\b/;

const cases = readdirSync(folder).filter((name) => existsSync(join(folder, name, 'args')) || existsSync(join(folder, name, 'run')));
const taken = cases.filter((name) => {
  const words = ['args', 'run'].map((file) => join(folder, name, file)).filter(existsSync).map((file) => readFileSync(file, 'utf8')).join('');
  return !(name in others) && !leftOut.test(words);
});

it('are nearly all of them', () => {
  expect(taken.length).toBeGreaterThan(0.75 * cases.length);
});

/** What differs from the case; nothing, unless the native program has moved on from it too. */
function outcome(program: string, name: string): string {
  const done = spawnSync(join(root, 'tests/cli/run-case'), [program, join(folder, name)], { encoding: 'utf8' });
  return `${done.stdout}${done.stderr}exit ${done.status}`;
}

it.each(taken)('%s', (name) => {
  expect(outcome(join(built, 'npm/bin.js'), name)).toBe(outcome(native, name));
});
