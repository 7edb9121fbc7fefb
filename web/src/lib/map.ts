// The map of all registrations: cells of loudness and brightness, and moving about among them. Pure.
import type { MapCell, RegistrationMap } from './types';

type Sides = Pick<RegistrationMap, 'phon_step' | 'acum_step'>;

/** The cell nearest to a place, one step of loudness weighing as much as one of brightness. */
export function nearestCell(map: Sides & { cells: readonly MapCell[] }, phon: number, acum: number): MapCell | null {
  const away = (c: MapCell): number => ((c.phon - phon) / map.phon_step) ** 2 + ((c.acum - acum) / map.acum_step) ** 2;
  return map.cells.reduce<MapCell | null>((best, c) => (best === null || away(c) < away(best) ? c : best), null);
}

/** The next cell that way; the same where there is none. */
export function cellBeside(map: Sides & { cells: readonly MapCell[] }, from: MapCell, way: 'louder' | 'softer' | 'brighter' | 'darker'): MapCell {
  const along = way === 'louder' || way === 'softer';
  const sign = way === 'louder' || way === 'brighter' ? 1 : -1;
  const far = (c: MapCell): { on: number; off: number } => {
    const p = (c.phon - from.phon) / map.phon_step;
    const a = (c.acum - from.acum) / map.acum_step;
    return along ? { on: sign * p, off: Math.abs(a) } : { on: sign * a, off: Math.abs(p) };
  };
  let best: { cell: MapCell; cost: number } | null = null;
  for (const cell of map.cells) {
    const { on, off } = far(cell);
    if (on < 0.5) continue;
    const cost = on + 2 * off;
    if (best === null || cost < best.cost) best = { cell, cost };
  }
  return best?.cell ?? from;
}

/** A line for each step of loudness: what the picture shows, to be read. */
export function rowsOfMap(map: RegistrationMap): (string | number)[][] {
  const columns = new Map<number, MapCell[]>();
  for (const c of map.cells) columns.set(c.phon, [...(columns.get(c.phon) ?? []), c]);
  const half = map.phon_step / 2;
  return [...columns.entries()]
    .sort(([a], [b]) => a - b)
    .map(([phon, cells]) => {
      const bright = cells.map((c) => c.acum);
      return [
        `${phon - half} to ${phon + half}`,
        cells.reduce((n, c) => n + c.states, 0).toLocaleString('en-GB'),
        cells.reduce((n, c) => n + c.allowed, 0).toLocaleString('en-GB'),
        `${Math.min(...bright).toFixed(2)} to ${Math.max(...bright).toFixed(2)}`,
      ];
    });
}
export const mapHeads = [{ head: 'Loudness, phon' }, { head: 'Registrations', figure: true }, { head: 'that practice allows', figure: true }, { head: 'Brightness, from darkest to brightest', figure: true }];

/** How large a cell is drawn: by the number of registrations, many hardly more than some. 0 to 1. */
export function sizeOf(cell: MapCell, most: number): number {
  return most <= 1 ? 1 : Math.max(0.25, Math.log(cell.states + 1) / Math.log(most + 1));
}
