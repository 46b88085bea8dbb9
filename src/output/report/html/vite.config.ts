import { defineConfig } from 'vitest/config';

// One script, to be written into every page: no module, no chunk, nothing fetched.
export default defineConfig({
  test: { testTimeout: 30_000 },
  build: {
    outDir: 'dist',
    target: 'es2020',
    lib: { entry: 'src/main.ts', formats: ['iife'], name: 'platetallyPage', fileName: () => 'page.js' },
  },
});
