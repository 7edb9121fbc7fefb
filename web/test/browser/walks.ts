// What the walk-throughs took, written to build/ so that docs/design/walkthroughs.md can be kept true.
import { appendFileSync, mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Walk } from './desk';

const build = resolve(import.meta.dirname, '../../../build');
export function walked(task: string, walk: Walk): void {
  mkdirSync(build, { recursive: true });
  const line = `${task}: ${walk.actions} actions, ${walk.seconds.toFixed(1)} s of the machine`;
  appendFileSync(join(build, 'walkthroughs.txt'), `${line}\n`);
  console.log(line);
}
