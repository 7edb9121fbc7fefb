import { svelte } from '@sveltejs/vite-plugin-svelte';
import { defineConfig } from 'vitest/config';

export default defineConfig({
  plugins: [svelte()],
  // The desk's content security policy lets nothing in that is written into a page, so nothing is inlined.
  build: { assetsInlineLimit: 0, modulePreload: { polyfill: false }, chunkSizeWarningLimit: 9000 },
  worker: { format: 'es' },
  // Only for working on the pages: the real desk answers behind Vite's own server.
  server: { proxy: { '/api': process.env['DESK'] ?? 'http://127.0.0.1:8470' } },
  test: {
    projects: [
      {
        extends: true,
        resolve: { conditions: ['browser'] },
        test: { name: 'unit', include: ['test/unit/**/*.test.ts'] },
      },
      {
        test: {
          name: 'browser',
          include: ['test/browser/**/*.test.ts'],
          setupFiles: ['test/browser/setup.ts'],
          // Only for what hangs: a busy machine, or a debug build, takes minutes for what takes seconds otherwise.
          testTimeout: 300_000,
          hookTimeout: 300_000,
          expect: { poll: { timeout: 60_000 } },
          // One organ folder, one desk, one browser at a time: two cores, and pictures that come out alike.
          fileParallelism: false,
        },
      },
    ],
  },
});
