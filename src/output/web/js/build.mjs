// build.mjs WASM OUT VERSION   in a copy of this folder with its packages installed: OUT/npm and OUT/platetally.html.
import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { chmodSync, copyFileSync, cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { reportTypes } from './types.mjs';

const [wasm, out, version] = process.argv.slice(2);

/** The library without its types, to ask the program for its schemas. */
async function askedOf() {
  await build({ entryPoints: ['src/index.ts', 'src/node_worker.ts'], bundle: true, platform: 'node', format: 'esm', outdir: 'asked', logLevel: 'error' });
  copyFileSync(wasm, 'asked/platetally.wasm');
  return import(pathToFileURL(join(process.cwd(), 'asked/index.js')).href);
}

async function makePackage(library) {
  const names = { Tally: 'tally', Order: 'order', Comparison: 'compare', Payback: 'payback', Audit: 'audit' };
  const schemas = {};
  for (const [type, name] of Object.entries(names)) schemas[type] = await library.schema(name);
  writeFileSync('src/reports.ts', reportTypes(schemas));
  rmSync('dist', { recursive: true, force: true });
  execFileSync('npx', ['tsc'], { stdio: ['ignore', 'inherit', 'inherit'] });

  const folder = join(out, 'npm');
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  cpSync('dist', folder, { recursive: true, filter: (path) => !/browser_|[/\\]page/.test(path) });
  copyFileSync(wasm, join(folder, 'platetally.wasm'));
  chmodSync(join(folder, 'platetally.wasm'), 0o644);
  chmodSync(join(folder, 'bin.js'), 0o755);
  copyFileSync('README.md', join(folder, 'README.md'));
  const { name, description, engines } = JSON.parse(readFileSync('package.json', 'utf8'));
  writeFileSync(join(folder, 'package.json'), JSON.stringify({
    name, version, description, type: 'module', engines, main: './index.js', types: './index.d.ts',
    exports: { '.': { types: './index.d.ts', default: './index.js' }, './package.json': './package.json' },
    bin: { platetally: 'bin.js' }, files: ['*.js', '*.d.ts', '*.wasm', 'README.md'],
  }, null, 2) + '\n');
}

const hash = (text) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`;

/** Texts of one kind that the program's own pages may hold, by their hashes: a page in a frame answers to both policies. */
async function allowedByReports(library) {
  const plate = new TextEncoder().encode('G90\nM83\nG1 Z0.2 F600\nG1 X10 E1 F1200\nG1 X20 Y5 E1\n');
  const pages = [
    await library.tally(plate, 'changer-5', { format: 'html' }),
    await library.compare(plate, ['changer-5', 'single-1'], { format: 'html' }),
    await library.audit({ 'a.gcode': plate }, 'changer-5', { format: 'html' }),
  ];
  const of = (kind) => [...new Set(pages.flatMap((page) => {
    const policy = /http-equiv="Content-Security-Policy" content="([^"]*)"/.exec(page)?.[1] ?? '';
    return new RegExp(`${kind} ([^;]*)`).exec(policy)?.[1]?.match(/'sha256-[^']*'/g) ?? [];
  }))].join(' ');
  return { scripts: of('script-src'), styles: of('style-src') };
}

async function scriptOf(entry) {
  const made = await build({ entryPoints: [entry], bundle: true, minify: true, format: 'iife', target: 'es2022', write: false, charset: 'ascii', logLevel: 'error' });
  const text = made.outputFiles[0].text;
  if (/<\/script|<!--/i.test(text)) throw new Error(`${entry}: its script would end the page's`);
  return text.trim();
}

async function makePage(library) {
  const style = readFileSync('src/page/app.css', 'utf8').trim();
  const script = await scriptOf('src/page/app.ts');
  const reports = await allowedByReports(library);
  const policy = [
    "default-src 'none'", "connect-src 'none'", "base-uri 'none'", "form-action 'none'", 'worker-src blob:', "frame-src 'self'",
    `script-src ${hash(script)} ${reports.scripts} 'wasm-unsafe-eval'`, `style-src ${hash(style)} ${reports.styles}`,
  ].join('; ');
  const parts = {
    policy, style, script,
    machines: JSON.stringify(await library.machines()).replaceAll('<', '\\u003c'),
    thread: await scriptOf('src/browser_worker.ts'),
    module: gzipSync(readFileSync(wasm), { level: 9 }).toString('base64'),
  };
  const page = readFileSync('src/page/index.html', 'utf8').replace(/@(\w+)@/g, (_, name) => parts[name]);
  writeFileSync(join(out, 'platetally.html'), page);
}

const library = await askedOf();
await makePackage(library);
await makePage(library);
