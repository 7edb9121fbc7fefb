// Where there is no Chromium the browser's tests are skipped, and say so; ./test tells the sentence.
import { beforeEach } from 'vitest';
import { chromiumPath } from './chromium';

if (chromiumPath === undefined) {
  beforeEach((test) => {
    process.stdout.write('Skipped: Chromium is not here (Debian: chromium, or its path in CHROMIUM)\n');
    test.skip();
  });
}
