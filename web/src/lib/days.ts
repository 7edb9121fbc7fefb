// Dates as people say them. The clock is handed in, so that tests know what day it is.

export const isoDay = (d: Date): string =>
  `${d.getFullYear()}-${String(d.getMonth() + 1).padStart(2, '0')}-${String(d.getDate()).padStart(2, '0')}`;

/** This Sunday, or today where today is one. */
export function nextSunday(now: Date): string {
  const d = new Date(now.getFullYear(), now.getMonth(), now.getDate());
  d.setDate(d.getDate() + ((7 - d.getDay()) % 7));
  return isoDay(d);
}

export function isDay(text: string): boolean {
  if (!/^\d{4}-\d{2}-\d{2}$/.test(text)) return false;
  const d = new Date(`${text}T12:00:00`);
  return !Number.isNaN(d.getTime()) && isoDay(d) === text;
}

/** "Sunday 29 November 2026" */
export function dayWords(day: string): string {
  if (!isDay(day)) return day;
  const f = new Intl.DateTimeFormat('en-GB', { weekday: 'long', day: 'numeric', month: 'long', year: 'numeric' });
  return f.format(new Date(`${day}T12:00:00`)).replace(',', '');
}

/** "25 November" */
export function shortDay(day: string): string {
  if (!isDay(day)) return day;
  return new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'long' }).format(new Date(`${day}T12:00:00`));
}
