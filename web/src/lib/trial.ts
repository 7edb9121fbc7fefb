// The ear trial as it is answered on the page: blind until it is. Pure.
import { shortDay } from './days';
import type { Trial, TrialPair } from './types';

export const marks = [
  { word: 'A', answer: 'first' },
  { word: 'B', answer: 'second' },
  { word: 'the same', answer: 'same' },
] as const;

export const markOf = (answer: TrialPair['answered'] | undefined): string => marks.find((m) => m.answer === answer)?.word ?? '';

/** As the desk takes it: "3 A", and "3 -" for one taken back. */
export const answerText = (number: number, word: string): string => `${number} ${word === 'the same' ? 'same' : word === '' ? '-' : word}`;

export function standing(trial: Trial): string {
  const done = trial.pairs.filter((p) => p.answered !== null).length;
  if (trial.pairs.length === 0) return '';
  if (done === 0) return `The sheet of ${shortDay(trial.date)} waits for its ${trial.pairs.length} answers.`;
  const rest = trial.pairs.length - done;
  return `The model ${trial.heard.replace(/ \(.*\)$/, '')}${rest > 0 ? `; ${rest} still to answer` : ''}.`;
}

/** What was heard beside what was computed; only of pairs that were answered. */
export function rowsOfTrial(trial: Trial): (string | number)[][] {
  return trial.pairs
    .filter((p) => p.answered !== null)
    .map((p) => [p.number, `Which was ${p.question}?`, p.first, p.second, markOf(p.answered), p.answered === p.predicted ? 'as computed' : `${markOf(p.predicted)} was computed`]);
}
export const trialHeads = [{ head: 'Pair', figure: true }, { head: 'Asked' }, { head: 'A' }, { head: 'B' }, { head: 'You heard' }, { head: 'The model' }];
