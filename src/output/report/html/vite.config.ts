import { readFileSync } from 'node:fs';
import type { Plugin } from 'vite';
import { defineConfig } from 'vitest/config';

/** The chart library's licence asks that its notice goes with every copy, and a page is one. */
function notice(): Plugin {
  return {
    name: 'notice',
    generateBundle(_options, bundle) {
      const licence = readFileSync('node_modules/uplot/LICENSE', 'utf8').trim();
      for (const part of Object.values(bundle))
        if (part.type === 'chunk') part.code = `/*! uPlot\n${licence}\n*/\n${part.code}`;
    },
  };
}

// One script and one style, to be written into every page: no module, no chunk, nothing fetched.
export default defineConfig({
  plugins: [notice()],
  test: { testTimeout: 30_000 },
  build: {
    outDir: 'dist',
    target: 'es2020',
    cssCodeSplit: false,
    lib: { entry: 'src/main.ts', formats: ['iife'], name: 'platetallyPage', fileName: () => 'page.js', cssFileName: 'page-charts' },
  },
});
