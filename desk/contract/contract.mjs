// node desk/contract/contract.mjs PROGRAM: see run.sh.
import { readdirSync } from 'node:fs';
import { join } from 'node:path';
import { count, equal, holds, test } from './checks.mjs';
import changes from './changes.mjs';
import choosing from './choosing.mjs';
import { api, asked, Desk } from './desk.mjs';
import door from './door.mjs';
import ends from './ends.mjs';
import hearing from './hearing.mjs';
import organ from './organ.mjs';
import pieces from './pieces.mjs';
import runs from './runs.mjs';
import services from './services.mjs';
import tabs from './tabs.mjs';

const program = process.argv[2];
const desk = await new Desk(program).open();
for (const subject of [organ, services, changes, hearing, choosing, pieces, runs, tabs, door]) await subject(desk);

await test('asked to end it ends, and its sounds with it', async () => {
  const tab = await desk.events();
  const { code } = await desk.end('SIGTERM');
  equal(code, 0, 'status');
  equal(await tab.next('anything'), null, 'the stream');
  holds(!readdirSync(join(desk.folder, 'prepared')).some((f) => f.startsWith('.')), 'something half made is left');
});
await desk.remove();

await ends(program);

await test('every route of the contract was asked', async () => {
  const all = Object.entries(api.paths).flatMap(([path, methods]) => Object.keys(methods).filter((m) => ['get', 'post', 'put', 'delete'].includes(m)).map((m) => `${m} ${path}`));
  equal(all.filter((o) => !asked.has(o)), [], 'not asked');
});

console.log(`${count.passed} passed, ${count.failed} failed`);
process.exit(count.failed === 0 ? 0 : 1);
