// Where the tests find the native program, the plates and what was built.
import { execFileSync, type ExecFileSyncOptions } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

export const root = process.env.PLATETALLY_ROOT ?? resolve(__dirname, '../../..');
export const native = process.env.PLATETALLY ?? join(root, 'build/test/bin/platetally');
export const built = process.env.PLATETALLY_WEB ?? join(root, 'build/web');
export const testdata = join(root, 'testdata');
export const machines = ['changer-5', 'switcher-4', 'single-1'];

/** Every plate that the project has, by name. */
export const plates: [string, string][] = ['plates', 'demo'].flatMap((folder) =>
  readdirSync(join(testdata, folder)).filter((name) => name.endsWith('.gcode.gz')).sort()
    .map((name): [string, string] => [name, join(testdata, folder)]));

export const bytesOf = (name: string): Uint8Array<ArrayBuffer> => {
  const [, folder] = plates.find(([one]) => one === name) ?? ['', join(testdata, 'plates')];
  return new Uint8Array(readFileSync(join(folder, name)));
};

/** What the native program prints, whatever its exit code. */
export function nativeOutput(args: string[], options: ExecFileSyncOptions): string {
  try {
    return execFileSync(native, args, { encoding: 'utf8', maxBuffer: 1 << 28, stdio: ['ignore', 'pipe', 'pipe'], ...options }) as string;
  } catch (error) {
    return String((error as { stdout?: string }).stdout ?? '');
  }
}
