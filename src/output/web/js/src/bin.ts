#!/usr/bin/env node
// The command: the native program's arguments, on the files of this computer.
import { readFileSync } from 'node:fs';
import { nodeDisk, sleep, standard } from './node_disk.js';
import { run } from './run.js';

const environment: Record<string, string> = { PWD: process.cwd() };
for (const name of ['TERM', 'NO_COLOR'])
  if (process.env[name] !== undefined) environment[name] = process.env[name];

const module = new WebAssembly.Module(readFileSync(new URL('./platetally.wasm', import.meta.url)));
try {
  process.exitCode = run(module, {
    args: process.argv.slice(2), disk: nodeDisk, environment, input: standard(0), output: standard(1), messages: standard(2), sleep,
  }).code;
} catch (error) {
  if (!(error instanceof WebAssembly.RuntimeError) && !(error instanceof RangeError)) throw error;
  console.error(`platetally: stopped: no more memory, or a fault in the program (${error.message})`);
  process.exitCode = 2;
}
