import { defineConfig } from 'vitest/config';

// One file after the other: the browser's figures are taken with the machine to itself.
export default defineConfig({ test: { testTimeout: 60_000, hookTimeout: 60_000, fileParallelism: false, include: ['tests/*.test.ts'] } });
