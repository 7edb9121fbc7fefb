// A plan read line by line, as it is carried out at the bench: what is drawn now, what changes next. Pure.
import { pitchText } from './specification';
import type { OrganShown, Plan } from './types';

export interface Group {
  name: string;
  knobs: { name: string; fresh: boolean }[];
}
/** What is moved at one moment, in words. */
export interface Change {
  words: string[];
  when: string;
  /** nobody at the console has a hand for it */
  helper: boolean;
}
export interface Line {
  item: number;
  section: number;
  heading: string;
  about: string;
  /** "v2", "bar 17"; empty where the item is played through */
  label: string;
  wish: string;
  /** what was said of it and is not followed */
  note: string;
  /** what moves to get here, one after the other; empty at the very beginning and where nothing moves */
  changes: Change[];
  /** everything that is drawn */
  state: Group[];
  /** box and keyboards */
  manner: string[];
}

type Cue = Plan['cues'][number];
type Item = Plan['items'][number];
type Section = Item['sections'][number];

export function boxWords(opening: number): string {
  if (opening <= 0.01) return 'shut';
  if (opening >= 0.99) return 'open';
  return opening < 0.5 ? 'a little open' : 'half open';
}

/** Over a hairpin: "open box gradually", "box gradually to half open". */
export function graduallyWords(box: string, opening: number): string {
  const to = boxWords(opening);
  return to === 'open' || to === 'shut' ? `${to} ${box} gradually` : `${box} gradually to ${to}`;
}

const nth = ['second', 'third', 'fourth', 'fifth', 'sixth', 'seventh', 'eighth', 'ninth'];
/** Which time through a bar that is repeated: ", second time"; nothing the first time. */
export const timeWords = (time: number): string => (time < 2 ? '' : `, ${nth[time - 2] ?? `${time}th`} time`);

export function momentWords(m: Section['from']): string {
  const [over = 0, under = 1] = m.at.split('/').map(Number);
  const beat = over / under + 1;
  const told = Number.isInteger(beat) ? String(beat) : beat.toFixed(2).replace(/0$/, '');
  return `bar ${m.bar}${beat === 1 ? '' : `, beat ${told}`}${timeWords(m.pass)}`;
}

const hands: Record<string, string> = { left: 'L', right: 'R', over_manual: 'over manual', 'over manual': 'over manual' };

export function changeWords(organ: OrganShown, cue: Cue): string[] {
  const side = (i: number): string => {
    const s = hands[cue.sides[i] ?? ''];
    return s === undefined ? '' : ` (${s})`;
  };
  const words = cue.draw_names.map((name, i) => `+ ${pitchText(name)}${side(i)}`);
  const off = cue.put_in_names.map((name, i) => `${pitchText(name)}${side(cue.draw_names.length + i)}`);
  if (off.length > 0) words.push(`off: ${off.join(', ')}`);
  if (cue.pressed_name !== undefined) words.push(`by the ${cue.pressed_name}`);
  for (const b of cue.boxes) {
    const box = organ.boxes.length > 1 ? boxName(organ, b.id) : 'box';
    words.push(cue.gradual === true ? graduallyWords(box, b.opening) : `${box} ${boxWords(b.opening)}`);
  }
  if (cue.keyboards) words.push(`→ ${keyboardWords(organ, cue.keyboards)}`);
  return words;
}

const boxName = (organ: OrganShown, id: string): string => organ.boxes.find((b) => b.id === id)?.name ?? id;

export function keyboardWords(organ: OrganShown, on: Section['keyboards']): string {
  const name = (id: string): string => organ.divisions.find((d) => d.keyboard === id)?.name ?? id;
  let s = '';
  if (on.right && on.right === on.left) s = `hands on ${name(on.right)}`;
  else if (on.right && on.left) s = `right hand ${name(on.right)}, left hand ${name(on.left)}`;
  else if (on.right) s = `right hand ${name(on.right)}`;
  else if (on.left) s = `left hand ${name(on.left)}`;
  return s !== '' && !on.feet ? `${s}, no pedal` : s;
}

export function groupsOf(organ: OrganShown, draw: readonly string[], names: readonly string[], fresh: readonly string[]): Group[] {
  const known = new Map<string, number>();
  organ.divisions.forEach((d, i) => {
    for (const s of d.stops) known.set(s.id, i);
  });
  const groups: Group[] = [...organ.divisions.map((d) => d.name), 'Couplers'].map((name) => ({ name, knobs: [] }));
  draw.forEach((id, i) => {
    const group = groups[known.get(id) ?? groups.length - 1];
    group?.knobs.push({ name: names[i] ?? id, fresh: fresh.includes(id) });
  });
  return groups.filter((g) => g.knobs.length > 0);
}

function labelOf(kind: string, section: Section): string {
  if (kind === 'piece') return section.label.startsWith('Bar ') ? momentWords(section.from) : section.label === 'Throughout' ? '' : section.label;
  return section.label.replace(/^Verse /, 'v');
}

function whenWords(kind: string, cue: Cue): string {
  if (!cue.window) return 'before';
  if (kind === 'piece') {
    const still = cue.gradual !== true && (cue.hand === 'nobody' || cue.hand === 'foot');
    return `${still ? '' : 'from '}${momentWords(still ? cue.moment : cue.window.from)}`;
  }
  if (cue.moment.verse <= 0) return 'before';
  return kind === 'psalm' ? `after v${cue.moment.verse}` : `at v${cue.moment.verse}’s last chord`;
}

/** A line's changes on one row, each with its moment where that is not where the line stands already. */
export const changesOf = (line: Line): string =>
  line.changes.map((c) => [...(c.helper ? ['helper:'] : []), ...c.words, ...(c.when === line.label || c.when === '' ? [] : [`(${c.when})`])].join('  ')).join('; ');

/**
 * A line for each section in which something is new: every verse of a hymn, and a piece's cues; where asked for, also the
 * places of a piece where nothing moves.
 */
export function linesOf(organ: OrganShown, plan: Plan, also: (item: Item, section: Section) => boolean = () => false): Line[] {
  const lines: Line[] = [];
  plan.items.forEach((item, i) => {
    item.sections.forEach((section, s) => {
      const cues = plan.cues.filter((c) => c.item === i && c.section === s);
      if (item.kind === 'piece' && cues.length === 0 && s > 0 && !section.note && !also(item, section)) return;
      const first = lines.length === 0;
      const manner = section.boxes.map((b) => `${organ.boxes.length > 1 ? boxName(organ, b.id) : 'box'} ${boxWords(b.opening)}`);
      const on = keyboardWords(organ, section.keyboards);
      lines.push({
        item: i,
        section: s,
        heading: item.number === '' ? item.title : `${item.number}  ${item.title}`,
        about: item.subtitle,
        label: labelOf(item.kind, section),
        wish: [section.kind === 'harmony' ? '' : section.kind, section.wish].filter((w) => w !== '').join(', '),
        note: section.note ?? '',
        changes: first ? [] : cues.map((c) => ({ words: changeWords(organ, c), when: whenWords(item.kind, c), helper: c.hand === 'helper' })),
        state: groupsOf(organ, section.draw, section.draw_names, first ? [] : cues.flatMap((c) => c.draw)),
        manner: on === '' ? manner : [...manner, on],
      });
    });
  });
  return lines;
}
