// What the walk-throughs took, written to build/ so that docs/design/walkthroughs.md can be kept true.
import { appendFileSync, mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Walk } from './desk';

const build = resolve(import.meta.dirname, '../../../build');
export const walked = (task: string, walk: Walk): void => told(`${task}: ${walk.actions} actions, ${walk.seconds.toFixed(1)} s of the machine`);

/** A figure to be read, which no test fails by. */
export function told(line: string): void {
  mkdirSync(build, { recursive: true });
  appendFileSync(join(build, 'walkthroughs.txt'), `${line}\n`);
  console.log(line);
}
